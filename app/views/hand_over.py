"""The hand-off as the window gets it: its libraries are loaded on first use, for loading them takes longer
than the window."""

import importlib
import sys
import threading
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
        _load()
        from app.handoff.all import preview

        return preview(shoot, choices)

    def earlier(self, folder: Path, planned: Sequence[Planned]) -> Sequence[str]:
        _load()
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
        _load()
        from app.handoff.all import write_all

        return write_all(shoot, folder, choices, replace=True, stop=stop, progress=progress)


def _load() -> None:
    """Load the room of all hand-offs on a thread that ends with that.

    The library of timelines keeps the interpreter's state of the thread that loads it, for as long as that
    thread lives. A thread of the pool lives on, but has another state with every job: the next job on it
    would wait for ever.
    """
    if "opentimelineio" not in sys.modules:
        loading = threading.Thread(target=importlib.import_module, args=("app.handoff.all",))
        loading.start()
        loading.join()


hand_over: HandOver = _HandOver()
"""Writes to disk, as it is."""
