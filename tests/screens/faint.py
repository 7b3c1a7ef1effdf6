"""Clips that the sample shoot has none of: in doubt, because the song is all but drowned in them."""

from pathlib import Path

import numpy as np
import soundfile

SAMPLE = Path(__file__).parent.parent.parent / "sample_media"
FAINT_S = (30.0, 50.0, 70.0)
"""Where in the song the faint pick-ups are from."""
FAINT_DB = 19.0
"""How far the noise is over the song in them."""


def faint(folder: Path) -> Path:
    """A folder of short pick-ups in which the song is all but drowned: the engine should be in doubt."""
    folder.mkdir()
    sound, rate = soundfile.read(SAMPLE / "song.ogg", always_2d=True)
    chance = np.random.default_rng(1)
    for number, start_s in enumerate(FAINT_S, 1):
        heard = sound[round(start_s * rate) : round((start_s + 3) * rate)].mean(axis=1)
        noise = chance.standard_normal(len(heard))
        mixed = heard + noise * np.std(heard) / np.std(noise) * 10 ** (FAINT_DB / 20)
        soundfile.write(folder / f"W000{number}.WAV", 0.5 * mixed / np.abs(mixed).max(), rate)
    return folder
