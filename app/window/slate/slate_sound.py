"""Plays one file from a moment on, and knows which moment of it is heard."""

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from app.engine import listening
from app.window.jobs import Jobs, Ticket, sentence
from app.window.playing.sound_out import DeviceOut, Out, SilentOut

if TYPE_CHECKING:
    from app.engine.listening import AnyFloats, ClickPlayback

SLOT = "slate sound"


class SlateSound(QObject):
    """A playback file or the song, read as a whole before it starts."""

    changed = Signal()
    """A file was read, or cannot be, or the device went away."""

    def __init__(self, jobs: Jobs, parent: QObject | None = None, *, out: Out | None = None) -> None:
        super().__init__(parent)
        self._jobs = jobs
        self._device = DeviceOut(self) if out is None else out
        if isinstance(self._device, DeviceOut):
            self._device.lost.connect(self._on_lost)
        self._silent = SilentOut()
        self._out: Out | None = None
        self._playback: ClickPlayback | None = None
        self._path = ""
        self._lands = 0
        self._volume_db = listening.START_DB
        self.ready = False
        self.trouble = ""
        """A sentence about what keeps the file from being heard, or nothing."""

    def load(self, path: str) -> None:
        """Have a file read, unless it is there."""
        if path == self._path:
            return
        self.stop()
        self._path, self.ready, self.trouble = path, False, ""

        def work(ticket: Ticket) -> "tuple[AnyFloats, float]":
            return listening.song_sound(Path(path), stop=ticket.stop, progress=ticket.progress)

        def done(answer: "tuple[AnyFloats, float]") -> None:
            playback = listening.playback(listening.pieces())
            playback.set_song(answer[0])
            playback.select(None, listening.mix("SONG"))
            playback.set_volume(self._volume_db)
            self._playback, self.ready = playback, True
            self.changed.emit()

        def failed(error: Exception) -> None:
            self._path, self.trouble = "", f"{Path(path).name} cannot be heard: {sentence(error)}"
            self.changed.emit()

        self._jobs.start(SLOT, work, done, failed)

    def set_volume(self, decibels: float) -> None:
        """How loud, in dB under full scale."""
        self._volume_db = decibels
        if self._playback is not None:
            self._playback.set_volume(decibels)

    def start(self, file_s: float) -> None:
        """Play from a moment of the file (s); nothing where it is not read yet."""
        playback = self._playback
        if playback is None or not self.ready:
            return
        self.stop()
        playback.begin()
        self._lands = playback.start(file_s)
        for out in (self._device, self._silent):
            if out.start(playback.read):
                self._out = out
                break
        self.trouble = self._device.trouble if self._out is self._silent else ""

    def stop(self) -> None:
        """Be silent."""
        out, self._out = self._out, None
        if out is not None:
            out.stop()

    def position(self) -> float | None:
        """The moment of the file that is heard now (s); None before it sounds, and when nothing is played."""
        if self._out is None or self._playback is None:
            return None
        frames = self._out.heard()
        if frames is None or frames < self._lands:
            return None
        return self._playback.song_s(frames)

    def close(self) -> None:
        """Stop for good."""
        self.stop()
        self._jobs.abandon(SLOT)

    def _on_lost(self) -> None:
        if self._out is not None:
            self.stop()
            self.trouble = "The sound device went away: the song has stopped. Start the take again."
            self.changed.emit()
