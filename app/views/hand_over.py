"""The hand-off as the window gets it: its libraries are loaded on first use, on the thread that uses them.

Loading them takes longer than the window; it is there before.
"""

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from app.handoff.choices import Choices
from app.handoff.outcome import Planned
from app.model.shoot import Shoot

if TYPE_CHECKING:
    from app.handoff.all import HandedOver, Preview


class HandOver(Protocol):
    """What the window asks of the hand-off, always off its own thread; see `app.handoff.all`."""

    def preview(self, shoot: Shoot, choices: Choices) -> "Preview":
        """What would be written."""
        ...

    def earlier(self, folder: Path, planned: Sequence[Planned]) -> Sequence[str]:
        """What of an earlier hand-off would be replaced; raises where something else is in the way."""
        ...

    def write(
        self,
        shoot: Shoot,
        folder: Path,
        choices: Choices,
        *,
        stop: Callable[[], bool],
        progress: Callable[[float], None],
    ) -> "HandedOver":
        """Write everything, in the place of an earlier hand-off, and check it."""
        ...


class _HandOver:
    def preview(self, shoot: Shoot, choices: Choices) -> "Preview":
        from app.handoff.all import preview

        return preview(shoot, choices)

    def earlier(self, folder: Path, planned: Sequence[Planned]) -> Sequence[str]:
        from app.handoff.all import earlier

        return earlier(folder, planned)

    def write(
        self,
        shoot: Shoot,
        folder: Path,
        choices: Choices,
        *,
        stop: Callable[[], bool],
        progress: Callable[[float], None],
    ) -> "HandedOver":
        from app.handoff.all import write_all

        return write_all(shoot, folder, choices, replace=True, stop=stop, progress=progress)


hand_over: HandOver = _HandOver()
"""Writes to disk, as it is."""
