"""A drum kit made of formulas, and a drummer who plays it along to a beat with human timing."""

from collections.abc import Callable

import numpy as np
from scipy import signal

from tests.quality.instruments import Wave, fade, mix, sections


class Kit:
    """Drums of one tuning. ``machine`` plays the same sample for every hit, as drum machines do."""

    def __init__(self, rate: int, seed: int, machine: bool = False) -> None:
        self.rate = rate
        tuning = np.random.default_rng(seed)
        self._tune = tuning.uniform(0.85, 1.2, 8)
        self._rng = np.random.default_rng(seed + 1)
        self._machine = machine
        self._kept: dict[str, Wave] = {}
        self._sounds: dict[str, Callable[[], Wave]] = {
            "kick": self._kick,
            "snare": self._snare,
            "hat": lambda: self._metal(0.06, 7000),
            "open hat": lambda: self._metal(0.35, 6500),
            "crash": lambda: self._metal(1.6, 3500),
            "ride": lambda: self._metal(0.5, 4500) * 0.8,
            "tom": lambda: self._skin(110 * self._tune[3], 0.35),
            "floor tom": lambda: self._skin(75 * self._tune[3], 0.45),
            "stick": self._stick,
            "clap": self._clap,
        }

    def hit(self, drum: str, velocity: float = 1.0) -> Wave:
        """One stroke, peak about ``velocity``; softer strokes are duller too."""
        if self._machine:
            if drum not in self._kept:
                self._kept[drum] = self._sounds[drum]()
            return velocity * self._kept[drum]
        wave = self._sounds[drum]()
        dull = 0.6 * (1 - min(1.0, velocity)) * self._rng.uniform(0.7, 1.0)
        return np.asarray(velocity * signal.lfilter([1 - dull], [1, -dull], wave))

    def _time(self, seconds: float) -> Wave:
        return np.asarray(np.arange(int(seconds * self.rate)) / self.rate)

    def _noise(self, n: int) -> Wave:
        return self._rng.standard_normal(n)

    def _shaped(self, wave: Wave) -> Wave:
        return fade(wave / max(1e-9, float(np.max(np.abs(wave)))), self.rate, 0.0005, 0.01)

    def _kick(self) -> Wave:
        t = self._time(0.3)
        low = 48 * self._tune[0] * self._rng.uniform(0.98, 1.02)
        sweep = 2 * np.pi * (low * t + 0.02 * 130 * (1 - np.exp(-t / 0.02)))
        click = self._noise(len(t)) * np.exp(-t / 0.004) * 0.35
        return self._shaped(np.sin(sweep) * np.exp(-t / 0.09) + click)

    def _snare(self) -> Wave:
        t = self._time(0.28)
        body = np.sin(2 * np.pi * 185 * self._tune[1] * t) + 0.6 * np.sin(2 * np.pi * 330 * self._tune[1] * t)
        band = sections(2, (1200, min(9000, 0.45 * self.rate)), "band", self.rate)
        wires = signal.sosfilt(band, self._noise(len(t)))
        return self._shaped(0.5 * body * np.exp(-t / 0.05) + wires * np.exp(-t / (0.07 * self._tune[2])))

    def _metal(self, seconds: float, cutoff: float) -> Wave:
        t = self._time(seconds)
        high = sections(3, min(cutoff, 0.35 * self.rate) * 0.7, "high", self.rate)
        ring = sum(np.sign(np.sin(2 * np.pi * f * self._tune[4] * t)) for f in (2043.0, 3076.0, 4150.0))
        return self._shaped(
            signal.sosfilt(high, self._noise(len(t)) + 0.4 * ring) * np.exp(-t / (seconds / 4))
        )

    def _skin(self, frequency: float, seconds: float) -> Wave:
        t = self._time(seconds)
        tone = np.sin(2 * np.pi * frequency * (t + 0.01 * (1 - np.exp(-t / 0.03))))
        return self._shaped(tone * np.exp(-t / 0.13) + 0.2 * self._noise(len(t)) * np.exp(-t / 0.015))

    def _stick(self) -> Wave:
        t = self._time(0.06)
        return self._shaped(np.sin(2 * np.pi * 1750 * self._tune[5] * t) * np.exp(-t / 0.008))

    def _clap(self) -> Wave:
        t = self._time(0.2)
        bursts = sum(np.where(t >= at, np.exp(-(t - at) / 0.012), 0.0) for at in (0.0, 0.011, 0.023))
        band = sections(2, (900, 3500), "band", self.rate)
        return self._shaped(signal.sosfilt(band, self._noise(len(t))) * bursts)


PATTERNS: dict[str, dict[int, tuple[tuple[str, float, float], ...]]] = {
    "rock": {
        0: (("kick", 0.0, 1.0), ("hat", 0.0, 0.5), ("hat", 0.5, 0.35)),
        1: (("snare", 0.0, 0.9), ("hat", 0.0, 0.5), ("hat", 0.5, 0.35)),
        2: (("kick", 0.0, 0.9), ("kick", 0.5, 0.7), ("hat", 0.0, 0.5), ("hat", 0.5, 0.35)),
        3: (("snare", 0.0, 0.95), ("hat", 0.0, 0.5), ("open hat", 0.5, 0.3)),
    },
    "waltz": {
        0: (("kick", 0.0, 0.9), ("ride", 0.0, 0.4)),
        1: (("stick", 0.0, 0.4), ("ride", 0.0, 0.3)),
        2: (("stick", 0.0, 0.4), ("ride", 0.0, 0.3), ("hat", 0.5, 0.2)),
    },
}
"""Drum, place in the beat (fraction), velocity; by the number of the beat in its bar."""


def drummer(
    seconds: float, rate: int, beats_s: Wave, first_beat: int, beats_per_bar: int, rng: np.random.Generator
) -> Wave:
    """Play a kit along to given beats (seconds, rising): 8 ms of scatter, a lean of its own, fills."""
    kit = Kit(rate, int(rng.integers(1 << 30)))
    pattern = PATTERNS["waltz" if beats_per_bar == 3 else "rock"]
    lean = rng.normal(0, 0.008)
    out = np.zeros(int(seconds * rate))
    for place in range(len(beats_s) - 1):
        beat, length = beats_s[place], beats_s[place + 1] - beats_s[place]
        bar, number = divmod(place + first_beat, beats_per_bar)
        if bar % 8 == 7 and number >= beats_per_bar - 2:
            strokes = tuple((("snare", "tom", "floor tom")[k % 3], k / 4, 0.8) for k in range(4))
        else:
            strokes = pattern[number % len(pattern)]
            if bar % 8 == 0 and number == 0:
                strokes = (*strokes, ("crash", 0.0, 0.7))
        for drum, part, velocity in strokes:
            if rng.uniform() < 0.04:
                continue
            at = beat + part * length + lean + rng.normal(0, 0.008)
            mix(out, at, rate, kit.hit(drum, velocity * rng.uniform(0.75, 1.1)))
    return out
