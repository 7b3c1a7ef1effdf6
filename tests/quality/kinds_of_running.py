"""Clips that are about how the playback runs in them: whole, in part, again, stopped, gone on with."""

import numpy as np

from tests.quality import band, damage
from tests.quality.scene import Scene
from tests.quality.songs import Song, SongKey
from tests.quality.staging import Kind, begins, usual


def _pick_up(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    length = float(strength)
    scene = Scene(song, key, length + 9, rng)
    scene.play(float(rng.uniform(2, 6)), begins(scene, length), length)
    return usual(scene)


def _mid_song(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    """The camera is switched on while the song runs."""
    begin = float(rng.uniform(0.25, 0.5)) * song.seconds
    scene = Scene(song, key, song.seconds - begin + 4, rng)
    scene.play(0.0, begin, np.inf)
    return usual(scene)


def _restart(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    """So many seconds of a false start, a pause, then the whole song."""
    first, pause = float(strength), float(rng.uniform(2, 8))
    scene = Scene(song, key, 2 + first + pause + song.seconds + 3, rng)
    scene.play(2.0, 0.0, first)
    scene.play(2.0 + first + pause, 0.0, np.inf)
    return usual(scene)


def _cut_short(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    """The song is stopped at a share of its length, the camera rolls on."""
    length = float(strength) * song.seconds
    scene = Scene(song, key, 3 + length + 25, rng)
    scene.play(3.0, 0.0, length)
    return usual(scene)


def _again(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    """One passage again and again in one clip: how often x how many seconds."""
    times, length = map(int, strength.split(" x "))
    scene = Scene(song, key, times * (length + 7.0) + 4, rng)
    begin = begins(scene, length)
    for turn in range(times):
        scene.play(3.0 + (length + 7.0) * turn + float(rng.uniform(0, 3)), begin, length)
    return usual(scene)


def _starts(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    """So many starts anywhere in the song, in any order, with 1.5 to 10 s between them."""
    lengths = rng.uniform(9, min(35, 0.6 * song.seconds), int(strength))
    rests = rng.uniform(1.5, 10, int(strength))
    scene = Scene(song, key, float(lengths.sum() + rests.sum() + 4), rng)
    at = 2.0
    for length, rest in zip(lengths, rests, strict=True):
        scene.play(at, begins(scene, length), float(length))
        at += float(length + rest)
    return usual(scene)


def _short_takes(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    """So many short takes of passages anywhere in the song, as for pick-ups, with talk between them."""
    lengths = rng.uniform(4, 12, int(strength))
    rests = rng.uniform(1.5, 6, int(strength))
    scene = Scene(song, key, float(lengths.sum() + rests.sum() + 4), rng)
    at = 2.0
    for length, rest in zip(lengths, rests, strict=True):
        scene.play(at, begins(scene, length), float(length))
        at += float(length + rest)
    return usual(scene)


def _paused(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    """The song is paused for so many seconds and goes on where it stopped."""
    rest, stop = float(strength), float(rng.uniform(0.3, 0.7)) * song.seconds
    scene = Scene(song, key, song.seconds + rest + 6, rng)
    scene.play(2.0, 0.0, stop)
    scene.play(2.0 + stop + rest, stop, np.inf)
    return usual(scene)


def _talked_over(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    """Somebody talks loudly over the song, which is cut off under the talk, and goes on talking."""
    length = float(rng.uniform(0.3, 0.7)) * song.seconds
    scene = Scene(song, key, 3 + length + 20, rng)
    scene.play(3.0, 0.0, length)
    usual(scene)
    words = band.speech(scene)
    words[: int(len(words) * 0.25)] = 0.0
    scene.add(words, float(strength))
    return scene


def _long_camera(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    """A camera left to roll for so many minutes, three takes in it, rehearsing and talk between them."""
    seconds = 60 * float(strength)
    scene = Scene(song, key, seconds, rng)
    for turn, length in enumerate((np.inf, 0.5 * song.seconds, np.inf)):
        at = (0.05 + turn / 3) * seconds + float(rng.uniform(0, 0.05)) * seconds
        scene.play(at, 0.0 if turn != 1 else begins(scene, length), length)
    scene.hear(scene.any_room())
    scene.add(damage.pink(len(scene.wave), rng), -12)
    scene.add(np.resize(band.drums(_minutes(scene, 5)), len(scene.wave)), 0)
    scene.add(np.resize(band.speech(_minutes(scene, 5)), len(scene.wave)), -3)
    return scene


def _minutes(scene: Scene, minutes: int) -> Scene:
    """Some minutes of the same place: what people do there for hours is made of them."""
    part = Scene(scene.song, scene.key, min(scene.seconds, 60.0 * minutes), scene.rng, takes=scene.takes[:1])
    part.room = scene.room
    return part


def _twin(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene | None:
    """A pick-up from inside a passage that the song repeats to the sample."""
    twins = [twin for twin in song.twins if twin.seconds > 6]
    if not twins:
        return None
    twin = twins[int(rng.integers(len(twins)))]
    length = min(float(strength), twin.seconds - 1)
    inside = float(rng.uniform(0.3, twin.seconds - length - 0.3))
    scene = Scene(song, key, length, rng)
    scene.play(0.0, (twin.first_s, twin.second_s)[int(rng.integers(2))] + inside, length)
    scene.hear("garage-2m")
    scene.self_noise(20)
    return scene


RUNNING: dict[str, Kind] = {
    "pick-up": Kind(_pick_up, ("30", "15", "8", "5", "3")),
    "mid-song": Kind(_mid_song, ("to the end",)),
    "restart": Kind(_restart, ("10", "30")),
    "cut short": Kind(_cut_short, ("0.3", "0.6")),
    "again": Kind(_again, ("3 x 25", "5 x 16")),
    "starts": Kind(_starts, ("3", "5")),
    "short takes": Kind(_short_takes, ("4", "10")),
    "paused": Kind(_paused, ("2", "6", "20")),
    "talked over": Kind(_talked_over, ("6", "12")),
    "long camera": Kind(_long_camera, ("20", "40"), long=True),
    "twin": Kind(_twin, ("8", "5"), must_doubt=True, styles=("pop", "loops")),
}
