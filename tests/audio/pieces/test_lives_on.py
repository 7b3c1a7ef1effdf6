"""What of a master lives on in the next one."""

import numpy as np
import pytest

from audio.pieces.lives_on import lives_on
from audio.placement.search import SongIndex
from audio.rate import ENGINE_RATE
from tests.quality.songs import composed


def test_a_new_master() -> None:
    """A longer lead-in, a part cut, another doubled, another mix, limited: all that is left is mapped."""
    old = composed("rock", 1, True).master
    mix = composed("rock", 1, True, mix="rough").master
    limited = np.tanh(6 * mix / np.abs(mix).max()).astype(np.float32)
    cut_s, on_s, double_s, twice_s = 12.0, 19.5, 30.0, 41.25
    parts = (0.0, cut_s), (on_s, twice_s), (double_s, len(mix) / ENGINE_RATE)
    lead_in = np.zeros(round(1.7 * ENGINE_RATE), np.float32)
    cuts = [limited[round(a * ENGINE_RATE) : round(b * ENGINE_RATE)] for a, b in parts]
    new = np.concatenate([lead_in, *cuts])
    found = lives_on(SongIndex.build(old, ENGINE_RATE), new)
    # Where each of the old song's moments begins in the new one: of the doubled part, twice.
    second_s = 1.7 + cut_s - on_s
    third_s = second_s + twice_s - double_s
    starts_s = {0: 1.7, 1: second_s, 2: third_s, 3: third_s}
    assert [one.again for one in found] == [False, False, True, False]
    for number, one in enumerate(found):
        assert one.speed == pytest.approx(1.0, abs=1e-5)
        assert one.new_start_s - one.old_start_s == pytest.approx(starts_s[number], abs=0.001)
        assert one.uncertainty_s < 0.001
    edges_s = [(one.old_start_s, one.old_end_s) for one in found]
    due_s = [(0.0, cut_s), (on_s, twice_s), (double_s, twice_s), (twice_s, len(mix) / ENGINE_RATE)]
    assert np.array(edges_s)[:-1] == pytest.approx(np.array(due_s)[:-1], abs=0.03)
    assert edges_s[-1][1] == pytest.approx(due_s[-1][1], abs=0.5)
