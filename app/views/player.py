"""Playing: where in the song one is, which take is heard beside it, and what comes out."""

from enum import StrEnum

from PySide6.QtCore import QObject, Signal

from app.jobs import Jobs, Tasks
from app.session import Session


class Heard(StrEnum):
    """What one hears."""

    SONG = "song"
    TAKE = "take"
    EARS = "song left, take right"
    MIXED = "both"


class Player(QObject):
    """Plays the song and a take on one clock. Without a sound device the clock runs in silence."""

    moved = Signal(float)
    """Song time in seconds: about 30 times a second while playing, and after each jump."""
    changed = Signal()
    """Playing or not, the take, what is heard, the loop, or the trouble changed."""

    def __init__(self, session: Session, tasks: Tasks, jobs: Jobs, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._session, self._tasks, self._jobs = session, tasks, jobs
        self.playing = False
        self.song_s = 0.0
        self.take_id: str | None = None
        self.heard = Heard.EARS
        self.loop: tuple[float, float] | None = None
        self.trouble = ""
        """A sentence about what keeps sound from being heard, or nothing."""

    def play(self, song_s: float | None = None, take_id: str | None = None) -> None:
        """Play from a song time (None: from where one is), with a take (None: the one chosen before)."""
        self.song_s = self.song_s if song_s is None else song_s
        self.take_id = self.take_id if take_id is None else take_id
        self.playing = True
        self.changed.emit()
        self.moved.emit(self.song_s)

    def pause(self) -> None:
        """Stop where one is."""
        self.playing = False
        self.changed.emit()

    def toggle(self) -> None:
        """Play or pause."""
        if self.playing:
            self.pause()
        else:
            self.play()

    def seek(self, song_s: float) -> None:
        """Go to a song time; playing goes on from there."""
        self.song_s = song_s
        self.moved.emit(song_s)

    def choose(self, take_id: str | None) -> None:
        """Choose the take that is heard and watched beside the song."""
        self.take_id = take_id
        self.changed.emit()

    def hear(self, heard: Heard) -> None:
        """Choose what comes out."""
        self.heard = heard
        self.changed.emit()

    def set_loop(self, span: tuple[float, float] | None) -> None:
        """Play a span of the song (start and end in seconds) again and again; None: play on."""
        self.loop = span
        self.changed.emit()
