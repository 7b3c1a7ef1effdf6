"""The part of the map's board that runs with every test: a few short songs of the genres, beside librosa as
it comes."""

import numpy as np
import pytest

from tests.quality.map_board import composed_songs, ours, plain

# Rock in four to a click-free band, two in a bar, five in a bar, two beats of three: none of them easy to
# count.
NUMBERS = (0, 8, 9, 7)


@pytest.fixture(scope="module")
def scores():
    return {number: next(composed_songs(range(number, number + 1))) for number in NUMBERS}


@pytest.mark.parametrize("number", NUMBERS)
def test_beats_and_bars_are_found(scores, number):
    # The goals of the map: F of 0.93 for beats and 0.85 for first beats, in the windows of mir_eval.
    mine = ours(scores[number])
    assert mine.beat_f > 0.93
    assert mine.bar_f > 0.85


def test_bars_are_better_than_every_fourth_beat(scores):
    truth = scores[9]
    assert ours(truth).bar_f > plain(truth).bar_f + 0.3


def test_songs_are_the_same_every_time(scores):
    again = next(composed_songs(range(8, 9)))
    assert np.array_equal(again.samples, scores[8].samples)
