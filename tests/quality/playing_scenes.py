"""Drawn people who play to a song: their arms strike with its notes, as unevenly as people do."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from audio.pictures.silent_series import LINES, SilentSeries, series_in
from tests.quality.scenes import Camera, Place, Take, pictures, random_camera, random_place
from tests.quality.songs import Song

Floats = NDArray[np.float64]
LIFT_S = 0.14
"""An arm is raised this long before it strikes (s)."""
RETURN_S = 0.22
"""And has come to rest this long after (s)."""


@dataclass(frozen=True)
class Strokes:
    """A limb that strikes at moments: takes the place of a swing of `tests.quality.scene_players`."""

    times_s: Floats
    metres: Floats

    def at(self, seconds: float) -> float:
        """Where it is."""
        first = int(np.searchsorted(self.times_s, seconds - RETURN_S))
        last = int(np.searchsorted(self.times_s, seconds + 2 * LIFT_S))
        out = 0.0
        for number in range(first, last):
            late = seconds - self.times_s[number]
            if late < 0:
                out += self.metres[number] * np.exp(-0.5 * ((late + 0.06) / (0.5 * LIFT_S)) ** 2)
            else:
                out -= 0.5 * self.metres[number] * np.sin(np.pi * late / RETURN_S) * (late < RETURN_S)
        return float(out)


def playing(song: Song, seed: int, *, follow: bool = True) -> tuple[Place, Camera]:
    """A place whose people play the song from its time 0 on, and a camera on some of them.

    Each plays some of the notes and beats, 15 to 50 ms off (standard deviation) and a little early or late
    for good; sways as people do. Without ``follow`` they play in another tempo, to nothing.
    """
    chance = np.random.default_rng(seed)
    place = random_place(seed, "drawn" if seed % 2 else "woven")
    notes = np.array([note.start_s for note in song.tune])
    beats = np.asarray(song.beats_s, float)
    sides = []
    for side in place.sides:
        players = []
        for player in side.players:
            kind = chance.choice(["tune", "beats", "bars"])
            source = {"tune": notes, "beats": beats, "bars": beats[:: song.beats_per_bar]}[kind]
            source = source if len(source) else beats
            kept = source[chance.random(len(source)) < chance.uniform(0.4, 0.95)]
            late = chance.normal(0, 0.02) + chance.normal(0, chance.uniform(0.015, 0.05), len(kept))
            times = np.sort(kept + late)
            if not follow:
                times = np.sort(times * chance.uniform(0.85, 1.2) + chance.uniform(0, 3))
            size = chance.uniform(0.02, 0.16) * chance.lognormal(0, 0.5, len(times))
            strokes = Strokes(times, size)
            small = Strokes(times, size * chance.uniform(0, 0.5))
            players.append(
                replace(player, right=(strokes, *player.right[:2]), left=(small, *player.left[:2]))
            )
        sides.append(replace(side, players=tuple(players)))
    camera = random_camera(chance, place, str(chance.choice(["close", "half", "wide"])))
    return replace(place, sides=tuple(sides)), camera


def drawn_series(song: Song, seed: int, follow: bool) -> tuple[float, SilentSeries]:
    """A clip drawn and measured: the song time at its start (s), and what its pictures do."""
    chance = np.random.default_rng(seed + 99)
    place, camera = playing(song, seed, follow=follow)
    length_s = float(chance.choice([30, 45, 60]))
    begin_s = float(chance.uniform(0, max(1.0, song.seconds - length_s)))
    drawn = pictures(Take(place, camera, place.light, begin_s, seed=seed), length_s, 25, LINES)
    frames = ((number / 25, picture.mean(-1).astype(np.uint8)) for number, picture in enumerate(drawn))
    return begin_s, series_in(frames)
