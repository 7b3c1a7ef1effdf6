"""Clips in which something else sounds beside the playback: the band, the crew, the weather."""

import numpy as np

from tests.quality import band, damage
from tests.quality.instruments import mix, talk
from tests.quality.scene import Scene
from tests.quality.songs import WORK_RATE, Song, SongKey
from tests.quality.staging import Kind, usual, whole


def _drums(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    scene = whole(song, key, rng)
    scene.hear(scene.any_room())
    scene.add(band.drums(scene), float(strength))
    scene.self_noise()
    return scene


def _singer(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    scene = whole(song, key, rng)
    scene.hear(scene.any_room())
    scene.add(band.singing(scene), float(strength))
    scene.self_noise()
    return scene


def _guitars(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    scene = whole(song, key, rng)
    scene.hear(scene.any_room())
    scene.add(band.guitars(scene), float(strength))
    scene.self_noise()
    return scene


def _real_band(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    """All of them at once, the drummer loudest."""
    scene = whole(song, key, rng)
    scene.hear(scene.any_room())
    for player, below_db in ((band.drums, 0.0), (band.guitars, 3.0), (band.singing, 6.0)):
        scene.add(player(scene), float(strength) - below_db)
    scene.self_noise()
    return scene


def _shouting(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    scene = usual(whole(song, key, rng))
    scene.add(band.shouting(scene), float(strength))
    return scene


def _count_in(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    """Somebody counts in before the song; the sticks go on if the strength says so."""
    scene = whole(song, key, rng)
    scene.hear(scene.any_room())
    beat = float(np.median(np.diff(band.grid(song))))
    level, _, how = strength.partition(" ")
    scene.add(band.counting(scene, [scene.takes[0].clip_start_s], beat, how == "all through"), float(level))
    scene.self_noise()
    return scene


def _chatter(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    """A rolling camera: talk and drumming for a long while before and after the take."""
    around = float(strength)
    scene = Scene(song, key, song.seconds + 2 * around, rng)
    scene.play(around + float(rng.uniform(0, 1)), 0.0, np.inf)
    scene = usual(scene)
    noise = talk(around - 1, WORK_RATE, rng, float(rng.uniform(90, 220)))
    both = np.zeros(len(scene.wave))
    mix(both, 0, WORK_RATE, scene.through(noise, drums=True))
    mix(both, song.seconds + around + 1, WORK_RATE, scene.through(noise[::-1].copy(), drums=True))
    scene.add(both, 6)
    return scene


def _wind(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    scene = whole(song, key, rng)
    scene.hear()
    scene.add(damage.wind(len(scene.wave), rng), float(strength))
    return scene


def _hum(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    scene = usual(whole(song, key, rng))
    scene.add(damage.hum(len(scene.wave), float(rng.choice([50.0, 60.0]))), float(strength))
    return scene


COMPANY: dict[str, Kind] = {
    "drums": Kind(_drums, ("6", "12", "20")),
    "singer": Kind(_singer, ("0", "10")),
    "guitars": Kind(_guitars, ("0", "10", "20")),
    "band": Kind(_real_band, ("6", "12", "20")),
    "shouting": Kind(_shouting, ("10", "20")),
    "count-in": Kind(_count_in, ("6", "16", "10 all through")),
    "chatter": Kind(_chatter, ("10", "40")),
    "wind": Kind(_wind, ("0", "10", "20")),
    "hum": Kind(_hum, ("0", "20")),
}
