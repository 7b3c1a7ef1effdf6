"""Clips in which the way from loudspeaker to microphone changes: a camera on the move, two loudspeakers in
turn. The truth is the direct sound at every moment, so it sways about the line."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from scipy import signal

from tests.quality import damage
from tests.quality.band import drums
from tests.quality.clock import delayed
from tests.quality.instruments import Wave
from tests.quality.rooms import SPEED_OF_SOUND
from tests.quality.scene import Scene
from tests.quality.songs import WORK_RATE, Song, SongKey
from tests.quality.staging import Kind, whole

KNOT_S = 0.05
"""Places of the microphone are worked out this often, and truth is told so."""
ROOM = np.array([7.1, 5.2, 2.9])
LOUDSPEAKER = np.array([0.5, 2.4, 1.3])
NEAREST_M = 0.8
"""Nobody holds a microphone nearer to the loudspeaker."""
REFLECTED = 0.6
"""Share of the sound pressure that a wall gives back."""
TAIL_S = 0.5
"""Reverberation time of what comes after the first reflections: the same everywhere in the room."""


def _moving(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    """Somebody walks with the camera, so many metres to and fro; direct sound and first reflections each
    change their own delay and level."""
    swing_m = float(strength.split()[0])
    scene = whole(song, key, rng)
    at_s = np.arange(0, scene.seconds + KNOT_S, KNOT_S)
    away = NEAREST_M + swing_m * (1 + _wandering(at_s, rng)) + float(rng.uniform(0.2, 1.0))
    aside = 0.3 * swing_m * _wandering(at_s, rng)
    place = LOUDSPEAKER + np.stack([away, aside, 0.1 * _wandering(at_s, rng)], axis=1)
    paths_m = [np.linalg.norm(place - source, axis=1) for source in _images()]
    middle_m = float((paths_m[0].min() + paths_m[0].max()) / 2)
    heard = sum(
        _along(scene.playback, at_s, (path_m - middle_m) / SPEED_OF_SOUND, share * middle_m / path_m)
        for share, path_m in zip((1.0, *[REFLECTED] * 6), paths_m, strict=True)
    )
    return _finished(scene, np.asarray(heard), at_s, (paths_m[0] - middle_m) / SPEED_OF_SOUND)


def _two_loudspeakers(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    """Two loudspeakers so many metres apart in distance, one of them 15 dB under the other at any time:
    people stand in the way, the camera looks elsewhere."""
    apart_s = float(strength.split()[0]) / SPEED_OF_SOUND
    scene = whole(song, key, rng)
    at_s = np.arange(0, scene.seconds + KNOT_S, KNOT_S)
    turns = np.cumsum(rng.uniform(5, 20, int(scene.seconds / 5) + 2))
    second = (np.searchsorted(turns, at_s) % 2).astype(np.float64)
    fading = np.convolve(np.pad(second, 5, mode="edge"), np.ones(11) / 11, "valid")
    low = 10 ** (-15 / 20)
    near = _along(scene.playback, at_s, np.full(len(at_s), -apart_s / 2), 1 - (1 - low) * fading)
    far = _along(scene.playback, at_s, np.full(len(at_s), apart_s / 2), low + (1 - low) * fading)
    return _finished(scene, near + far, at_s, apart_s * (fading - 0.5))


def _images() -> list[NDArray[np.float64]]:
    """The loudspeaker, and its mirror images in floor, ceiling and four walls."""
    found = [LOUDSPEAKER]
    for axis in range(3):
        for wall in (0.0, ROOM[axis]):
            image = LOUDSPEAKER.copy()
            image[axis] = 2 * wall - image[axis]
            found.append(image)
    return found


def _wandering(at_s: NDArray[np.float64], rng: np.random.Generator) -> NDArray[np.float64]:
    """A walk to and fro between -1 and 1: some slow swings together."""
    swings = [
        weight * np.sin(2 * np.pi * (at_s / float(rng.uniform(8, 30)) + float(rng.uniform())))
        for weight in (1.0, 0.7, 0.5)
    ]
    walk = np.sum(swings, axis=0)
    return np.asarray(walk / np.max(np.abs(walk)))


def _along(
    wave: Wave, at_s: NDArray[np.float64], late_s: NDArray[np.float64], gain: NDArray[np.float64]
) -> Wave:
    """A sound that arrives so late and so loud at those moments."""
    moments = np.arange(len(wave)) / WORK_RATE
    return delayed(wave, np.interp(moments, at_s, late_s)) * np.interp(moments, at_s, gain)


def _finished(scene: Scene, heard: Wave, at_s: NDArray[np.float64], late_s: NDArray[np.float64]) -> Scene:
    count = round(TAIL_S * WORK_RATE)
    tail = scene.rng.standard_normal(count) * np.exp(-6.9 * np.arange(count) / count)
    tail[: round(0.015 * WORK_RATE)] = 0.0
    tail *= 0.5 / np.sqrt(np.sum(tail**2))
    diffuse = signal.oaconvolve(scene.playback, tail.astype(scene.playback.dtype))[: len(heard)]
    scene.arrive(heard + diffuse)
    scene.room = scene.any_room()
    scene.add(damage.pink(len(scene.wave), scene.rng), -12)
    scene.add(drums(scene), -6)
    knots = tuple(zip(at_s.tolist(), late_s.tolist(), strict=True))
    scene.takes = [replace(take, sway=knots) for take in scene.takes]
    return scene


MOVING: dict[str, Kind] = {
    "moving": Kind(_moving, ("2.4 m", "0.6 m")),
    "two loudspeakers": Kind(_two_loudspeakers, ("4.8 m", "1.6 m")),
}
