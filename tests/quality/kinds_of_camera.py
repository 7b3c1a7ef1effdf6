"""Clips whose camera or recorder is the trouble: gain, coder, clock, tracks, lost sound."""

import numpy as np

from tests.quality import band, damage
from tests.quality.clock import play
from tests.quality.scene import Scene
from tests.quality.songs import WORK_RATE, Song, SongKey
from tests.quality.staging import Kind, usual, whole


def _gain(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    scene = usual(whole(song, key, rng))
    scene.wave = damage.automatic_gain(scene.wave, 1.2, float(strength))
    return scene


def _clipping(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    scene = usual(whole(song, key, rng))
    scene.wave = damage.clipped(scene.wave, float(strength))
    return scene


def _clock(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    return usual(whole(song, key, rng, 1 + float(strength) * 1e-6))


def _codec(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    scene = usual(whole(song, key, rng))
    scene.wave = damage.lossy(scene.wave, int(strength))
    return scene


def _gated(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    scene = usual(whole(song, key, rng))
    scene.wave = damage.voice_optimised(scene.wave)
    return scene


def _dropped(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    """So many samples (of 48 000 a second) are missing in the middle of the take."""
    scene = usual(whole(song, key, rng))
    scene.lose(round(0.58 * scene.seconds * 100) / 100, float(strength) / 48000)
    return scene


def _dropouts(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    """A bad radio link: so many times a minute the sound is gone for 20 to 400 ms."""
    scene = usual(whole(song, key, rng))
    scene.wave = damage.dropouts(scene.wave, float(strength), rng)
    return scene


def _paused_recorder(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    """The recorder was stopped for so many seconds while the song went on."""
    scene = usual(whole(song, key, rng))
    scene.pause_recorder(float(rng.uniform(0.35, 0.55)) * scene.seconds, float(strength))
    return scene


def _two_tracks(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    """Two tracks: a microphone on somebody who talks, louder than all else, and the camera's own."""
    scene = usual(whole(song, key, rng))
    room, scene.room = scene.room, ""
    words = band.speech(scene)[: len(scene.wave)]
    scene.room = room
    words = words + damage.at_level(damage.pink(len(words), rng), damage.rms(words), -40)
    scene.other_tracks = (damage.at_level(words, damage.rms(scene.wave), 6),)
    return scene


def _channels(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    """Two channels of one camera of which one, or the way they go together, is out of order."""
    scene = usual(whole(song, key, rng))
    n, level = len(scene.wave), damage.rms(scene.wave)
    own = damage.at_level(damage.pink(n, rng), level, -8 if "opposite" in strength else -100)
    if strength == "one opposite":
        scene.other_tracks = (own - scene.wave,)
    elif strength == "both opposite":
        scene.wave = -scene.wave
        scene.other_tracks = (own + scene.wave,)
    elif strength == "timecode":
        tone = damage.timecode(n, 25, int(rng.integers(1 << 20)))
        scene.other_tracks = (damage.at_level(tone, level, 10),)
    else:
        scene.other_tracks = (own,)
    return scene


def _bad_day(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    """Everything at once: a drifting recorder, drums, a talk, gain riding, clipping, a poor coder."""
    scene = whole(song, key, rng, 1 + float(rng.uniform(-150, 150)) * 1e-6)
    scene.hear(scene.any_room())
    scene.add(band.drums(scene), float(strength))
    scene.add(band.speech(scene), -3)
    scene.self_noise(15)
    scene.wave = damage.clipped(damage.automatic_gain(scene.wave, 1.0, 30), 0.02)
    scene.wave = damage.lossy(scene.wave, 48)
    return scene


def _two_cameras(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    """One moment on two cameras at different places: one playback, one band, two clocks, two coders.

    The second stands farther away and rolls later. What the sound needs to each of them is taken off: the
    truth of both is the direct sound.
    """
    near, far = strength.split(" and ")
    scene = whole(song, key, rng)
    dry = band.drums(scene)  # no room yet: as played
    words = band.speech(scene)
    places = []
    for place in (near, far):
        here = Scene(song, key, scene.seconds, rng, takes=list(scene.takes))
        here.playback = scene.playback
        here.hear(place)
        here.add(here.through(dry, drums=True), 6)
        here.add(here.through(words, drums=True), -6)
        here.self_noise(20)
        places.append(here)
    first, second = places
    cut = round(float(rng.uniform(0.2, 0.9)) * WORK_RATE)
    speed = 1 + float(rng.uniform(-60, 60)) * 1e-6
    second.wave = play(second.wave, cut / WORK_RATE, speed, int((len(second.wave) - cut) / speed) - 1)
    take = second.takes[0]
    second.takes = [
        second.truth(
            (take.clip_start_s - cut / WORK_RATE) / speed,
            (take.clip_end_s - cut / WORK_RATE) / speed,
            take.song_start_s,
            speed,
        )
    ]
    first.wave = damage.automatic_gain(first.wave, 1.2, 20)
    first.partner = second
    return first


CAMERA: dict[str, Kind] = {
    "gain": Kind(_gain, ("20", "40")),
    "clipping": Kind(_clipping, ("0.1", "0.4")),
    "clock": Kind(_clock, ("20", "-20", "100", "-100", "300", "-300")),
    "codec": Kind(_codec, ("64", "32", "24")),
    "gated": Kind(_gated, ("on",)),
    "dropped": Kind(_dropped, ("480",)),
    "dropouts": Kind(_dropouts, ("6", "30")),
    "recorder paused": Kind(_paused_recorder, ("2", "7")),
    "two tracks": Kind(_two_tracks, ("talk first",)),
    "channels": Kind(_channels, ("one dead", "one opposite", "both opposite", "timecode")),
    "bad day": Kind(_bad_day, ("6", "12")),
    "two cameras": Kind(
        _two_cameras, ("garage-2m and garage-4m", "cellar-3m and cellar-6m", "church-6m and church-20m")
    ),
}
