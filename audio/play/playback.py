"""What comes out of the loudspeakers: the song, a take put on the song's clock, or both, block after block.

Frames are counted on the song's clock at one rate. The song is read once at that rate; a take's sound keeps
its own clock and is read off between its samples where the song's frames fall. Every change (a start, a
jump, the end of a loop, another take) is a short cross-fade, so nothing clicks, and a loop has no gap. Peaks
are limited before the volume is applied: what comes out never passes the ceiling at that volume.
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
"""Frames a second; what nearly every device plays."""
PIECE_S = 8.0
"""A take's sound is read in pieces of this length."""
PIECES_KEPT = 24
"""1.5 MB each."""
START_DB = -20.0
"""Quiet: one turns up what is too soft, not down what hurt already."""
LEAST_DB, MOST_DB = -60.0, 0.0
SHORTEST_LOOP_S = 0.1
_FADE = 480
"""Frames of a cross-fade (10 ms): long enough not to click, too short to be heard as a fade."""
_CHUNK = 1024
_EDGE_S = 0.005
"""A take's sound fades in and out over this at its ends."""
_BOTH = np.float32(0.7)
"""Of each, where two are heard in one ear."""
_REMEMBERED = 500
"""Jumps and loops whose moment of coming out is remembered."""


class Mix(StrEnum):
    """What is heard."""

    SONG = "song"
    TAKE = "take"
    EARS = "ears"
    """Song left, take right."""
    MIXED = "mixed"


@dataclass(frozen=True, slots=True)
class Line:
    """Where a take lies: song time = ``song_start_s + (clip time - clip_start_s) * speed``."""

    key: str
    """Of the clip whose pieces are heard."""
    clip_start_s: float
    clip_end_s: float
    song_start_s: float
    speed: float
    gain: float = 1.0
    """Brings the take to about the song's loudness."""


