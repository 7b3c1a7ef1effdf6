"""The headless commands, on the same tasks as the window: ``anglebook place …``, ``map …``, ``handoff …``.

Exit status 0 when the work was done, whatever the verdicts; 1 when what it is about (the song, the shoot
file) is unusable; 2 on wrong use.
"""

import argparse
from collections.abc import Sequence

from app import handoff_command, map_command, place_command
from app.model.labels import LabelError
from app.telling import Unusable, failed, tell


def main(argv: Sequence[str] | None = None) -> int:
    """Run a headless command; gives the exit status."""
    parser = argparse.ArgumentParser(prog="anglebook", description="Which clip runs where in the song.")
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    for name, module, what in (
        ("place", place_command, "place clips on a song and tell what covers which bar"),
        ("map", map_command, "tell tempo, bars and sections of a song"),
        ("handoff", handoff_command, "write a saved shoot for the editing program"),
    ):
        command = commands.add_parser(name, help=what)
        module.describe(command)
        command.set_defaults(run=module.run)
    try:
        options = parser.parse_args(argv)
    except SystemExit as exit_:
        return int(exit_.code or 0)
    try:
        status: int = options.run(options)
    except (Unusable, LabelError) as error:
        return failed(error)
    except KeyboardInterrupt:
        tell("")
        tell("anglebook: stopped; nothing was written.")
        return 130
    return status
