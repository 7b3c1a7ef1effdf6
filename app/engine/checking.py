"""What Check asks of the engine: song and take around moments, and the nearest good fit to a hand's place.

Sound that was read is kept in memory, so that another place of the same take, a rival, or the way back costs
next to nothing. Only short pieces of a clip are read for its moments.
"""

import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from app.engine.heard_on_file import Played
from app.model.on_song import Take
from app.model.song_line import Line as SongLine
from audio.rate import ENGINE_RATE

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from audio.placement.local_fit import LocalFit as LocalFit
    from audio.placement.proof import Proof as Proof

SHOWN_S, SLIDE_S, STEP_S = 0.15, 0.5, 0.0005
"""As in `audio.placement.proof`: what curves reach, how far apart their points lie (a test compares them)."""
READ_S = 4.8
"""Read of a clip on either side of a moment."""
MOST_VOICES = 4
"""Channels of a clip that are compared with the song."""
KEPT_PIECES = 240
"""Pieces of clips kept in memory: some 10 s of one channel each, 75 MB in all."""


@dataclass(frozen=True, slots=True)
class Placed:
    """A take as it is looked at: its file, and the line it is held against."""

    song: Path
    clip: Path
    clip_start_s: float
    clip_end_s: float
    song_start_s: float
    speed: float
    """Seconds of song to a second of clip."""
    played: Played | None = None
    """The playback file that is compared in the song's place."""

    @property
    def song_ends_s(self) -> tuple[float, float]:
        """Where it begins and ends in the song."""
        return self.song_start_s, self.song_start_s + (self.clip_end_s - self.clip_start_s) * self.speed

    @classmethod
    def of(cls, song: str, clip: str, take: Take, played: Played | None = None) -> "Placed":
        """A take of the shoot."""
        ends_s = take.clip_start_s, take.clip_end_s
        return cls(Path(song), Path(clip), *ends_s, take.song_start_s, take.speed, played)

    @property
    def line(self) -> SongLine:
        """Time in the file that the clip is compared with, over time in the clip."""
        line = SongLine(self.song_start_s, self.speed, self.clip_start_s)
        return line if self.played is None else self.played.in_file(line)


def proofs(
    placed: Placed,
    moments: Sequence[float],
    *,
    stop: Callable[[], bool],
    progress: Callable[[float], None],
) -> "list[Proof]":
    """Song and take around moments of a take (clip time), one for each; of a clip without sound the song.

    What was heard on a playback file is compared with that, and told in song time.

    Raises
    ------
    AudioError
        The song or the clip cannot be read, or Stopped.
    """
    from audio.errors import NoSound, Stopped
    from audio.line import Line
    from audio.placement.proof import prove, song_alone, window

    def look(done: float) -> None:
        if stop():
            raise Stopped("Stopped.")
        progress(done)

    look(0.0)
    song = _heard(placed, stop, lambda fraction: progress(0.5 * fraction))
    line = Line(placed.clip_start_s, placed.line.song_start_s, placed.line.speed)
    span = placed.clip_start_s, placed.clip_end_s
    try:
        heard = _voices(placed)
    except NoSound:
        return _in_song(placed, song_alone(song, ENGINE_RATE, line, moments))
    found = []
    for number, voice in enumerate(heard):
        windows = []
        for turn, moment in enumerate(moments):
            look(0.5 + 0.5 * (number + turn / len(moments)) / len(heard))
            piece = _piece(placed.clip, voice, max(0.0, moment - READ_S), moment + READ_S)
            windows.append(window(song, piece.samples, piece.start_s, ENGINE_RATE, line, moment, span))
        found.append(prove(windows))
    progress(1.0)
    return _in_song(placed, max(found, key=lambda some: sum(one.strength for one in some)))


def _in_song(placed: Placed, proofs: "list[Proof]") -> "list[Proof]":
    return proofs if placed.played is None else [placed.played.proof_in_song(one) for one in proofs]


