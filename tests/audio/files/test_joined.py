"""Files of one recording on one clock."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
import scipy.signal

from audio.files.media import Sound
from audio.files.recordings import joined
from audio.placement.answer import PlaceVerdict
from tests.audio.engine_songs import RATE, placed, run, sound, worst_s


def test_a_recording_cut_in_three_comes_back_whole() -> None:
    clip = run(10.0, 9.0)
    cuts = [0, 3 * RATE, 5 * RATE + 160, len(clip)]
    parts = [sound(clip[first:last]) for first, last in pairwise(cuts)]
    whole = joined(parts, [first / RATE for first in cuts[:-1]])
    assert np.array_equal(whole.samples[0], clip)
    assert (whole.start_s, whole.rate, whole.labels) == (0.0, RATE, ("track 1, channel 1",))


def test_own_starts_count() -> None:
    """The first file's sound begins before its picture, the second's 0.25 s after its own."""
    first = sound(np.full(RATE, 1.0, np.float32), start_s=-0.125)
    second = sound(np.full(RATE, 2.0, np.float32), start_s=0.25)
    whole = joined([first, second], [0.0, 2.0])
    assert whole.start_s == -0.125
    assert whole.samples.shape == (1, round(3.375 * RATE))
    values = whole.samples[0]
    assert np.all(values[:RATE] == 1)
    assert np.all(values[RATE : round(2.375 * RATE)] == 0)
    assert np.all(values[round(2.375 * RATE) :] == 2)


def test_channels_are_joined_by_their_names() -> None:
    """A channel that was silent in one file, and so left out there, is in no row of the whole."""
    ones, twos, threes = (np.full(80, value, np.float32) for value in (1, 2, 3))
    first = Sound(np.stack([ones, twos]), 8, 0.0, ("track 1, channel 1", "track 2, channel 1"))
    second = Sound(np.stack([threes]), 8, 0.0, ("track 2, channel 1",))
    whole = joined([first, second], [0.0, 10.0])
    assert whole.labels == ("track 2, channel 1",)
    assert whole.samples.tolist() == [[2.0] * 80 + [3.0] * 80]


def test_without_a_shared_channel_the_first_of_each_is_taken() -> None:
    ones, twos = (np.full(80, value, np.float32) for value in (1, 2))
    whole = joined([Sound(ones[None], 8, 0.0, ("a",)), Sound(twos[None], 8, 0.0, ("b",))], [0.0, 10.0])
    assert whole.labels == ("a",)
    assert whole.samples.tolist() == [[1.0] * 80 + [2.0] * 80]


def test_gaps_and_warnings_are_told_on_the_whole_s_clock() -> None:
    row = np.ones((1, 80), np.float32)
    first = Sound(row, 8, 0.0, ("a",), ((1.0, 2.0),), ("soft",))
    second = Sound(row, 8, 0.0, ("a",), ((0.5, 0.75),), ("soft", "a hole"))
    whole = joined([first, second], [0.0, 10.0])
    assert whole.gaps == ((1.0, 2.0), (10.5, 10.75))
    assert whole.warnings == ("soft", "a hole")


def test_a_single_file_is_not_copied() -> None:
    one = sound(np.ones(80, np.float32), start_s=-0.5)
    assert joined([one], [0.0]) is one


def test_many_samples_stay_in_half_the_memory() -> None:
    """A short last file is read in whole samples; it joins the others as they are."""
    ones, twos = np.full((1, 80), 1.5, np.float16), np.full((1, 8), 2.5, np.float32)
    sounds = [Sound(ones, 8, 0.0, ("a",)), Sound(twos, 8, 0.0, ("a",))]
    whole = joined(sounds, [0.0, 10.0])
    assert whole.samples.dtype == np.float16
    assert whole.samples.tolist() == [[1.5] * 80 + [2.5] * 8]
    assert sounds == []


@pytest.mark.parametrize("over_db", [30.0, 50.0])
def test_half_the_bits_tell_a_song_far_below_rumble(over_db: float) -> None:
    """Wind and handling below 80 Hz, far above the song: the take lies where whole samples put it."""
    clip = run(10.0, 20.0)
    wind = scipy.signal.sosfilt(
        scipy.signal.butter(4, 80, fs=RATE, output="sos"), np.random.default_rng(3).standard_normal(len(clip))
    )
    loud = clip + wind * 10 ** (over_db / 20) * np.std(clip) / np.std(wind)
    loud = (0.9 * loud / np.abs(loud).max()).astype(np.float32)
    whole, half = (
        placed(replace(sound(loud), samples=loud[None].astype(t))) for t in (np.float32, np.float16)
    )
    assert half.verdict is whole.verdict is PlaceVerdict.PLACED
    assert worst_s(half.takes[0], 10.0) < 0.00005
    assert half.takes[0].strength == pytest.approx(whole.takes[0].strength, rel=0.1)


def test_a_take_runs_on_over_the_joint() -> None:
    clip = run(8.0, 24.0)
    cut = 11 * RATE
    whole = joined([sound(clip[:cut]), sound(clip[cut:])], [0.0, 11.0])
    answer = placed(whole)
    assert answer.verdict is PlaceVerdict.PLACED
    (fit,) = answer.takes
    assert worst_s(fit, 8.0) < 0.00005
    assert fit.clip_end_s == pytest.approx(24.0, abs=0.01)
