"""The kinds of clip that hold takes, each in several strengths, truth exact by construction."""

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from tests.quality import damage
from tests.quality.bounds import delay_bound_s
from tests.quality.instruments import Wave, mix, talk
from tests.quality.kit import drummer
from tests.quality.scene import Scene
from tests.quality.songs import ENGINE_RATE, WORK_RATE, Song, SongKey, to_rate
from tests.quality.studio import Note, Studio

Builder = Callable[[Song, SongKey, str, np.random.Generator], Scene]


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of clip: how it is made, in which strengths (the unit is the kind's own)."""

    build: Builder
    strengths: tuple[str, ...]
    must_doubt: bool = False
    """True where no method can tell the place, so that only a doubt is right."""


def _whole(song: Song, key: SongKey, rng: np.random.Generator, speed: float = 1.0) -> Scene:
    """The whole song in a clip, with seconds of nothing before and after."""
    before, after = rng.uniform(1, 6, 2)
    scene = Scene(song, key, before + song.seconds / speed + after, rng)
    scene.play(before, 0.0, np.inf, speed)
    return scene


def _usual(scene: Scene) -> Scene:
    """The usual conditions where a kind is about something else: some room, noise, a little band."""
    scene.hear(scene.any_room())
    scene.add(damage.pink(len(scene.wave), scene.rng), -12)
    scene.add(_band_drums(scene), -6)
    return scene


def _band_drums(scene: Scene) -> Wave:
    """The band's drummer playing to every take, and slowly on between them, through the room."""
    beats: list[float] = []
    first = 0
    song, rng = scene.song, scene.rng
    grid = song.beats_s if len(song.beats_s) > 8 else np.arange(0, song.seconds, 0.52)
    for take in scene.takes:
        at = take.clip_start_s + (grid - take.song_start_s) / take.speed
        inside = (at > take.clip_start_s) & (at < take.clip_end_s)
        if not beats and inside.any():
            first = int(np.argmax(inside)) % song.beats_per_bar
        beats.extend(at[inside])
    dry = drummer(scene.seconds, WORK_RATE, np.asarray(beats), first, song.beats_per_bar, rng)
    return scene.through(dry + 1e-6 * damage.white(len(dry), rng), drums=True)


def _clean(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    scene = _whole(song, key, rng)
    scene.hear(speaker=False)
    return scene


def _room(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    scene = _whole(song, key, rng)
    scene.hear(strength)
    scene.self_noise()
    return scene


def _drums(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    scene = _whole(song, key, rng)
    scene.hear(scene.any_room())
    scene.add(_band_drums(scene), float(strength))
    scene.self_noise()
    return scene


def _singer(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    """Somebody sings along near the camera: 40 to 150 ms late and up to half a semitone off."""
    scene = _whole(song, key, rng)
    scene.hear(scene.any_room())
    studio = Studio(int(rng.integers(1 << 30)), 1, False, 1, rate=WORK_RATE)
    studio.seconds = scene.seconds
    tune = song.tune or tuple(
        Note(float(t), 0.8, float(rng.integers(55, 72))) for t in np.arange(1, song.seconds - 2, 1.1)
    )
    start = scene.takes[0].clip_start_s
    sung = [
        Note(start + n.start_s + rng.uniform(0.04, 0.15), n.seconds, n.midi + rng.uniform(-0.5, 0.5))
        for n in tune
    ]
    studio.sing(sung)
    scene.add(scene.through(studio.buses["voice"], drums=True), float(strength))
    scene.self_noise()
    return scene


def _wind(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    scene = _whole(song, key, rng)
    scene.hear()
    scene.add(damage.wind(len(scene.wave), rng), float(strength))
    return scene


def _gain(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    scene = _usual(_whole(song, key, rng))
    scene.wave = damage.automatic_gain(scene.wave, 1.2, float(strength))
    return scene


def _clipping(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    scene = _usual(_whole(song, key, rng))
    scene.wave = damage.clipped(scene.wave, float(strength))
    return scene


def _hum(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    scene = _usual(_whole(song, key, rng))
    scene.add(damage.hum(len(scene.wave), float(rng.choice([50.0, 60.0]))), float(strength))
    return scene


def _clock(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    return _usual(_whole(song, key, rng, 1 + float(strength) * 1e-6))


def _speed(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    return _usual(_whole(song, key, rng, float(Fraction(strength))))


def _pick_up(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    """A short take of one passage, with a few seconds of the room before and after."""
    length, before, after = float(strength), *rng.uniform(1, 5, 2)
    scene = Scene(song, key, before + length + after, rng)
    scene.play(before, float(rng.uniform(2, song.seconds - length - 4)), length)
    return _usual(scene)


def _mid_song(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    """The player starts somewhere in the song and runs to its end."""
    begin = float(rng.uniform(0.25, 0.6)) * song.seconds
    scene = Scene(song, key, song.seconds - begin + 7, rng)
    scene.play(3.3, begin, np.inf)
    return _usual(scene)


def _restart(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    """A false start, a talk about it, then from the top."""
    false_start, pause = float(strength), float(rng.uniform(5, 15))
    scene = Scene(song, key, 2 + false_start + pause + song.seconds + 2, rng)
    scene.play(1.7, 0.0, false_start)
    scene.play(1.7 + false_start + pause, 0.0, np.inf)
    _usual(scene)
    words = np.zeros(len(scene.wave))
    mix(words, 1.9 + false_start, WORK_RATE, talk(pause, WORK_RATE, rng, float(rng.uniform(90, 220))))
    scene.add(words + 1e-6, -3)
    return scene


def _cut_short(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    """The camera is stopped at 0.3 of the song; at 0.6 the player is, and the room goes on for a while."""
    length = float(strength) * song.seconds
    scene = Scene(song, key, 2.6 + length + (25 if strength == "0.6" else 0), rng)
    scene.play(2.6, 0.0, length)
    return _usual(scene)


def _chatter(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    """People talk before and after, as loud as the playback."""
    around = float(strength)
    scene = Scene(song, key, song.seconds + 2 * around, rng)
    scene.play(around - 0.4, 0.0, np.inf)
    _usual(scene)
    words = talk(scene.seconds, WORK_RATE, rng, float(rng.uniform(90, 220)))
    words[round(around * WORK_RATE) : round((around + song.seconds) * WORK_RATE)] *= 0.05
    scene.add(words, -6)
    return scene


def _thrice(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    """One passage of 25 s shot three times in one clip."""
    begin = float(rng.uniform(5, song.seconds - 32))
    scene = Scene(song, key, 3 * 32.0 + 4, rng)
    for again in range(3):
        scene.play(3.0 + 32.0 * again + float(rng.uniform(0, 3)), begin, 25.0)
    return _usual(scene)


def _codec(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    scene = _usual(_whole(song, key, rng))
    scene.wave = damage.lossy(scene.wave, int(strength))
    return scene


def _gated(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    scene = _usual(_whole(song, key, rng))
    scene.wave = damage.voice_optimised(scene.wave)
    return scene


def _dropped(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    """So many samples (of 48 000 a second) are missing in the middle of the take."""
    scene = _usual(_whole(song, key, rng))
    scene.lose(round(0.58 * scene.seconds * 100) / 100, float(strength) / 48000)
    return scene


def _tracks(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    """Two tracks: a microphone on somebody who talks, louder than all else, and the camera's own."""
    scene = _usual(_whole(song, key, rng))
    words = talk(scene.seconds + 1, WORK_RATE, rng, float(rng.uniform(90, 220)))[: len(scene.wave)]
    scene.other_track = words + damage.at_level(damage.pink(len(words), rng), damage.rms(words), -40)
    return scene


def _bad_day(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    """Everything at once: a drifting recorder, drums, a talk, gain riding, clipping, a poor coder."""
    scene = _whole(song, key, rng, 1 + float(rng.uniform(-150, 150)) * 1e-6)
    scene.hear(scene.any_room())
    scene.add(_band_drums(scene), float(strength))
    scene.add(talk(scene.seconds, WORK_RATE, rng), -3)
    scene.self_noise(15)
    scene.wave = damage.clipped(damage.automatic_gain(scene.wave, 1.0, 30), 0.02)
    scene.wave = damage.lossy(scene.wave, 48)
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


def _twin(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    """A pick-up from inside a passage that the song repeats to the sample."""
    twins = [twin for twin in song.twins if twin.seconds > 6]
    twin = twins[int(rng.integers(len(twins)))]
    length = min(float(strength), twin.seconds - 1)
    inside = float(rng.uniform(0.3, twin.seconds - length - 0.3))
    scene = Scene(song, key, length, rng)
    scene.play(0.0, (twin.first_s, twin.second_s)[int(rng.integers(2))] + inside, length)
    scene.hear("garage-2m")
    scene.self_noise(20)
    return scene


KINDS: dict[str, Kind] = {
    "clean": Kind(_clean, ("open air",)),
    "room": Kind(_room, ("garage-2m", "cellar-6m", "hall-15m", "church-12m", "church-20m", "stage-9m")),
    "drums": Kind(_drums, ("6", "12", "20")),
    "singer": Kind(_singer, ("0", "10")),
    "wind": Kind(_wind, ("0", "10", "20")),
    "gain": Kind(_gain, ("20", "40")),
    "clipping": Kind(_clipping, ("0.1", "0.4")),
    "hum": Kind(_hum, ("0", "20")),
    "clock": Kind(_clock, ("20", "-20", "100", "-100", "300", "-300")),
    "pick-up": Kind(_pick_up, ("30", "15", "8", "5")),
    "mid-song": Kind(_mid_song, ("to the end",)),
    "restart": Kind(_restart, ("10", "30")),
    "cut short": Kind(_cut_short, ("0.3", "0.6")),
    "chatter": Kind(_chatter, ("10", "40")),
    "thrice": Kind(_thrice, ("25",)),
    "pull-down": Kind(_speed, ("1001/1000", "1000/1001")),
    "film speed": Kind(_speed, ("25/24", "24/25")),
    "fast": Kind(_speed, ("2", "5/4", "5/2", "8/5", "1/2")),
    "codec": Kind(_codec, ("64", "32")),
    "gated": Kind(_gated, ("on",)),
    "dropped": Kind(_dropped, ("480",)),
    "two tracks": Kind(_tracks, ("talk first",)),
    "bad day": Kind(_bad_day, ("6", "12")),
    "noise": Kind(_noise, ("-5", "-15")),
    "twin": Kind(_twin, ("8", "5"), must_doubt=True),
}
