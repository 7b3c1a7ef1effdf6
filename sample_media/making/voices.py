"""People talking where nobody says anything: syllables of voiced sound with moving resonances."""

import numpy as np

from making.instruments import RATE, Wave

_VOWELS = (
    (730, 1090, 2440),
    (270, 2290, 3010),
    (570, 840, 2410),
    (530, 1840, 2480),
    (300, 870, 2240),
    (660, 1720, 2410),
)
"""First three resonances in Hz: rounded textbook averages, written down from memory."""


def _syllable(rng: np.random.Generator, pitch: float, length_s: float) -> Wave:
    count = int(length_s * RATE)
    time = np.arange(count) / RATE
    share = time / length_s
    start, end = (np.array(_VOWELS[int(rng.integers(len(_VOWELS)))]) for _ in range(2))
    tone = pitch * (1 + 0.10 * np.sin(np.pi * share) - 0.08 * share)
    turn = 2 * np.pi * np.cumsum(tone) / RATE
    sound = np.zeros(count)
    for number in range(1, int(4000 / pitch)):
        height = number * pitch
        levels = [
            sum(
                g * np.exp(-(((height - f) / w) ** 2))
                for f, g, w in zip(vowel, (1, 0.5, 0.25), (110, 150, 220), strict=True)
            )
            for vowel in (start, end)
        ]
        sound += (levels[0] * (1 - share) + levels[1] * share + 0.01) * number**-0.4 * np.sin(number * turn)
    hiss = rng.normal(0, 1, count) * np.exp(-time / 0.03) * rng.uniform(0, 0.25)
    return np.asarray((sound + np.diff(hiss, prepend=0)) * np.sin(np.pi * np.clip(share, 0, 1)) ** 0.6)


def talk(length_s: float, rng: np.random.Generator, people: int = 2) -> Wave:
    """People taking turns, now and then at once; peak about 1."""
    out = np.zeros(int(length_s * RATE))
    for person in range(people):
        pitch = (112.0, 196.0, 134.0, 221.0)[person % 4] * rng.uniform(0.95, 1.05)
        time = rng.uniform(0.0, 0.4) + 1.6 * person
        while time < length_s - 0.4:
            for _ in range(int(rng.integers(4, 11))):
                length = rng.uniform(0.09, 0.24)
                sound = _syllable(rng, pitch * rng.uniform(0.9, 1.15), length) * rng.uniform(0.5, 1.0)
                first = int(time * RATE)
                sound = sound[: max(len(out) - first, 0)]
                out[first : first + len(sound)] += sound
                time += length + rng.uniform(0.0, 0.06)
            time += rng.uniform(0.5, 1.9)
    return out / max(float(np.abs(out).max()), 1e-9)