def settle(
    placed: Placed, *, stop: Callable[[], bool], progress: Callable[[float], None]
) -> "LocalFit | None":
    """The best fit of a take within half a second of where it was put; None where nothing fits there.

    Raises
    ------
    AudioError
        The song or the clip cannot be read, the clip has no sound, or Stopped.
    """
    from audio.files.media import read_sound
    from audio.line import Line
    from audio.placement.local_fit import fit_nearby as search

    song = _heard(placed, stop, lambda fraction: progress(0.2 * fraction))
    sound = read_sound(placed.clip, ENGINE_RATE, stop=stop, progress=lambda f: progress(0.2 + 0.4 * f))
    span = placed.clip_start_s - sound.start_s, placed.clip_end_s - sound.start_s
    line = Line(span[0], placed.line.song_start_s, placed.line.speed)
    rows = sound.samples.astype("float32")
    found = []
    for number, row in enumerate(rows):

        def tell(fraction: float, number: int = number) -> None:
            progress(0.6 + 0.4 * (number + fraction) / len(rows))

        found.append(search(song, row, ENGINE_RATE, line, span, stop=stop, progress=tell))
    best = max((one for one in found if one is not None), key=lambda one: one.strength, default=None)
    return best if best is None or placed.played is None else placed.played.fit_in_song(best)


def song_loudness(path: Path, from_s: float, to_s: float, count: int) -> "NDArray[np.float32]":
    """How loud a stretch of the song is, 0 to 1, in ``count`` equal parts; silence outside the song."""
    import numpy as np

    song = _song(path, lambda: False, lambda fraction: None)
    edges = np.linspace(from_s * ENGINE_RATE, to_s * ENGINE_RATE, count + 1).astype(int)
    loud = np.zeros(count, np.float32)
    for number in range(count):
        part = song[max(0, edges[number]) : max(0, edges[number + 1])]
        loud[number] = np.abs(part).max(initial=0)
    return loud / max(float(loud.max(initial=0)), 1e-6)


class _Kept:
    """Values kept by key, the oldest given up; usable from several threads."""

    def __init__(self, most: int) -> None:
        self._most = most
        self._values: OrderedDict[Hashable, Any] = OrderedDict()
        self._lock = threading.Lock()

    def get(self, key: Hashable, make: Callable[[], Any]) -> Any:
        """The value of a key, made where it is not there."""
        with self._lock:
            if key in self._values:
                self._values.move_to_end(key)
                return self._values[key]
        value = make()
        with self._lock:
            self._values[key] = value
            while len(self._values) > self._most:
                self._values.popitem(last=False)
        return value


_songs, _pieces, _channels = _Kept(2), _Kept(KEPT_PIECES), _Kept(KEPT_PIECES)


def _file(path: Path) -> tuple[str, int, int]:
    """A file as it is now."""
    try:
        facts = path.stat()
    except OSError:
        return str(path), -1, -1
    return str(path), facts.st_size, facts.st_mtime_ns


def _song(path: Path, stop: Callable[[], bool], progress: Callable[[float], None]) -> "NDArray[np.float32]":
    from audio.files.media import read_song

    return _songs.get(_file(path), lambda: read_song(path, ENGINE_RATE, stop=stop, progress=progress))  # type: ignore[no-any-return]


def _heard(
    placed: Placed, stop: Callable[[], bool], progress: Callable[[float], None]
) -> "NDArray[np.float32]":
    """What a clip is compared with: the song, or a playback file without its timecode."""
    from audio.files.media import read_played

    if placed.played is None:
        return _song(placed.song, stop, progress)
    path = placed.played.path
    key = "played", *_file(path)
    return _songs.get(key, lambda: read_played(path, ENGINE_RATE, stop=stop, progress=progress))  # type: ignore[no-any-return]


def _voices(placed: Placed) -> Sequence[Any]:
    """The channels of the clip worth comparing."""
    from audio.files.channels import SILENT_DBFS
    from audio.play.sound_piece import rank_channels

    def make() -> Sequence[Any]:
        middle = (placed.clip_start_s + placed.clip_end_s) / 2
        found = rank_channels(placed.clip, max(0.0, middle - READ_S), middle + READ_S)[:MOST_VOICES]
        return [one for one in found if one.level_dbfs > SILENT_DBFS] or found[:1]

    key = (*_file(placed.clip), placed.clip_start_s, placed.clip_end_s)
    return _channels.get(key, make)  # type: ignore[no-any-return]


def _piece(clip: Path, voice: Any, from_s: float, to_s: float) -> Any:
    from audio.play.sound_piece import read_piece

    key = (*_file(clip), voice.track, voice.channel, round(from_s, 6), round(to_s, 6))
    return _pieces.get(key, lambda: read_piece(clip, voice, from_s, to_s, ENGINE_RATE))
