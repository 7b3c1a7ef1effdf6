"""Has the engine read pictures of reference and take side by side; of several wishes the newest counts."""

from collections import OrderedDict
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal
from PySide6.QtGui import QColor, QImage

from app.model.document.looks import Match
from app.window.jobs import Jobs, Tasks, Ticket, sentence

if TYPE_CHECKING:
    from app.engine.side_by_side import SideBySide

SLOT = "side by side"
KEPT = 40
"""Moments kept: going back to one shows it at once."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """Which moments (clip times, s) are wanted beside each other, and how many lines high."""

    reference: str
    """The file's path."""
    reference_s: float
    take: str = ""
    """Empty where only the reference is wanted."""
    take_s: float = 0.0
    match: Match | None = None
    height: int = 0


@dataclass(frozen=True, slots=True)
class Shown:
    """What came of it, ready to be drawn; or a sentence on why nothing did."""

    images: tuple[QImage, ...] = ()
    """The reference, the take, the take matched, as far as they are wanted."""
    patches: tuple[tuple[QColor, ...], ...] = ()
    trouble: str = ""


class Comparing(QObject):
    """Keeps what was read."""

    arrived = Signal()

    def __init__(self, tasks: Tasks, jobs: Jobs, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._tasks, self._jobs = tasks, jobs
        self._kept: OrderedDict[Wanted, Shown] = OrderedDict()
        self._asked: Wanted | None = None

    @property
    def waiting(self) -> bool:
        """Whether pictures are on their way."""
        return self._asked is not None

    def get(self, wanted: Wanted) -> Shown | None:
        """What came of a wish; None as long as it is not there, and it is asked for."""
        if wanted in self._kept:
            self._kept.move_to_end(wanted)
            return self._kept[wanted]
        if wanted != self._asked:
            self._ask(wanted)
        return None

    def rest(self) -> None:
        """Ask for nothing more."""
        self._asked = None
        self._jobs.abandon(SLOT)

    def _ask(self, wanted: Wanted) -> None:
        self._asked, tasks = wanted, self._tasks

        def work(ticket: Ticket) -> Shown:
            reference = Path(wanted.reference), wanted.reference_s
            take = (Path(wanted.take), wanted.take_s) if wanted.take else None
            return _drawn(tasks.side_by_side(reference, take, wanted.match, wanted.height))

        def failed(error: Exception) -> None:
            self._keep(wanted, Shown(trouble=sentence(error)))

        self._jobs.start(SLOT, work, lambda shown: self._keep(wanted, shown), failed)

    def _keep(self, wanted: Wanted, shown: Shown) -> None:
        self._asked = None
        self._kept[wanted] = shown
        while len(self._kept) > KEPT:
            self._kept.popitem(last=False)
        self.arrived.emit()


def _drawn(found: "SideBySide") -> Shown:
    images = []
    for pixels in found.pictures:
        height, width, _ = pixels.shape
        image = QImage(pixels.tobytes(), width, height, 3 * width, QImage.Format.Format_RGB888)
        images.append(image.convertToFormat(QImage.Format.Format_RGB32))
    patches = tuple(tuple(QColor(*colour) for colour in one) for one in found.patches)
    return Shown(tuple(images), patches)
