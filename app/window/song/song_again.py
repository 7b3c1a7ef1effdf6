"""Detects the rest of the map again, in the background; what a person fixed stays."""

from PySide6.QtCore import QObject

from app.model.document.change import Change
from app.model.document.song import SongMap
from app.model.edits import map_edits
from app.model.song_map.map_again import spot
from app.window.jobs import Jobs, Tasks, Ticket
from app.window.parts import words
from app.window.session import Session
from app.window.song.map_steps import MapSteps
from app.window.song.song_cursor import SongCursor
from app.window.work.running import Running

SLOT = "map again"


class SongAgain(QObject):
    """Has the engine map the song from a moment on, and joins what it finds to the map."""

    def __init__(
        self,
        session: Session,
        tasks: Tasks,
        jobs: Jobs,
        running: Running,
        steps: MapSteps,
        cursor: SongCursor,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._session, self._tasks, self._jobs, self._running = session, tasks, jobs, running
        self._steps, self._cursor = steps, cursor
        session.changed.connect(self._on_session_changed)

    @property
    def busy(self) -> bool:
        """Whether it is detecting."""
        return self._jobs.busy(SLOT)

    def from_here(self) -> None:
        """Detect the map again from where one is on."""
        self.start(self._cursor.song_s, "Detect Again")

    def start(self, song_s: float, label: str, merge_key: str | None = None) -> None:
        """Detect the map again from a moment on, as a step of that name."""
        song = self._session.view.song
        if song is None:
            self._steps.message.emit(map_edits.NO_SONG)
            return
        from_s = spot(song.map, song_s)
        where = words.place_in_song(song.map, from_s) if song.map.bars_s else words.song_time(from_s, 1)
        tasks = self._tasks

        def look(ticket: Ticket) -> SongMap:
            return tasks.map_again(
                song, from_s, stop=ticket.stop, progress=ticket.progress, in_subprocess=True
            )

        def found(answer: SongMap) -> None:
            now = self._session.view.song
            if now is None or now.media.digest != song.media.digest:
                return
            if self._steps.do(
                label,
                lambda shoot: map_edits.take_rest(shoot, answer, from_s),
                merge_key,
                unchanged=f"Nothing changed: the same beats, bars and sections were found from {where} on.",
            ):
                self._steps.message.emit(f"The map was detected again from {where} on.")

        self._steps.message.emit("")
        self._running.start(SLOT, f"Detecting again from {where} on", look, found)

    def stop(self) -> bool:
        """Stop detecting; tells whether it was."""
        busy = self.busy
        if busy:
            self._jobs.stop(SLOT)
        return busy

    def _on_session_changed(self, change: Change, origin: str) -> None:
        if origin == "open":
            self.stop()
