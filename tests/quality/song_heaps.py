"""One heap of clips of several songs, and clips shot to playback files, with their truths."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from tests.quality import damage
from tests.quality.band import drums
from tests.quality.clock import play
from tests.quality.instruments import talk
from tests.quality.scene import Example, Scene, Take
from tests.quality.songs import ENGINE_RATE, WORK_RATE, Song, SongKey, composed, to_rate
from tests.quality.staging import begins, usual
from tests.quality.stretching import stretched
from tests.quality.studio import MORE_GUITAR, ROUGH

HEAPS = ("band", "mixes", "loops")


@dataclass(frozen=True, slots=True, eq=False)
class HeapClip:
    """A clip, and what runs in it."""

    name: str
    example: Example
    takes: tuple[tuple[str, Take], ...]
    """Name of the song with each take; none where no song runs."""


def songs_of(heap: str, seed: int) -> dict[str, Song]:
    """Three songs: of one band, in one key and at one pace; two mixes of one song and another; or electronic
    ones, two mixes among them, that all use the same drum machine."""
    if heap == "band":
        styles = ("rock", "pop", "waltz")
        return {
            style: composed(style, seed + 30 * number, short=True, theme=seed)
            for number, style in enumerate(styles)
        }
    if heap == "mixes":
        return {
            "master": composed("rock", seed, short=True),
            "rough": composed("rock", seed, short=True, mix=ROUGH),
            "sister": composed("rock", seed + 100, short=True, theme=seed),
        }
    return {
        "loops": composed("loops", seed, short=True),
        "guitar": composed("loops", seed, short=True, mix=MORE_GUITAR),
        "sister": composed("loops", seed + 100, short=True, theme=seed),
    }


def heap_clips(heap: str, seed: int, count: int) -> Iterator[HeapClip]:
    """Clips of a heap: of one song each, but every sixth rolls through two, and every tenth has none."""
    songs = songs_of(heap, seed)
    names = list(songs)
    for number in range(count):
        rng = np.random.default_rng((seed, number, HEAPS.index(heap)))
        name = names[number % len(names)]
        key = SongKey("rock", seed, True)
        if number % 10 == 9:
            yield HeapClip(f"{number} none", _talk(songs[name], key, rng), ())
            continue
        one = _scene(songs[name], key, rng)
        takes = [(name, take) for take in one.takes]
        if number % 6 == 5:
            after = names[(number + 1) % len(names)]
            two = _scene(songs[after], key, rng)
            at = len(one.wave) / WORK_RATE
            one.wave = np.concatenate([one.wave / damage.rms(one.wave), two.wave / damage.rms(two.wave)])
            one.takes += [take.moved(at) for take in two.takes]
            takes += [(after, take) for take in one.takes[len(takes) :]]
        example = one.example()
        told = tuple((song, take) for (song, _), take in zip(takes, example.takes, strict=True))
        yield HeapClip(f"{number} {'+'.join(song for song, _ in told)}", example, told)


def _scene(song: Song, key: SongKey, rng: np.random.Generator) -> Scene:
    length = float(rng.uniform(12, min(50, song.seconds)))
    scene = Scene(song, key, length + float(rng.uniform(3, 8)), rng)
    scene.play(float(rng.uniform(1, 3)), begins(scene, length), length, 1 + float(rng.normal(0, 20e-6)))
    return usual(scene)


def _talk(song: Song, key: SongKey, rng: np.random.Generator) -> Example:
    scene = Scene(song, key, 20.0, rng)
    words = talk(20.0, WORK_RATE, rng, float(rng.uniform(100, 220)))
    scene.wave = words + damage.at_level(damage.pink(len(words), rng), damage.rms(words), -15)
    return scene.example()


def playback_of(song: Song, speed: float, way: str, lead_s: float = 2.0) -> tuple[Song, float]:
    """A playback file of a whole song, its pitch kept at ``speed`` and silence before it, as a song of its
    own; and song time at its first sample."""
    count = int(song.seconds / speed * WORK_RATE)
    if way == "along":
        wave, off_s = play(song.room_feed, 0.0, speed, count), 0.0
    else:
        wave, off_s = stretched(song.room_feed, 0, speed, count, way)
    silence = np.zeros(int(lead_s * WORK_RATE), np.float32)
    feed = np.concatenate([silence, wave]).astype(np.float32)
    played = replace(
        song,
        name=f"{song.name} at {speed} ({way})",
        room_feed=feed,
        master=to_rate(feed, WORK_RATE, ENGINE_RATE).astype(np.float32),
        beats_s=song.beats_s / speed + lead_s,
        tune=(),
        twins=(),
    )
    return played, off_s - lead_s * speed


def playback_clips(played: Song, seed: int, count: int) -> Iterator[HeapClip]:
    """Clips shot to a playback file; takes are in its own time."""
    key = SongKey("rock", seed, True)
    for number in range(count):
        rng = np.random.default_rng((seed, number, 4))
        length = float(rng.uniform(12, 45))
        scene = Scene(played, key, length + 5, rng)
        speed = 1 + float(rng.normal(0, 20e-6))
        scene.play(float(rng.uniform(1, 3)), begins(scene, length), length, speed)
        scene.hear(scene.any_room())
        scene.add(damage.pink(len(scene.wave), scene.rng), -12)
        scene.add(drums(scene), -6)
        example = scene.example()
        yield HeapClip(f"{number}", example, tuple(("playback", take) for take in example.takes))
