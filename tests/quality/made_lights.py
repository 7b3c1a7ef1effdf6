"""Light of made shoots as cameras measure it: flashes, cues and lamps, and brightness that means nothing."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from audio.line import Line
from audio.pictures.flashes import Lit
from audio.pictures.silent_series import SilentSeries

Kind = Literal["flash", "cue", "beat", "none"]
Floats = NDArray[np.float64]
Lights = Callable[[Floats, float], Floats]
SONG_S = 200.0


@dataclass(frozen=True, eq=False)
class LitShoot:
    """A silent clip, placed clips, and where the silent one is."""

    silent: SilentSeries
    placed: tuple[Lit, ...]
    song_s: float
    """Song time at the silent clip's start."""
    met: bool
    """Whether a placed clip shows ten seconds of the same light."""


def lit_shoot(seed: int, kind: Kind) -> LitShoot:
    """A shoot with a photographer's flashes, with lighting cues at seconds of the song, with a lamp on every
    beat, or with flashes of each clip's own."""
    rng = np.random.default_rng(seed)
    shared = _lights(rng, kind)

    def own() -> Lights:
        return shared if kind != "none" else _flashes(rng, int(rng.integers(12, 40)))

    placed = []
    for _ in range(int(rng.integers(1, 4))):
        begin_s, length_s = rng.uniform(0, 80), rng.uniform(60, 120)
        seen = _seen(rng, own(), begin_s, length_s, 25.0)
        placed.append(Lit(seen, Line(0.0, begin_s, 1.0), length_s))
    begin_s, length_s = rng.uniform(0, 140), rng.uniform(30, 60)
    silent = _seen(rng, own(), begin_s, length_s, float(rng.choice([24, 25, 50])))
    met = any(
        one.line.song_s < begin_s + length_s - 10 and one.line.song_s + one.clip_end_s > begin_s + 10
        for one in placed
    )
    return LitShoot(silent, tuple(placed), float(begin_s), met)


def _lights(rng: np.random.Generator, kind: Kind) -> Lights:
    if kind == "cue":
        cues_s = np.sort(rng.choice(np.arange(0, SONG_S, 1.0), 50, replace=False))
        levels = np.concatenate([[0.0], rng.uniform(-25, 25, len(cues_s))])
        return lambda song_s, rate: levels[np.searchsorted(cues_s, song_s)]
    if kind == "beat":
        beats_s = np.arange(0.3, SONG_S, 0.5)
        return _burning(beats_s, np.where(np.arange(len(beats_s)) % 4 == 0, 20.0, 12.0), 0.06)
    return _flashes(rng, int(rng.integers(16, 56)))


def _flashes(rng: np.random.Generator, count: int) -> Lights:
    return _burning(np.sort(rng.uniform(0, SONG_S, count)), rng.uniform(5, 60, count), 0.02)


def _burning(times_s: Floats, sizes: Floats, length_s: float) -> Lights:
    def light(song_s: Floats, rate: float) -> Floats:
        """Mean over an exposure of half a frame."""
        out = np.zeros(len(song_s))
        for at_s, size in zip(times_s, sizes, strict=True):
            shared = np.minimum(song_s + 0.5 / rate, at_s + length_s) - np.maximum(song_s, at_s)
            out += size * np.clip(2 * rate * shared, 0, 1)
        return out

    return light


def _seen(
    rng: np.random.Generator, light: Lights, begin_s: float, length_s: float, rate: float
) -> SilentSeries:
    clip_s = np.arange(0, length_s, 1 / rate)
    mean = rng.uniform(40, 140) + np.cumsum(rng.normal(0, 0.05, len(clip_s)))
    mean += rng.uniform(0, 3) * np.sin(2 * np.pi * clip_s / rng.uniform(3, 15))
    mean += rng.normal(0, 0.15, len(clip_s)) + rng.uniform(0.3, 1.5) * light(begin_s + clip_s, rate)
    return SilentSeries(clip_s, mean, np.zeros(len(clip_s)))
