"""Clips in which the song is not played: the only right answer is that there is none."""

from collections.abc import Callable

import numpy as np
from scipy.signal import correlate

from audio.whitening import whiten
from tests.quality import band, damage
from tests.quality.instruments import mix, talk
from tests.quality.kit import Kit, drummer
from tests.quality.scene import Scene
from tests.quality.songs import ENGINE_RATE, WORK_RATE, Song, SongKey
from tests.quality.stretching import WAYS

OTHER_MIX = 0.2
"""Likeness of two whitened songs; songs that only share a drum kit or a piano stay under 0.05."""

Refusal = Callable[[Song, SongKey, np.random.Generator], Scene | None]


def _empty(song: Song, key: SongKey, rng: np.random.Generator, seconds: float = 0.0) -> Scene:
    scene = Scene(song, key, seconds or float(rng.uniform(20, 90)), rng)
    scene.room = scene.any_room()
    return scene


def _talk(song: Song, key: SongKey, rng: np.random.Generator) -> Scene:
    scene = _empty(song, key, rng)
    for pitch in (110.0, 200.0):
        scene.add(scene.through(talk(scene.seconds, WORK_RATE, rng, pitch), drums=True), 0)
    scene.add(damage.pink(len(scene.wave), rng), -30)
    return scene


def _room_tone(song: Song, key: SongKey, rng: np.random.Generator) -> Scene:
    scene = _empty(song, key, rng)
    scene.wave = damage.room_tone(len(scene.wave), rng)
    return scene


def _wind(song: Song, key: SongKey, rng: np.random.Generator) -> Scene:
    scene = _empty(song, key, rng)
    scene.wave = damage.wind(len(scene.wave), rng)
    return scene


def _silence(song: Song, key: SongKey, rng: np.random.Generator) -> Scene:
    """Digital silence but for the last bit."""
    scene = _empty(song, key, rng)
    scene.wave = 1e-12 * damage.white(len(scene.wave), rng)
    return scene


def _tones(song: Song, key: SongKey, rng: np.random.Generator) -> Scene:
    """Somebody tunes up: long steady tones of one pitch after the other, with hum under it."""
    scene = _empty(song, key, rng)
    t = np.arange(len(scene.wave)) / WORK_RATE
    for at in np.arange(0, scene.seconds, 6):
        tone = float(rng.choice([440.0, 1000.0, 196.0, 146.83, 329.63]))
        scene.wave = scene.wave + np.sin(2 * np.pi * tone * t) * ((t > at) & (t < at + 5))
    scene.add(damage.hum(len(t), 50.0), 10)
    return scene


def _warm_up(song: Song, key: SongKey, rng: np.random.Generator) -> Scene:
    """The drummer warms up, at the song's tempo but to no song."""
    scene = _empty(song, key, rng)
    beat = float(np.median(np.diff(song.beats_s))) if len(song.beats_s) > 8 else 0.5
    beats = np.arange(1.0, scene.seconds, beat)
    dry = drummer(scene.seconds, WORK_RATE, beats, 0, song.beats_per_bar, rng)
    kit = Kit(WORK_RATE, int(rng.integers(1 << 30)))
    for at in rng.uniform(0, scene.seconds, int(scene.seconds)):
        mix(dry, float(at), WORK_RATE, kit.hit(str(rng.choice(["snare", "tom", "kick", "floor tom"]))))
    scene.wave = scene.through(dry, drums=True)
    return scene


def _shown(other: Song, key: SongKey, rng: np.random.Generator, seconds: float = 0.0) -> Scene:
    """Another song over the loudspeaker of a room, as a take of it; whole if no length is asked for."""
    seconds = min(seconds or np.inf, other.seconds)
    scene = Scene(other, key, seconds, rng)
    scene.play(0.0, float(rng.uniform(0, other.seconds - seconds)), seconds)
    scene.hear(scene.any_room())
    scene.self_noise()
    return scene


def _played(other: Song, key: SongKey, rng: np.random.Generator, seconds: float = 0.0) -> Scene:
    """The same, and nothing of the song in it."""
    scene = _shown(other, key, rng, seconds)
    scene.takes = []
    return scene


def _other_mix(song: Song, other: Song) -> bool:
    """Whether two songs share so many samples at one lag that the one is another mix of the other.

    Two songs laid out from one set of machine-made loops are; wherever they agree, the place is right.
    """
    one, two = whiten(song.master, ENGINE_RATE), whiten(other.master, ENGINE_RATE)
    alike = np.abs(correlate(one, two, "full", "fft")).max()
    return bool(alike > OTHER_MIX * np.sqrt((one @ one) * (two @ two)))


