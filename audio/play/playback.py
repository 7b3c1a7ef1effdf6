"""Playback of the song, of a take on the song's clock, or of both, block by block.

Frames count on the song's clock at one rate. The song is in memory at that rate; a take's sound has its own
clock and is interpolated at the song's frames. Every change (a start, a jump, the end of a loop, another
take) is a short cross-fade, so that nothing clicks and a loop has no gap. A limiter comes before the volume:
the output never exceeds the limiter's ceiling times the volume.
"""

import threading
from bisect import bisect_right
from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from math import floor
from typing import Any

import numpy as np
from numpy.typing import NDArray

from audio.files.channels import AnyFloats
from audio.play.interpolation import read_at
from audio.play.limiter import Limiter
from audio.play.sound_piece import Piece

FloatArray = NDArray[np.float32]

RATE = 48_000
"""Frames a second; nearly every device plays this rate."""
PIECE_S = 8.0
"""Seconds of a take that are read at a time. Chosen by hand: shorter pieces cost more seeks, longer ones
delay the first sound."""
PIECES_KEPT = 24
"""Pieces in memory at most, 1.5 MB each: three minutes of takes."""
START_DB = -20.0
"""Volume at the start. Quiet, to protect hearing: sound that is too soft can be turned up, sound that is too
loud has already hurt."""
LEAST_DB, MOST_DB = -60.0, 0.0
"""Range of the volume in dB; the lowest is silence."""
SHORTEST_LOOP_S = 0.1
"""Seconds; a shorter loop would be heard as a buzz. Chosen by hand."""
_FADE = 480
"""Frames of a cross-fade (10 ms at 48 kHz): long enough not to click, too short to be heard as a fade."""
_CHUNK = 1024
"""Frames rendered at a time (21 ms at 48 kHz): the delay of a change; smaller chunks cost more time."""
_EDGE_S = 0.005
"""Seconds of fade at both ends of a take, against clicks; chosen by hand."""
_BOTH = np.float32(0.7)
"""Gain of song and take where both are in one ear: 1 / √2 leaves the power unchanged."""
_REMEMBERED = 500
"""Jumps and loops after which song times can still be looked up; chosen by hand, above what any device
buffers."""


class Mix(StrEnum):
    """What is played."""

    SONG = "song"
    TAKE = "take"
    EARS = "ears"
    """Song left, take right."""
    MIXED = "mixed"


@dataclass(frozen=True, slots=True)
class Line:
    """A take on the song's clock: song time = ``song_start_s + (clip time - clip_start_s) * speed``.

    Times are in seconds; ``speed`` is seconds of song per second of clip.
    """

    key: str
    """Key of the clip's pieces."""
    clip_start_s: float
    clip_end_s: float
    song_start_s: float
    speed: float
    gain: float = 1.0
    """Factor on the take's samples that brings it to about the song's RMS level."""


