"""Clips and truth against methods of other people's libraries.

``scipy.signal.correlate`` (textbook correlation), ``librosa.onset.onset_strength`` (onset envelope) and
``pyroomacoustics.experimental.tdoa`` (time delay by phase transform: C. H. Knapp, G. C. Carter,
IEEE Trans. ASSP 24(4), 1976, as that library has it).
"""

import numpy as np
import pytest

from tests.quality.baselines import block_delays, correlated, onsets_correlated, simpler_methods
from tests.quality.kinds import KINDS
from tests.quality.scene import Example, Take
from tests.quality.songs import ENGINE_RATE, SongKey

KEY = SongKey("waltz", 1, short=True)


def _made(kind: str, strength: str) -> tuple[Example, Take]:
    scene = KINDS[kind].build(KEY.load(), KEY, strength, np.random.default_rng(8))
    assert scene is not None
    clip = scene.example()
    return clip, clip.takes[0]


@pytest.mark.parametrize(("kind", "strength"), [("clean", "open air"), ("outdoors", "2 m")])
def test_three_other_methods_find_an_easy_take_where_its_truth_says(kind: str, strength: str) -> None:
    clip, take = _made(kind, strength)
    master = KEY.load().master
    first = int(np.ceil((take.clip_start_s - clip.sound.start_s) * ENGINE_RATE))
    last = int((take.clip_end_s - clip.sound.start_s) * ENGINE_RATE)
    heard, start_s = clip.sound.samples[0, first:last], clip.sound.start_s + first / ENGINE_RATE
    true_s = take.song_at(start_s)
    assert correlated(heard, master) == pytest.approx(true_s, abs=1.01 / ENGINE_RATE)
    delays = block_delays(heard, master, take, start_s)
    assert len(delays) >= 3
    assert abs(float(np.median(delays))) < 2 / ENGINE_RATE
    if kind == "clean":
        assert onsets_correlated(heard, master) == pytest.approx(true_s, abs=0.02)


def test_simpler_methods_lose_what_drifts_or_runs_at_another_speed() -> None:
    """1000 ppm over a minute smear a correlation over 60 ms, and the blocks still agree with the truth."""
    clip, _ = _made("pull-down", "1001/1000")
    found = simpler_methods(clip, KEY.load().master)
    assert found["correlate"] == [False]
    assert found["tdoa"] == [True]
