"""The jobs that are told while they run, and can be stopped by a person."""

from collections.abc import Callable
from dataclasses import dataclass

from PySide6.QtCore import QObject, QTimer, Signal

from app.window.jobs import Jobs, Ticket, sentence

THINNED_MS = 80
"""How far the jobs are is told no more often."""
STOPPING = "Stopping…"


@dataclass(frozen=True, slots=True)
class Doing:
    """What is being done, in words, and how far it is (0 to 1; None where nobody knows)."""

    words: str
    fraction: float | None = None


class Running(QObject):
    """Starts jobs, and says in words what they are at."""

    moved = Signal()
    """What is being done, or how far it is, changed."""
    failed = Signal(str, str)
    """The job of a slot failed: the slot, and a sentence for the person."""
    begun = Signal(str)
    """A job of a slot began: what failed there before is tried once more, or no longer wanted."""
    ended = Signal(str)
    """The job of a slot came to its end, or was stopped or abandoned."""

    def __init__(self, jobs: Jobs, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._jobs = jobs
        self._doing: dict[str, Doing] = {}
        self._stopping: set[str] = set()
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.setInterval(THINNED_MS)
        self._timer.timeout.connect(self.moved)

    @property
    def doing(self) -> tuple[Doing, ...]:
        """What is being done now."""
        return tuple(dict.fromkeys(self._doing.values()))

    @property
    def stopping(self) -> bool:
        """Whether all that is being done was asked to end."""
        return bool(self._doing) and self._stopping.issuperset(self._doing)

    def start(
        self,
        slot: str,
        words: str,
        work: Callable[[Ticket], object],
        done: Callable[..., None],
        *,
        report: Callable[..., None] | None = None,
        progress: Callable[[float, str], None] | None = None,
        failing: str = "",
    ) -> None:
        """Start a job that is told in ``doing`` and can be stopped; failures are told in a sentence.

        ``failing`` goes before that sentence: what did not come about, with the file's name.
        """
        self._doing[slot] = Doing(words)
        self._stopping.discard(slot)
        self.begun.emit(slot)

        def ended(result: object) -> None:
            self._end(slot)
            done(result)

        def failed(error: Exception) -> None:
            self._end(slot)
            self.failed.emit(slot, f"{failing} {sentence(error)}".strip())

        def simply(fraction: float, more: str) -> None:
            self.show(slot, Doing(f"{words}: {more}" if more else words, fraction))

        self._jobs.start(
            slot,
            work,
            ended,
            failed,
            stopped=lambda: self._end(slot),
            progress=progress or simply,
            report=report,
        )
        self.moved.emit()

    def show(self, slot: str, doing: Doing) -> None:
        """Tell how far a job is, soon: progress comes far quicker than anyone can look."""
        if slot in self._stopping:
            return
        self._doing[slot] = doing
        if not self._timer.isActive():
            self._timer.start()

    def stop(self) -> None:
        """Stop whatever is being done; what was answered so far stays."""
        for slot in tuple(self._doing):
            self._jobs.stop(slot)
            # Told at once: what runs may need some seconds to come to its end.
            self._doing[slot] = Doing(STOPPING)
            self._stopping.add(slot)
        self.moved.emit()

    def abandon(self, slot: str) -> None:
        """Let go of a slot's job; whatever it still answers is dropped."""
        self._jobs.abandon(slot)
        self._end(slot)

    def _end(self, slot: str) -> None:
        self._doing.pop(slot, None)
        self._stopping.discard(slot)
        self.ended.emit(slot)
        self.moved.emit()
