"""The hand-off as the window gets it: each request runs on a thread of its own."""

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Protocol, TypeVar

from app.handoff.all import HandedOver, Preview, earlier
from app.handoff.choices import Choices
from app.handoff.each_song import Part, preview_parts, write_parts
from app.handoff.leftovers import leftovers
from app.handoff.outcome import HandoffReport, Planned

Answer = TypeVar("Answer")


class HandOver(Protocol):
    """What the window asks of the hand-off, always off its own thread; see `app.handoff.each_song`."""

    def preview(self, parts: Sequence[Part], choices: Choices) -> Preview:
        """What would be written; writes nothing."""
        ...

    def earlier(self, folder: Path, planned: Sequence[Planned]) -> Sequence[str]:
        """What of an earlier hand-off would be replaced; raises where something else is in the way."""
        ...

    def leftovers(
        self, folder: Path, planned: Sequence[Planned], *, stop: Callable[[], bool]
    ) -> Sequence[str]:
        """What earlier hand-offs left in the folder and this one would not replace."""
        ...

    def write(
        self,
        parts: Sequence[Part],
        folder: Path,
        choices: Choices,
        *,
        stop: Callable[[], bool],
        progress: Callable[[float], None],
        doing: Callable[[str, str], None],
        wrote: Callable[[HandoffReport], None],
    ) -> HandedOver:
        """Write everything, in the place of an earlier hand-off, and check it."""
        ...


class _HandOver:
    def preview(self, parts: Sequence[Part], choices: Choices) -> Preview:
        return _apart(lambda: preview_parts(parts, choices))

    def earlier(self, folder: Path, planned: Sequence[Planned]) -> Sequence[str]:
        return _apart(lambda: earlier(folder, planned))

    def leftovers(
        self, folder: Path, planned: Sequence[Planned], *, stop: Callable[[], bool]
    ) -> Sequence[str]:
        return _apart(lambda: leftovers(folder, planned, stop=stop))

    def write(
        self,
        parts: Sequence[Part],
        folder: Path,
        choices: Choices,
        *,
        stop: Callable[[], bool],
        progress: Callable[[float], None],
        doing: Callable[[str, str], None],
        wrote: Callable[[HandoffReport], None],
    ) -> HandedOver:
        return _apart(
            lambda: write_parts(
                parts, folder, choices, replace=True, stop=stop, progress=progress, doing=doing, wrote=wrote
            )
        )


def _apart(work: Callable[[], Answer]) -> Answer:
    """Do the work on a thread of its own, which ends with it.

    The timeline library remembers the interpreter's state of the thread that loads it. A thread of the pool
    lives on, but has another state for every job, and the next job on it would wait for ever.
    """
    with ThreadPoolExecutor(max_workers=1) as own:
        return own.submit(work).result()


hand_over: HandOver = _HandOver()
"""Writes to disk, as it is."""
