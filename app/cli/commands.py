"""The headless commands, on the same tasks as the window: ``anglebook place …``, ``map …``, ``handoff …``.

Exit status 0 when the work was done, whatever the verdicts; 1 when what it is about (the song, the shoot
file) is unusable; 2 on wrong use.
"""

import argparse
import signal
import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager

from app.cli import (
    cache_command,
    doctor_command,
    handoff_command,
    kit_command,
    look_command,
    map_command,
    place_command,
    plan_command,
    renew_command,
    sheet_command,
)
from app.cli.output import Unusable, failed, tell
from app.cli.system_trouble import sentence_of
from app.model.song_map.labels import LabelError

COMMANDS = {
    "place": (place_command, "place clips on a song and report which takes cover which bar"),
    "map": (map_command, "report tempo, bars and sections of a song"),
    "look": (look_command, "look at the pictures: set-ups, faults, and how takes compare"),
    "plan": (plan_command, "read and write what must be seen where, and report what is missing"),
    "sheet": (sheet_command, "write a sheet to print: plan, coverage, sync or pick-ups"),
    "kit": (kit_command, "make playback files for the set: count-in, sections, speeds, timecode"),
    "renew": (renew_command, "carry a shoot over to the next master of its song"),
    "handoff": (handoff_command, "write a saved shoot for an editing program"),
    "doctor": (doctor_command, "tell what this installation is and has: send it with a report of trouble"),
    "cache": (cache_command, "tell how much is kept so that nothing is read twice, or clear it"),
}
"""Each command's module, which has ``describe`` and ``run``, and what its help says of it, by its name."""


def main(argv: Sequence[str] | None = None) -> int:
    """Run a headless command; gives the exit status."""
    parser = argparse.ArgumentParser(prog="anglebook", description="Find where clips run in a song.")
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    for name, (module, what) in COMMANDS.items():
        command = commands.add_parser(name, help=what)
        module.describe(command)
        command.set_defaults(run=module.run)
    try:
        options = parser.parse_args(argv)
    except SystemExit as exit_:
        return int(exit_.code or 0)
    try:
        with _ended_as_by_keys():
            status: int = options.run(options)
    except (Unusable, LabelError) as error:
        return failed(error)
    except KeyboardInterrupt:
        tell("")
        tell("anglebook: stopped; nothing was written.")
        return 130
    except Exception as error:
        return failed(Unusable(sentence_of(error)))
    return status


@contextmanager
def _ended_as_by_keys() -> Iterator[None]:
    """A terminal that is closed and a polite kill end a command as Ctrl+C does: nothing half-written stays.

    A signal that whoever started the command wants to have passed over (``nohup``) is.
    """
    known = [getattr(signal, name) for name in ("SIGTERM", "SIGHUP") if hasattr(signal, name)]
    ours = [one for one in known if signal.getsignal(one) is signal.SIG_DFL]
    if threading.current_thread() is not threading.main_thread():
        ours = []  # only the main thread hears signals
    for one in ours:
        signal.signal(one, signal.default_int_handler)
    try:
        yield
    finally:
        for one in ours:
            signal.signal(one, signal.SIG_DFL)
