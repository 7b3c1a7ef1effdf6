"""From paper to performance: when each note really sounds. No two performances are alike."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from making.notes import BEATS_PER_BAR, Note
from making.tunes import Tune

LEAD_IN_S = 0.5
"""Silence before bar 1."""
BLOCK_S = 1024 / 44_100
"""Step of the song's encoder in sound that goes on: what repeats so far apart is encoded alike."""


@dataclass(frozen=True, slots=True)
class Sounded:
    """A note as played: seconds on the tune's clock, pitch in semitones, strength 0 to about 1.2."""

    start_s: float
    end_s: float
    pitch: float
    strength: float


@dataclass(frozen=True, slots=True)
class Pulse:
    """Where the beats of a tune lie, in seconds; one more than played: the end of the last bar."""

    beats_s: NDArray[np.float64]

    def at(self, beat: float) -> float:
        """Seconds of a place counted in beats."""
        return float(np.interp(beat, np.arange(len(self.beats_s)), self.beats_s))

    def place(self, seconds: float) -> float:
        """Place in beats of a time in seconds; 0 before the first beat, their number after the last."""
        return float(np.interp(seconds, self.beats_s, np.arange(len(self.beats_s))))

    @property
    def bars_s(self) -> NDArray[np.float64]:
        """First beats of the bars."""
        return self.beats_s[:-1:BEATS_PER_BAR]


def pulse(tune: Tune, rng: np.random.Generator) -> Pulse:
    """A tempo that breathes by half a percent like a band's, and slows a little over the last bars.

    Bars that the recording has twice last as long both times, a whole number of blocks of the encoder apart.
    """
    count = tune.bars * BEATS_PER_BAR
    beat = np.arange(count)
    breath = 0.004 * np.sin(2 * np.pi * beat / 71 + 0.4) + 0.003 * np.sin(2 * np.pi * beat / 29 + 2.0)
    wander = np.convolve(rng.normal(0, 0.004, count + 8), np.ones(9) / 9, "valid")
    slowing = 0.08 * np.clip((beat - (count - 11)) / 8, 0, 1) ** 2
    lengths = 60 / tune.tempo_bpm * (1 + breath + wander + slowing)
    if tune.copied is not None:
        first, again, beats = tune.copied.from_beat, tune.copied.to_beat, tune.copied.beats
        lengths[again : again + beats] = lengths[first : first + beats]
        apart_s = float(lengths[first:again].sum())
        whole_s = round(apart_s / BLOCK_S) * BLOCK_S
        lengths[first + beats : again] *= 1 + (whole_s - apart_s) / lengths[first + beats : again].sum()
    return Pulse(np.round(LEAD_IN_S + np.concatenate(([0.0], np.cumsum(lengths))), 6))


def play(
    notes: list[Note], beats: Pulse, rng: np.random.Generator, *, spread_s: float = 0.008, touch: float = 0.08
) -> list[Sounded]:
    """Play a part: onsets off by ``spread_s`` (standard deviation), strength by the share ``touch``."""
    sounded = []
    for note in sorted(notes, key=lambda n: (n.beat, n.pitch)):
        off = float(np.clip(rng.normal(0, spread_s), -2.5 * spread_s, 2.5 * spread_s))
        start = max(beats.at(note.beat) + off, 0.0)
        end = start + (beats.at(note.beat + note.length) - beats.at(note.beat)) * rng.uniform(0.93, 0.99)
        loud = note.strength * float(np.exp(rng.normal(0, touch)))
        sounded.append(Sounded(start, end, note.pitch + float(rng.normal(0, 0.02)), loud))
    return sounded
