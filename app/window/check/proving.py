"""Has the engine look at a take, away from the window's thread; of several wishes the newest counts."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from app.engine.checking import SLIDE_S, Placed
from app.window.jobs import Jobs, Tasks, Ticket, sentence

if TYPE_CHECKING:
    from app.engine.checking import LocalFit, Proof

SLOT, SETTLE_SLOT = "check", "settle"


class Proving(QObject):
    """Song and take around moments, and settling."""

    arrived = Signal()
    """Proofs arrived, or trouble, or how far they are."""
    settled = Signal(object, object)
    """What was settled (`Placed`), and the fit that was found or None."""
    failed = Signal(str)
    """Settling failed: a sentence."""

    def __init__(self, tasks: Tasks, jobs: Jobs, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._tasks, self._jobs = tasks, jobs
        self._wanted: tuple[Placed, tuple[float, ...]] | None = None
        self._running: tuple[Placed, tuple[float, ...]] | None = None
        self._shown: tuple[Placed, tuple[float, ...]] | None = None
        self.proofs: Sequence[Proof] = ()
        """Of the take last looked at; see `proofs_of`."""
        self.trouble = ""
        """Why there are none, as a sentence; see `trouble_of`."""
        self.far = 0.0
        """How far looking is, 0 to 1."""

    @property
    def waiting(self) -> bool:
        """Whether proofs are on their way."""
        return self._running is not None

    @property
    def settling(self) -> bool:
        """Whether a fit is being looked for."""
        return self._jobs.busy(SETTLE_SLOT)

    def trouble_of(self, placed: Placed) -> str:
        """Why there are no proofs of a take; nothing of what kept another one from being looked at."""
        shown = None if self._shown is None else self._shown[0]
        same = shown is not None and _files(shown) == _files(placed)
        return self.trouble if same else ""

    def proofs_of(self, placed: Placed) -> "Sequence[Proof]":
        """The proofs of a take, on whatever line; none of another take, nor of a much moved one."""
        shown = None if self._shown is None else self._shown[0]
        if shown is None or _files(shown) != _files(placed):
            return ()
        ends = zip(shown.song_ends_s, placed.song_ends_s, strict=True)
        near = all(abs(one - other) < SLIDE_S for one, other in ends)
        same = (shown.clip_start_s, shown.clip_end_s) == (placed.clip_start_s, placed.clip_end_s)
        return self.proofs if near and same else ()

    def want(self, placed: Placed, moments: Sequence[float]) -> None:
        """Look at a take at moments of the clip; an older wish that was not begun is dropped."""
        wish = placed, tuple(moments)
        if wish == self._shown and not self.trouble:
            self._wanted = None
            return
        self._wanted = wish
        if self._running is None:
            self._begin()
        elif self._running[0].clip != placed.clip:
            self._jobs.stop(SLOT)

    def settle(self, placed: Placed) -> None:
        """Look for the nearest good fit."""
        tasks = self._tasks

        def work(ticket: Ticket) -> "LocalFit | None":
            return tasks.settle(placed, stop=ticket.stop, progress=ticket.progress)

        self._jobs.start(
            SETTLE_SLOT,
            work,
            lambda found: self.settled.emit(placed, found),
            lambda error: self.failed.emit(sentence(error)),
        )

    def give_up_settling(self) -> bool:
        """Stop looking for a fit; tells whether that was going on."""
        busy = self.settling
        self._jobs.abandon(SETTLE_SLOT)
        return busy

    def rest(self) -> None:
        """Stop everything; nothing is told any more."""
        self._jobs.abandon(SLOT)
        self._jobs.abandon(SETTLE_SLOT)
        self._wanted = self._running = None

    def _begin(self) -> None:
        wish, self._wanted = self._wanted, None
        if wish is None:
            return
        self._running, self.far = wish, 0.0
        tasks = self._tasks

        def work(ticket: Ticket) -> "Sequence[Proof]":
            return tasks.proofs(wish[0], wish[1], stop=ticket.stop, progress=ticket.progress)

        self._jobs.start(
            SLOT, work, self._done, self._failed, stopped=lambda: self._end(), progress=self._tell
        )

    def _tell(self, fraction: float, _: str) -> None:
        self.far = fraction
        self.arrived.emit()

    def _done(self, found: "Sequence[Proof]") -> None:
        self.proofs, self.trouble, self._shown = found, "", self._running
        self._end()

    def _failed(self, error: Exception) -> None:
        self.proofs, self.trouble, self._shown = (), sentence(error), self._running
        self._end()

    def _end(self) -> None:
        self._running = None
        self._begin()
        self.arrived.emit()


def _files(placed: Placed) -> tuple[object, ...]:
    """What is compared with what."""
    return placed.song, placed.played, placed.clip
