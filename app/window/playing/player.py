"""Playing: where in the song one is, which take is heard beside it, and what comes out."""

from collections.abc import Sequence
from enum import StrEnum

from PySide6.QtCore import QObject, QSettings, QTimer, Signal

from app.engine.listening import LEAST_DB, MOST_DB, START_DB
from app.model.document.change import Change
from app.model.document.song import SongMap
from app.model.on_song import Clip, Take
from app.window.jobs import Jobs, Tasks
from app.window.playing.player_sounds import PlayerSounds
from app.window.playing.sound_out import DeviceOut, Out, SilentOut
from app.window.session import Session

REMEMBERED_MOST_DB = -12.0
"""A volume over this is not remembered as it was."""
TICK_MS = 30
AHEAD_S = 12.0
"""A take's sound is read so far ahead, in seconds of the song."""
FADE_MS = 60
"""After a pause the device runs for as long, turned down."""
VOLUME = "player/volume_db"
HEARD = "player/heard"


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
    """Playing or not, the take, what is heard, the loop, the volume, or the trouble changed."""

    def __init__(
        self,
        session: Session,
        tasks: Tasks,
        jobs: Jobs,
        parent: QObject | None = None,
        *,
        settings: QSettings | None = None,
        out: Out | None = None,
        sounds: PlayerSounds | None = None,
    ) -> None:
        super().__init__(parent)
        self._session, self._settings = session, settings
        self.jobs = jobs
        self._sounds = PlayerSounds(session, jobs, self) if sounds is None else sounds
        self._sounds.arrived.connect(self._on_sound_arrived)
        self._device = DeviceOut(self) if out is None else out
        if isinstance(self._device, DeviceOut):
            self._device.lost.connect(self._on_device_lost)
        self._silent = SilentOut()
        self._out: Out | None = None
        self._supposed: Take | None = None
        self._tried: Clip | None = None
        """The clip that is heard as if it lay somewhere, with a take or without."""
        self._lands = 0
        """The device's frame as which the last jump is heard."""
        self.playing = False
        self.song_s = 0.0
        self.take_id: str | None = None
        self.heard = Heard.EARS
        self._heard_at_rest: Heard | None = None
        """What is heard again after the next pause, where another thing is heard until then."""
        self.alone = False
        """Only the song is heard, whatever is chosen; see `hear_alone`."""
        self.loop: tuple[float, float] | None = None
        self.volume_db = START_DB
        self.trouble = ""
        """A sentence about what keeps sound from being heard, or nothing."""
        self._recall()
        self._sounds.set_volume(self.volume_db)
        self._timer = QTimer(self)
        self._timer.setInterval(TICK_MS)
        self._timer.timeout.connect(self._on_tick)
        self._fading = QTimer(self)
        self._fading.setSingleShot(True)
        self._fading.setInterval(FADE_MS)
        self._fading.timeout.connect(self._on_faded)
        session.changed.connect(self._on_session_changed)

    @property
    def trying(self) -> bool:
        """Whether a clip is heard as if it lay somewhere."""
        return self._tried is not None

    @property
    def waiting(self) -> bool:
        """Whether sound is being read before it can be heard."""
        return self.playing and self._out is None

    @property
    def song_map(self) -> SongMap:
        """The song's bars, beats and sections, as far as they are known."""
        song = self._session.view.song
        return SongMap() if song is None else song.map

    @property
    def song_end_s(self) -> float:
        """Where the song ends."""
        song = self._session.view.song
        return 0.0 if song is None else song.duration_s

    def found(self, take_id: str | None = None) -> tuple[Clip, Take] | None:
        """A take (None: the chosen one) and its clip, as it is heard; None where there is none."""
        wanted = self.take_id if take_id is None else take_id
        tried, supposed = self._tried, self._supposed
        if tried is not None and supposed is not None and wanted in (supposed.id, self.take_id):
            return tried, supposed
        for clip in self._session.view.clips:
            for take in clip.takes:
                if take.id == wanted:
                    return clip, supposed if supposed is not None and supposed.id == take.id else take
        return None

    def angle_name(self, clip: Clip) -> str:
        """The name of the angle a clip is on."""
        return self._session.view.angle(clip.angle_id).name

    def play(self, song_s: float | None = None, take_id: str | None = None) -> None:
        """Play from a song time (None: from where one is), with a take (None: the one chosen before)."""
        why_not = self.why_not()
        if why_not:
            self._tell(why_not)
            return
        if take_id is not None and take_id != self.take_id:
            self._supposed, self._tried, self.take_id = None, None, take_id
        self.song_s = self._inside(self.song_s if song_s is None else song_s)
        self.playing = True
        if self._fading.isActive():
            self._fading.stop()
            self._stop_out()
        self.trouble = ""
        self._timer.start()
        self._follow()
        if self._out is None:
            self._begin()
        else:
            self._lands = self._sounds.playback.start(self.song_s)
        self.changed.emit()
        self.moved.emit(self.song_s)

    def why_not(self) -> str:
        """Why nothing can be played, in a sentence; empty where it can."""
        if self._session.view.song is None:
            return "There is no song to play yet: choose it first (Ctrl+Shift+O)."
        return ""

    def pause(self) -> None:
        """Stop where one is."""
        if not self.playing:
            return
        self.song_s = self.position()
        self.playing = False
        if self._heard_at_rest is not None:
            self.heard, self._heard_at_rest = self._heard_at_rest, None
        self._timer.stop()
        self._sounds.rest()
        if self._out is not None:
            self._out.hush()
        self._fading.start()
        self.changed.emit()
        self.moved.emit(self.song_s)

    def toggle(self) -> None:
        """Play or pause."""
        if self.playing:
            self.pause()
        else:
            self.play()

    def seek(self, song_s: float) -> None:
        """Go to a song time; playing goes on from there."""
        self.song_s = self._inside(song_s)
        if self.playing and self._out is not None:
            self._follow()
            self._lands = self._sounds.playback.start(self.song_s)
        self.moved.emit(self.song_s)

    def position(self) -> float:
        """The moment of the song that is heard just now, to a few milliseconds."""
        if not self.playing or self._out is None:
            return self.song_s
        frames = self._out.heard()
        if frames is None or self._out is None or frames < self._lands:
            return self.song_s
        heard_s = self._sounds.playback.song_s(frames)
        return self.song_s if heard_s is None else heard_s

    def choose(self, take_id: str | None) -> None:
        """Choose the take that is heard and watched beside the song."""
        if take_id == self.take_id:
            return
        self._supposed, self._tried, self.take_id = None, None, take_id
        self._follow()
        self.changed.emit()

    def suppose(self, take: Take | None, clip: Clip | None = None) -> None:
        """Hear and see the chosen take as if it lay elsewhere (None: where it lies).

        With a ``clip``, hear and see that one, which need have no take, as if it ran along ``take``.
        """
        if (take, clip) == (self._supposed, self._tried):
            return
        self._supposed, self._tried = take, clip
        self._follow()
        self.changed.emit()

    def hear(self, heard: Heard) -> None:
        """Choose what comes out."""
        self.heard, self._heard_at_rest = heard, None
        self.keep(HEARD, heard.value)
        self._follow()
        self.changed.emit()

    def hear_until_paused(self, heard: Heard) -> None:
        """Hear something else until the next pause; what was chosen is heard again after it."""
        self._heard_at_rest = self._heard_at_rest or self.heard
        self.heard = heard
        self._follow()
        self.changed.emit()

    def hear_alone(self, on: bool) -> None:
        """Hear the song alone for now; what was chosen to be heard stays chosen."""
        if on != self.alone:
            self.alone = on
            self._follow()
            self.changed.emit()

    def set_clicks(self, moments_s: Sequence[float], accents: Sequence[bool]) -> None:
        """Click on moments of the song (seconds, rising), accented or not; on none for no clicks."""
        self._sounds.set_clicks(moments_s, accents)

    def set_loop(self, span: tuple[float, float] | None) -> None:
        """Play a span of the song (start and end in seconds) again and again; None: play on."""
        self.loop = span
        self._sounds.set_loop(span)
        if span is not None and not span[0] <= self.position() < span[1]:
            self.seek(span[0])
        self.changed.emit()

    def set_volume(self, decibels: float) -> None:
        """Turn the volume to so many dB under full scale."""
        self.volume_db = min(max(decibels, LEAST_DB), MOST_DB)
        self.keep(VOLUME, str(self.volume_db))
        self._sounds.set_volume(self.volume_db)
        self.changed.emit()

    def close(self) -> None:
        """Stop for good."""
        self.playing = False
        self._timer.stop()
        self._fading.stop()
        self._stop_out()

    def _begin(self) -> None:
        """Start the device as soon as there is something to hear."""
        if not self._sounds.ready:
            return
        playback = self._sounds.playback
        playback.begin()
        self._lands = playback.start(self.song_s)
        for out in (self._device, self._silent):
            if out.start(playback.read):
                self._out = out
                break
        self._tell_trouble()

    def _on_device_lost(self) -> None:
        """Another device, or none any more: go on there."""
        if not self.playing or self._out is None:
            return
        self.song_s = self.position()
        self._stop_out()
        self._begin()

    def _on_faded(self) -> None:
        """At rest nobody misses the device: the line tells of the take again."""
        self._stop_out()
        self._tell_trouble()

    def _stop_out(self) -> None:
        out, self._out = self._out, None
        if out is not None:
            out.stop()

    def _on_tick(self) -> None:
        if self._out is None:
            self._follow()
            self._begin()
            return
        self.song_s = self.position()
        if self.song_s >= self.song_end_s:
            self.pause()
            return
        self._follow()
        self.moved.emit(self.song_s)

    def _follow(self) -> None:
        """Have the sounds read that are heard next."""
        ahead = self.song_s, self.song_s + AHEAD_S
        spans = (
            [ahead]
            if self.loop is None
            else [ahead, (self.loop[0], min(self.loop[0] + AHEAD_S, self.loop[1]))]
        )
        found, heard = (None, Heard.SONG) if self.alone else (self.found(), self.heard)
        self._sounds.want(found, heard.name, spans, playing=self.playing)
        self._tell_trouble()

    def _on_sound_arrived(self) -> None:
        if self.playing and self._out is None:
            self._begin()
        self._tell_trouble()

    def _tell_trouble(self) -> None:
        silent = self._device.trouble if self._out is self._silent else ""
        self._tell(silent or self._sounds.trouble)

    def _tell(self, trouble: str) -> None:
        if trouble != self.trouble:
            self.trouble = trouble
            self.changed.emit()

    def _inside(self, song_s: float) -> float:
        end_s = self.song_end_s
        return max(0.0, min(song_s, end_s - 0.01 if end_s else song_s))

    def _on_session_changed(self, change: Change, origin: str) -> None:
        if origin == "open":
            self.pause()
            self._supposed, self._tried = None, None
            self.take_id, self.loop, self.song_s = None, None, 0.0
            self._sounds.set_loop(None)
        elif self.take_id is not None and self.found() is None:
            self.take_id = None
        if change & (Change.SONG | Change.TAKES | Change.CLIPS):
            self._follow()
            self.changed.emit()

    def recall(self, name: str, otherwise: str) -> str:
        """What was kept under a name on this computer."""
        return otherwise if self._settings is None else str(self._settings.value(name, otherwise))

    def keep(self, name: str, value: str) -> None:
        """Keep something on this computer for the next time."""
        if self._settings is not None:
            self._settings.setValue(name, value)

    def _recall(self) -> None:
        try:
            volume_db = float(self.recall(VOLUME, str(START_DB)))
            self.heard = Heard(self.recall(HEARD, Heard.EARS.value))
        except ValueError:
            return  # a damaged setting is none
        # What was loud enough over a band is too loud to begin with on another day.
        self.volume_db = min(max(volume_db, LEAST_DB), REMEMBERED_MOST_DB)