def _second_song(song: Song, key: SongKey, rng: np.random.Generator) -> Scene | None:
    """The other song of a shoot of two, with everything that goes with a take: band, talk, count-in."""
    other = key.neighbour()
    if _other_mix(song, other):
        return None
    scene = _shown(other, key, rng, float(rng.uniform(20, 80)))
    scene.add(band.drums(scene), 6)
    scene.add(band.guitars(scene), 0)
    scene.add(band.speech(scene), -6)
    scene.takes = []
    return scene


def _sticks(song: Song, key: SongKey, rng: np.random.Generator) -> Scene:
    """Counted in again and again at the song's tempo, and nothing comes."""
    scene = _empty(song, key, rng)
    beat = float(np.median(np.diff(band.grid(song))))
    starts = np.arange(4 * beat + 0.5, scene.seconds, 4 * beat + float(rng.uniform(2, 6)))
    scene.add(band.counting(scene, starts.tolist(), beat), 0)
    scene.add(damage.pink(len(scene.wave), rng), -25)
    return scene


def _click(song: Song, key: SongKey, rng: np.random.Generator) -> Scene:
    """A click at the song's tempo from a loudspeaker."""
    scene = _empty(song, key, rng)
    beat = float(np.median(np.diff(band.grid(song))))
    dry = band.clicks(scene.seconds, np.arange(0.7, scene.seconds, beat), song.beats_per_bar)
    scene.add(scene.through(dry), 0)
    scene.add(damage.pink(len(scene.wave), rng), -20)
    return scene


def _tuning(song: Song, key: SongKey, rng: np.random.Generator) -> Scene:
    scene = _empty(song, key, rng)
    scene.add(scene.through(band.tuning(scene.seconds, rng), drums=True), 0)
    scene.add(damage.pink(len(scene.wave), rng), -25)
    return scene


def _talk_over_music(song: Song, key: SongKey, rng: np.random.Generator) -> Scene:
    """People talk and shout while some other music plays."""
    scene = _played(key.stranger(), key, rng, float(rng.uniform(20, 80)))
    scene.add(band.speech(scene), 3)
    scene.add(band.shouting(scene), 6)
    return scene


def _sister_fast(song: Song, key: SongKey, rng: np.random.Generator) -> Scene | None:
    """Another song of the same key at another speed, its pitch going along or kept."""
    sister = key.sister()
    if _other_mix(song, sister):
        return None
    speed = float(rng.choice([0.5, 24 / 25, 1001 / 1000, 1.25, 1.6, 2.0]))
    scene = Scene(sister, key, min(80.0, sister.seconds / speed), rng)
    scene.play(0.0, 0.0, np.inf, speed, str(rng.choice(["", *WAYS])))
    scene.hear(scene.any_room())
    scene.self_noise()
    scene.takes = []
    return scene


def _sister(song: Song, key: SongKey, rng: np.random.Generator) -> Scene | None:
    sister = key.sister()
    return None if _other_mix(song, sister) else _played(sister, key, rng)


def _sister_short(song: Song, key: SongKey, rng: np.random.Generator) -> Scene | None:
    sister = key.sister()
    if _other_mix(song, sister):
        return None
    return _played(sister, key, rng, float(rng.uniform(8, 40)))


def _stranger(song: Song, key: SongKey, rng: np.random.Generator) -> Scene:
    return _played(key.stranger(), key, rng)


def _band(song: Song, key: SongKey, rng: np.random.Generator) -> Scene | None:
    """The band rehearses another song of the same tempo, with a drummer and talk over it."""
    if _other_mix(song, key.sister()):
        return None
    scene = _played(key.sister(), key, rng)
    other = scene.song
    beats = other.beats_s if len(other.beats_s) else np.arange(0, other.seconds, 0.5)
    scene.add(
        scene.through(drummer(scene.seconds, WORK_RATE, beats, 0, other.beats_per_bar, rng), drums=True), 6
    )
    scene.add(scene.through(talk(scene.seconds, WORK_RATE, rng), drums=True), -3)
    return scene


def _played_again(song: Song, key: SongKey, rng: np.random.Generator) -> Scene | None:
    """The band plays this very song, but the playback is off: same notes, no sample in common."""
    again = key.played_again()
    return None if again is None else _played(again, key, rng)


REFUSALS: dict[str, Refusal] = {
    "no talk": _talk,
    "no room tone": _room_tone,
    "no wind": _wind,
    "no silence": _silence,
    "no tones": _tones,
    "no warm-up": _warm_up,
    "no count-in": _sticks,
    "no click": _click,
    "no tuning": _tuning,
    "no second song": _second_song,
    "no talk over music": _talk_over_music,
    "no sister song": _sister,
    "no sister other speed": _sister_fast,
    "no piece of sister": _sister_short,
    "no other song": _stranger,
    "no band other song": _band,
    "no played again": _played_again,
}
