"""What Hand-off asks before anything is replaced, or left unfinished."""

from collections.abc import Sequence

from app.window.parts import words
from app.window.parts.dialogs import Dialogs

MOST_NAMES = 4
"""Files named when asking whether they may be replaced."""


def may_replace(dialogs: Dialogs, there: Sequence[str]) -> bool:
    """Whether files of an earlier hand-off may be replaced."""
    names = ", ".join(there[:MOST_NAMES])
    if len(there) > MOST_NAMES:
        names += f" and {len(there) - MOST_NAMES} more"
    question = f"{words.count(len(there), 'file')} of an earlier hand-off will be replaced: {names}."
    return dialogs.choose_one("Replace the earlier hand-off?", question, ("Replace",)) == 0


def may_stop(dialogs: Dialogs, then: str) -> bool:
    """Whether the writing may end now, so that ``then`` can come."""
    question = (
        "The hand-off is still being written. If you stop now, unfinished files are lost; files marked as "
        "written stay."
    )
    answers = ("Keep Writing", f"Stop writing and {then}")
    return dialogs.choose_one("Stop writing the hand-off?", question, answers) == 1
