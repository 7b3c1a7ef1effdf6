"""How faint the playback may be: clips of 4, 10 and 30 s at falling levels under drums, shouts and noise."""

import numpy as np

from tests.quality import damage
from tests.quality.bounds import NEAR_TWIN
from tests.quality.instruments import talk
from tests.quality.kit import drummer
from tests.quality.scene import Scene
from tests.quality.songs import WORK_RATE, Song, SongKey

LEVEL_KIND = "level"
LENGTHS = (4, 10, 30)
LEVELS = (-5, -10, -15, -20, -25, -30)
STRENGTHS = tuple(f"{length} s at {level} dB" for length in LENGTHS for level in LEVELS)


def level_scene(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    """Playback under equal parts of drums, shouts and pink noise; not from a passage with a near twin."""
    words = strength.split()
    length, level = float(words[0]), float(words[3])
    scene = Scene(song, key, length, rng)
    for _ in range(8):
        scene.playback[:], scene.takes = 0.0, []
        scene.play(0.0, float(rng.uniform(1, song.seconds - length - 3)), length)
        if scene.takes[0].likeness < NEAR_TWIN:
            break
    scene.hear("garage-2m")
    grid = song.beats_s if len(song.beats_s) > 8 else np.arange(0, song.seconds, 0.5)
    beats = grid - scene.takes[0].song_start_s
    beats = beats[(beats > -0.01) & (beats < length + 0.6)]
    dry = drummer(length, WORK_RATE, beats, 0, song.beats_per_bar, rng)
    shouts = talk(length, WORK_RATE, rng, 260.0)
    for part in (
        scene.through(dry, drums=True),
        scene.through(shouts, drums=True),
        damage.pink(len(scene.wave), rng),
    ):
        scene.add(part, -level - 10 * np.log10(3))
    return scene