class Pieces:
    """Cache of pieces of clips, by clip and number; the least recently used go first. Usable from any
    thread."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._pieces: OrderedDict[tuple[str, int], Piece] = OrderedDict()

    def get(self, key: str, number: int) -> Piece | None:
        """A piece, or None if it is not in the cache."""
        with self._lock:
            if (key, number) in self._pieces:
                self._pieces.move_to_end((key, number))
            return self._pieces.get((key, number))

    def put(self, key: str, number: int, piece: Piece) -> None:
        """Add a piece."""
        with self._lock:
            self._pieces[key, number] = piece
            while len(self._pieces) > PIECES_KEPT:
                self._pieces.popitem(last=False)

    def missing(self, line: Line, spans: Sequence[tuple[float, float]]) -> list[int]:
        """Numbers of the pieces that spans of the song (seconds) need and that are not in the cache, in that
        order."""
        numbers: dict[int, None] = {}
        for song_start_s, song_end_s in spans:
            first, last = (
                min(
                    max(line.clip_start_s + (one - line.song_start_s) / line.speed, line.clip_start_s),
                    line.clip_end_s,
                )
                for one in (song_start_s, song_end_s)
            )
            if last > first:
                numbers |= dict.fromkeys(range(floor(first / PIECE_S), floor(last / PIECE_S) + 1))
        with self._lock:
            return [number for number in numbers if (line.key, number) not in self._pieces]


@dataclass(frozen=True, slots=True)
class _State:
    """What is being played."""

    at: int
    """Next frame of the song."""
    line: Line | None = None
    mix: Mix = Mix.SONG
    silent: bool = True


@dataclass(frozen=True, slots=True)
class _Segment:
    """Consecutive frames of the output, and their place in the song."""

    out: int
    """First frame of the output."""
    song: int
    """Frame of the song that it is."""
    running: bool
    """Whether the song goes on with the output; if not, it stands still in silence."""


class Playback:
    """Renders blocks of sound and knows which song time came out when. Usable from any thread."""

    def __init__(self, pieces: Pieces, rate: int = RATE) -> None:
        self.rate = rate
        self._pieces = pieces
        self._lock = threading.RLock()
        self._song: AnyFloats = np.zeros((2, 0), np.float32)
        self._state = _State(0)
        self._changes: dict[str, Any] = {}
        """Fields of the state that change with the next frame rendered."""
        self._loop: tuple[int, int] | None = None
        self._limiter = Limiter(rate)
        self._volume = self._target = 10 ** (START_DB / 20)
        self._ready = np.zeros((0, 2), np.float32)
        self._made = 0
        self._segments: list[_Segment] = []

    def set_song(self, samples: AnyFloats) -> None:
        """Set the song: shape (2, n), full scale 1.0, at this playback's rate."""
        with self._lock:
            self._song = samples

    def set_volume(self, decibels: float) -> None:
        """Set the volume to ``decibels``, from `LEAST_DB` (silence) to `MOST_DB`; it changes over one
        chunk."""
        decibels = min(decibels, MOST_DB)
        with self._lock:
            self._target = 0.0 if decibels <= LEAST_DB else float(10 ** (decibels / 20))

    def set_loop(self, span_s: tuple[float, float] | None) -> None:
        """Loop over a span of the song in seconds; None, or a span shorter than `SHORTEST_LOOP_S`, ends the
        loop."""
        with self._lock:
            self._loop = None
            if span_s is not None and span_s[1] - span_s[0] >= SHORTEST_LOOP_S:
                self._loop = round(span_s[0] * self.rate), round(span_s[1] * self.rate)

    def select(self, line: Line | None, mix: Mix) -> None:
        """Change the take or the mix that is played."""
        with self._lock:
            self._changes |= {"line": line, "mix": mix}

    def start(self, song_s: float) -> int:
        """Play from a song time in seconds; gives the number of the output frame at which it will be
        heard."""
        with self._lock:
            self._changes |= {"at": round(song_s * self.rate), "silent": False}
            return self._made + self._limiter.delay

    def rest(self) -> None:
        """Fade out to silence."""
        with self._lock:
            self._changes |= {"silent": True}

    def begin(self) -> None:
        """Count output frames from 0 again, as a device does that is restarted."""
        with self._lock:
            self._state = replace(self._state, **self._changes | {"silent": True})
            self._changes = {}
            self._limiter.clear()
            self._ready = np.zeros((0, 2), np.float32)
            self._made = 0
            self._segments = []

    def read(self, frames: int) -> FloatArray:
        """The next frames, shape (frames, 2), full scale 1.0."""
        with self._lock:
            parts = [self._ready]
            count = len(self._ready)
            while count < frames:
                parts.append(self._out(self._chunk()))
                count += len(parts[-1])
            whole = np.concatenate(parts)
            self._ready = whole[frames:]
            return whole[:frames]

    def song_s(self, out_frames: float) -> float | None:
        """Song time in seconds at an output frame; None where the song has not started by then."""
        with self._lock:
            at = out_frames - self._limiter.delay
            number = bisect_right(self._segments, at, key=lambda one: one.out) - 1
            if number < 0:
                return None
            found = self._segments[number]
            end = self._segments[number + 1].out if number + 1 < len(self._segments) else self._made
            return (found.song + (min(at, end) - found.out if found.running else 0)) / self.rate

    def _chunk(self) -> FloatArray:
        """Render sound up to the next change, before the limiter: shape (n, 2), n at least 1."""
        before = self._state
        if self._loop is not None and not before.silent and before.at == self._loop[1]:
            self._changes = {"at": self._loop[0]} | self._changes
        fading = bool(self._changes)
        now = replace(before, **self._changes)
        self._changes = {}
        count = _FADE if fading else _CHUNK
        if self._loop is not None and not now.silent and now.at < self._loop[1]:
            count = min(count, self._loop[1] - now.at)
        sound = self._render(now, count)
        if fading:
            rise = np.linspace(0, 1, count + 1, dtype=np.float32)[1:, None]
            sound = sound * rise + self._render(before, count) * (1 - rise)
        self._remember(now)
        self._made += count
        self._state = now if now.silent else replace(now, at=now.at + count)
        return sound

    def _remember(self, now: _State) -> None:
        new = _Segment(self._made, now.at, not now.silent)
        if self._segments:
            last = self._segments[-1]
            follows = last.song + (new.out - last.out if last.running else 0)
            if last.running == new.running and follows == new.song:
                return
        self._segments.append(new)
        del self._segments[:-_REMEMBERED]

    def _out(self, sound: FloatArray) -> FloatArray:
        """Apply limiter and volume."""
        limited = self._limiter.process(sound)
        steps = np.linspace(self._volume, self._target, len(sound) + 1, dtype=np.float32)[1:, None]
        self._volume = self._target
        return limited * steps

    def _render(self, state: _State, count: int) -> FloatArray:
        out = np.zeros((count, 2), np.float32)
        if state.silent:
            return out
        if state.mix is not Mix.TAKE:
            song = np.zeros((count, 2), np.float32)
            part = self._song[:, max(0, state.at) : max(0, state.at + count)].T
            at = max(0, -state.at)
            song[at : at + len(part)] = part
            if state.mix is Mix.SONG:
                return song
            if state.mix is Mix.EARS:
                out[:, 0] = song.mean(axis=1)
            else:
                out += _BOTH * song
        take = self._take(state.line, state.at, count)
        if state.mix is Mix.EARS:
            out[:, 1] = take
        else:
            out += (take if state.mix is Mix.TAKE else _BOTH * take)[:, None]
        return out

    def _take(self, line: Line | None, at: int, count: int) -> FloatArray:
        """The take's sound at the song's frames; silence outside the take and where no piece has been
        read."""
        out = np.zeros(count, np.float32)
        if line is None:
            return out
        song_s = (at + np.arange(count)) / self.rate
        clip_s = line.clip_start_s + (song_s - line.song_start_s) / line.speed
        inside = np.minimum(clip_s - line.clip_start_s, line.clip_end_s - clip_s)
        numbers = np.floor(clip_s / PIECE_S).astype(int)
        for number in np.unique(numbers[inside > 0]):
            piece = self._pieces.get(line.key, int(number))
            if piece is None:
                continue
            here = np.flatnonzero((numbers == number) & (inside > 0))
            places = (clip_s[here] - piece.start_s) * self.rate
            out[here] = read_at(piece.samples, places, 1 / line.speed)
        edge = np.clip(inside / _EDGE_S, 0, 1).astype(np.float32)
        return out * edge * np.float32(line.gain)
