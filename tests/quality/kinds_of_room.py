"""Clips that are about the way to the microphone: room, distance, the loudspeaker itself."""

import numpy as np
from scipy import signal

from tests.quality import damage
from tests.quality.bounds import delay_bound_s
from tests.quality.rooms import ROOMS, out_of_doors, phone_loudspeaker
from tests.quality.scene import Scene
from tests.quality.songs import ENGINE_RATE, WORK_RATE, Song, SongKey, to_rate
from tests.quality.staging import Kind, whole


def _clean(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    scene = whole(song, key, rng)
    scene.hear(speaker=False)
    return scene


def _room(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    scene = whole(song, key, rng)
    scene.hear(strength)
    scene.self_noise()
    return scene


def _outdoors(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    """A small loudspeaker in the open; wind and handling stay as loud while the song gets fainter.

    Against the inverse square law of 6 dB a doubling; at 1 m the song stands 6 dB over the wind.
    """
    metres = float(strength.split()[0])
    scene = whole(song, key, rng)
    scene.hear()
    scene.arrive(
        signal.oaconvolve(scene.wave, out_of_doors(metres).astype(scene.wave.dtype))[: len(scene.wave)]
    )
    scene.add(damage.wind(len(scene.wave), rng), -6 + 20 * np.log10(metres))
    return scene


def _phone(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    """Playback from a telephone: narrow, distorted, and soft beside the noise of the room."""
    scene = whole(song, key, rng)
    drive, _, room = strength.partition(" in ")
    scene.room = room
    scene.arrive(scene.through(phone_loudspeaker(scene.playback, float(drive))))
    scene.add(damage.pink(len(scene.wave), rng), -6)
    return scene


def _noise(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    """A quarter minute in nothing but white noise, for comparing the error with the bound."""
    scene = Scene(song, key, 15.0, rng)
    scene.play(0.0, float(rng.uniform(0.3, 0.6)) * song.seconds, 15.0)
    scene.hear(speaker=False)
    noise = damage.at_level(damage.white(len(scene.wave), rng), scene.level, -float(strength))
    # What the engine is given holds the lower half of the band, and so half the power of the noise.
    seen = to_rate(scene.wave, WORK_RATE, ENGINE_RATE)
    scene.bound_s = delay_bound_s(seen, ENGINE_RATE, damage.rms(noise) / 2**0.5)
    scene.wave = scene.wave + noise
    return scene


ROOM: dict[str, Kind] = {
    "clean": Kind(_clean, ("open air",)),
    "room": Kind(_room, tuple(ROOMS)),
    "outdoors": Kind(_outdoors, ("2 m", "6 m", "20 m")),
    "phone": Kind(_phone, ("1.5 in booth-1m", "3 in garage-4m", "3 in cellar-6m")),
    "noise": Kind(_noise, ("-5", "-15")),
}
