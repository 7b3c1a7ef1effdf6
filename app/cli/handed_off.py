"""What a command says once a hand-off is written."""

from collections.abc import Sequence
from pathlib import Path

from app.cli.output import failed, tell
from app.handoff.all import HandedOver
from app.handoff.leftovers import left_words
from app.handoff.neighbour import size_words
from app.handoff.outcome import HandoffError, count


def tell_done(done: HandedOver, folder: Path) -> int:
    """Name every file with its notes, what an earlier hand-off left, and troubles; gives the exit status."""
    for report in done.reports:
        tell(f"Wrote {report.path} and checked it against the shoot.")
        tell_lines(report.lines)
    if done.left:
        tell(left_words(done.left))
    tell(f"Done: {count(done.files, 'file')}, {size_words(done.size_bytes)}, in {folder}.")
    return tell_troubles(done.troubles)


def tell_lines(lines: Sequence[str]) -> None:
    """Notes on a file, set in."""
    for line in lines:
        tell(f"  {line}")


def tell_troubles(troubles: Sequence[str]) -> int:
    """Say what could not be written; gives the exit status."""
    return max((failed(HandoffError(trouble)) for trouble in troubles), default=0)
