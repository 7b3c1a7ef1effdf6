"""Clips in which the song runs faster or slower, its pitch going along or kept."""

from fractions import Fraction

import numpy as np

from tests.quality.scene import Scene
from tests.quality.songs import Song, SongKey
from tests.quality.staging import Kind, usual, whole

SLOWEST, FASTEST = 0.4, 4.2
HARDLY = 0.03
"""A player that keeps the pitch at so little a change plays ten seconds as they are and then leaps: there is
no line to be true to."""


def _speed(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    return usual(whole(song, key, rng, float(Fraction(strength))))


def _pitch_kept(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    speed, _, way = strength.partition(" in ")
    return usual(whole(song, key, rng, float(Fraction(speed)), way))


def _any_speed(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    """A speed nobody told, as likely in one octave as in another."""
    speed = float(SLOWEST * (FASTEST / SLOWEST) ** rng.uniform())
    while strength != "resampled" and abs(speed - 1) < HARDLY:
        speed = float(SLOWEST * (FASTEST / SLOWEST) ** rng.uniform())
    return usual(whole(song, key, rng, speed, "" if strength == "resampled" else strength))


SPEED: dict[str, Kind] = {
    "pull-down": Kind(_speed, ("1001/1000", "1000/1001")),
    "film speed": Kind(_speed, ("25/24", "24/25")),
    "fast": Kind(_speed, ("2", "5/4", "5/2", "8/5", "13/10", "4")),
    "slow": Kind(_speed, ("1/2", "3/4", "4/5")),
    "pitch kept": Kind(
        _pitch_kept,
        ("5/4 in bins", "8/5 in splices", "2 in bins", "1/2 in bins", "13/10 in splices", "3/4 in splices",
         "5/2 in splices", "4 in bins", "25/24 in splices"),
        rough_truth=True,
    ),
    "any speed": Kind(_any_speed, ("resampled",)),
    "any pitch kept": Kind(_any_speed, ("bins", "splices"), rough_truth=True),
}  # fmt: skip
