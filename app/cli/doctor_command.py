"""``anglebook doctor``: what to send along with a report of trouble."""

import argparse
import json
import subprocess
import sys

from app.cli.output import answer
from app.engine import tasks

SCREEN = "app.window.frame.screen_and_sound"
PATIENCE_S = 60
NOTE = (
    "Send all of this with a report of trouble, and the end of the log. It names folders of yours. "
    "Nothing is sent on its own."
)


def describe(parser: argparse.ArgumentParser) -> None:
    """Tell the parser what the command takes."""


def run(options: argparse.Namespace) -> int:
    """Print what this installation is and has; gives the exit status: 1 where something is wrong."""
    facts, wrong = tasks.about_this_computer()
    facts["screen and sound"], trouble = _screen()
    troubles = [*wrong, *trouble]
    lines: list[str] = []
    for heading, group in facts.items():
        lines += [heading, *(f"  {name}: {value}" for name, value in group.items()), ""]
    lines += ["what is wrong", *(f"  {one}" for one in troubles or ["nothing that could be found"])]
    return max(answer("\n".join([*lines, "", NOTE])), 1 if troubles else 0)


def _screen() -> tuple[dict[str, str], list[str]]:
    """What the window would find, and what is wrong with it."""
    try:
        asked = subprocess.run(
            [sys.executable, "-m", SCREEN], capture_output=True, text=True, timeout=PATIENCE_S, check=False
        )
        told = json.loads(asked.stdout)
    except (OSError, ValueError, subprocess.TimeoutExpired):
        return {"window": "does not open"}, ["The window does not open: the toolkit gives up without a word."]
    if "trouble" in told:
        return {"window": "does not open"}, [" ".join(told["trouble"].split())]
    outputs = told["sound outputs"]
    wrong = [] if outputs else ["There is no sound output: nothing can be heard in the window."]
    return {
        "window": f"opens ({told['platform']})",
        "screens": "; ".join(told["screens"]) or "none",
        "sound outputs": "; ".join(outputs) or "none",
    }, wrong
