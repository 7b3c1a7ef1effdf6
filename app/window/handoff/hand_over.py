"""The hand-off as the window gets it: its libraries are loaded on first use, for loading them takes longer
than the window."""

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import TYPE_CHECKING, Protocol, TypeVar

from app.handoff.choices import Choices
from app.handoff.outcome import HandoffReport, Planned
from app.model.document.shoot import SongView

if TYPE_CHECKING:
    from app.handoff.all import HandedOver, Preview

Answer = TypeVar("Answer")


class HandOver(Protocol):
    """What the window asks of the hand-off, always off its own thread; see `app.handoff.all`."""

    def preview(self, shoot: SongView, choices: Choices) -> "Preview":
        """What would be written; writes nothing."""
        ...

    def earlier(self, folder: Path, planned: Sequence[Planned]) -> Sequence[str]:
        """What of an earlier hand-off would be replaced; raises where something else is in the way."""
        ...

    def write(
        self,
        shoot: SongView,
        folder: Path,
        choices: Choices,
        *,
        stop: Callable[[], bool],
        progress: Callable[[float], None],
        doing: Callable[[str], None],
        wrote: Callable[[HandoffReport], None],
    ) -> "HandedOver":
        """Write everything, in the place of an earlier hand-off, and check it."""
        ...


class _HandOver:
    def preview(self, shoot: SongView, choices: Choices) -> "Preview":
        def work() -> "Preview":
            from app.handoff.all import preview

            return preview(shoot, choices)

        return _apart(work)

    def earlier(self, folder: Path, planned: Sequence[Planned]) -> Sequence[str]:
        def work() -> Sequence[str]:
            from app.handoff.all import earlier

            return earlier(folder, planned)

        return _apart(work)

    def write(
        self,
        shoot: SongView,
        folder: Path,
        choices: Choices,
        *,
        stop: Callable[[], bool],
        progress: Callable[[float], None],
        doing: Callable[[str], None],
        wrote: Callable[[HandoffReport], None],
    ) -> "HandedOver":
        def work() -> "HandedOver":
            from app.handoff.all import write_all

            return write_all(
                shoot, folder, choices, replace=True, stop=stop, progress=progress, doing=doing, wrote=wrote
            )

        return _apart(work)


def _apart(work: Callable[[], Answer]) -> Answer:
    """Do it on a thread of its own, which ends with it.

    The library of timelines remembers the interpreter's state of a thread for as long as that lives. A thread
    of the pool lives on, but has another state with every job: the next job on it would wait for ever.
    """
    with ThreadPoolExecutor(max_workers=1) as own:
        return own.submit(work).result()


hand_over: HandOver = _HandOver()
"""Writes to disk, as it is."""