class Pieces:
    """Pieces of clips by clip and number; the longest unused go first. Usable from any thread."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._pieces: OrderedDict[tuple[str, int], Piece] = OrderedDict()

    def get(self, key: str, number: int) -> Piece | None:
        """A piece, or None as long as it is not there."""
        with self._lock:
            if (key, number) in self._pieces:
                self._pieces.move_to_end((key, number))
            return self._pieces.get((key, number))

    def put(self, key: str, number: int, piece: Piece) -> None:
        """Keep a piece."""
        with self._lock:
            self._pieces[key, number] = piece
            while len(self._pieces) > PIECES_KEPT:
                self._pieces.popitem(last=False)

    def missing(self, line: Line, spans: Sequence[tuple[float, float]]) -> list[int]:
        """Numbers of the pieces that spans of the song need and that are not there, in that order."""
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
class _Tune:
    """What is being played from one moment on."""

    at: int
    """Song frame."""
    line: Line | None = None
    mix: Mix = Mix.SONG
    silent: bool = True


@dataclass(frozen=True, slots=True)
class _Stretch:
    """Frames that came out in a row, and where in the song they are from."""

    out: int
    song: int
    running: bool


class Playback:
    """Gives blocks of sound and remembers which moment of the song came out when. Usable from any thread."""

    def __init__(self, pieces: Pieces, rate: int = RATE) -> None:
        self.rate = rate
        self._pieces = pieces
        self._lock = threading.RLock()
        self._song: AnyFloats = np.zeros((2, 0), np.float32)
        self._tune = _Tune(0)
        self._changes: dict[str, Any] = {}
        """Fields of the tune that change with the next frame made."""
        self._loop: tuple[int, int] | None = None
        self._limiter = Limiter(rate)
        self._volume = self._target = 10 ** (START_DB / 20)
        self._ready = np.zeros((0, 2), np.float32)
        self._made = 0
        self._stretches: list[_Stretch] = []

    def set_song(self, samples: AnyFloats) -> None:
        """The song, shape (2, n), at this playback's rate."""
        with self._lock:
            self._song = samples

    def set_volume(self, decibels: float) -> None:
        """How loud, from `LEAST_DB` (which is silence) to `MOST_DB`; reached in a hundredth of a second."""
        decibels = min(decibels, MOST_DB)
        with self._lock:
            self._target = 0.0 if decibels <= LEAST_DB else float(10 ** (decibels / 20))

    def set_loop(self, span_s: tuple[float, float] | None) -> None:
        """Go from the end of a span back to its start; a span too short to be heard as one is none."""
        with self._lock:
            self._loop = None
            if span_s is not None and span_s[1] - span_s[0] >= SHORTEST_LOOP_S:
                self._loop = round(span_s[0] * self.rate), round(span_s[1] * self.rate)

    def hear(self, line: Line | None, mix: Mix) -> None:
        """Hear another take, or another mix."""
        with self._lock:
            self._changes |= {"line": line, "mix": mix}

    def start(self, song_s: float) -> int:
        """Play from a moment of the song; gives the number of the frame as which it will come out."""
        with self._lock:
            self._changes |= {"at": round(song_s * self.rate), "silent": False}
            return self._made + self._limiter.delay

    def rest(self) -> None:
        """Fade out; silence comes out from then on."""
        with self._lock:
            self._changes |= {"silent": True}

    def begin(self) -> None:
        """Count what comes out from 0 again, as a device does that was started anew."""
        with self._lock:
            self._tune = replace(self._tune, **self._changes | {"silent": True})
            self._changes = {}
            self._limiter.clear()
            self._ready = np.zeros((0, 2), np.float32)
            self._made = 0
            self._stretches = []

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
        """The moment of the song that comes out as frame so-and-so; None where nothing of it has yet."""
        with self._lock:
            at = out_frames - self._limiter.delay
            number = bisect_right(self._stretches, at, key=lambda one: one.out) - 1
            if number < 0:
                return None
            found = self._stretches[number]
            end = self._stretches[number + 1].out if number + 1 < len(self._stretches) else self._made
            return (found.song + (min(at, end) - found.out if found.running else 0)) / self.rate

    def _chunk(self) -> FloatArray:
        """Sound up to the next change, before the limiter: shape (n, 2), n at least 1."""
        before = self._tune
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
        self._tune = now if now.silent else replace(now, at=now.at + count)
        return sound

    def _remember(self, now: _Tune) -> None:
        new = _Stretch(self._made, now.at, not now.silent)
        if self._stretches:
            last = self._stretches[-1]
            follows = last.song + (new.out - last.out if last.running else 0)
            if last.running == new.running and follows == new.song:
                return
        self._stretches.append(new)
        del self._stretches[:-_REMEMBERED]

    def _out(self, sound: FloatArray) -> FloatArray:
        """Limited, at the volume."""
        limited = self._limiter.process(sound)
        steps = np.linspace(self._volume, self._target, len(sound) + 1, dtype=np.float32)[1:, None]
        self._volume = self._target
        return limited * steps

    def _render(self, tune: _Tune, count: int) -> FloatArray:
        out = np.zeros((count, 2), np.float32)
        if tune.silent:
            return out
        if tune.mix is not Mix.TAKE:
            song = np.zeros((count, 2), np.float32)
            part = self._song[:, max(0, tune.at) : max(0, tune.at + count)].T
            at = max(0, -tune.at)
            song[at : at + len(part)] = part
            if tune.mix is Mix.SONG:
                return song
            if tune.mix is Mix.EARS:
                out[:, 0] = song.mean(axis=1)
            else:
                out += _BOTH * song
        take = self._take(tune.line, tune.at, count)
        if tune.mix is Mix.EARS:
            out[:, 1] = take
        else:
            out += (take if tune.mix is Mix.TAKE else _BOTH * take)[:, None]
        return out

    def _take(self, line: Line | None, at: int, count: int) -> FloatArray:
        """The take's sound where the song's frames fall; silence outside the take and where none is read."""
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
