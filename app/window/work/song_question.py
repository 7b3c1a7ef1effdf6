"""Every clip without the song: the question whether it is the wrong one, and what the clips share."""

from pathlib import Path

from PySide6.QtCore import QObject, Signal

from app.model.document.change import Change
from app.model.wrong_song import Shared, question, without_song
from app.window.jobs import Jobs, Tasks, Ticket
from app.window.session import Session
from app.window.work.running import Running

SLOT = "share"
CAUSE = "wrong song"
"""Cause of the notice that asks."""


class WrongSong(QObject):
    """Looks at the shoot when clips have been placed, and asks as long as no clip has the song."""

    asked = Signal(str)
    """The question, in a sentence; asked again with more in it once the clips have been compared."""
    settled = Signal()
    """There is no reason to ask any more."""

    def __init__(
        self, session: Session, jobs: Jobs, running: Running, tasks: Tasks, parent: QObject | None = None
    ) -> None:
        super().__init__(parent)
        self._session, self._jobs, self._running, self._tasks = session, jobs, running, tasks
        self._asking = ""
        self._compared: frozenset[str] = frozenset()
        self._shared: Shared | None = None
        running.ended.connect(self._on_ended)
        session.changed.connect(self._on_changed)

    def _on_ended(self, slot: str) -> None:
        if slot != "place":
            return
        paths = [clip.media.path for clip in without_song(self._session.view)]
        if paths and frozenset(paths) != self._compared:
            self._compared, self._shared = frozenset(paths), None
            self._compare([Path(path) for path in paths])
        self._ask()

    def _compare(self, paths: list[Path]) -> None:
        tasks = self._tasks

        def work(ticket: Ticket) -> Shared | None:
            return tasks.shared_sound(paths, stop=ticket.stop, progress=ticket.progress, in_subprocess=True)

        def done(shared: Shared | None) -> None:
            self._shared = shared
            self._ask()

        self._running.start(SLOT, "Checking whether the clips match each other", work, done)

    def _ask(self) -> None:
        sentence = question(self._session.view, self._shared)
        if sentence and sentence != self._asking:
            self._asking = sentence
            self.asked.emit(sentence)

    def _on_changed(self, change: Change, origin: str) -> None:
        if origin != "open" and without_song(self._session.view):
            return
        if self._asking:
            self._asking = ""
            self.settled.emit()
        self._compared, self._shared = frozenset(), None
        if self._jobs.busy(SLOT):
            self._running.abandon(SLOT)
