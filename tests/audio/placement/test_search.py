"""Blocks correlated with the whole song, and the alignments they form."""

from itertools import pairwise

import numpy as np
import pytest

from audio.errors import Stopped
from audio.placement.alignments import find_alignments
from audio.placement.blocks import NEW_LINE_COST, Alignment
from audio.placement.search import BIN_S, BLOCK_S, SongIndex, best_bins, block_evidence, block_starts
from audio.progress import never, no_progress
from audio.signals import Samples
from audio.whitening import whiten
from tests.audio.engine_songs import RATE, hiss, index, noisy, run, song


def block(samples: Samples) -> Samples:
    return np.pad(whiten(samples, RATE), (0, int(BLOCK_S * RATE) - len(samples)))


def song_time_of(bin_: int) -> float:
    return (bin_ + 0.5) * BIN_S - BLOCK_S


def alignments(clip: Samples, style: str = "rock") -> list[Alignment]:
    found, _ = find_alignments(whiten(clip, RATE), index(style), never, no_progress)
    return [one for one in found if one.total > 20]


def test_an_index_knows_its_song() -> None:
    padded = np.concatenate([np.zeros(RATE), song().master[: 20 * RATE], np.zeros(3 * RATE // 2)])
    made = SongIndex.build(padded.astype(np.float32), RATE)
    assert made.duration_s == pytest.approx(22.5)
    assert made.white.shape == (len(padded),)
    assert made.oversampled.shape == (4 * len(padded),)
    assert np.abs(made.oversampled[::4] - made.white).max() < 0.1
    # The song has 0.3 s of silence of its own.
    assert made.head_s == pytest.approx(1.3, abs=0.05)
    assert made.tail_s == pytest.approx(1.5, abs=0.05)


@pytest.mark.parametrize("song_from_s", [0.0, 20.0, 44.4444, 59.0])
def test_a_block_shows_where_it_is_from(song_from_s: float) -> None:
    evidence = block_evidence(block(run(song_from_s, BLOCK_S)), index())
    assert song_time_of(int(evidence.argmax())) == pytest.approx(song_from_s, abs=BIN_S)
    assert evidence.max() > 2 * NEW_LINE_COST


@pytest.mark.parametrize("song_from_s", [-6.0, 64.0])
def test_a_block_that_hangs_over_the_song_s_end(song_from_s: float) -> None:
    evidence = block_evidence(block(run(song_from_s, BLOCK_S)), index())
    assert song_time_of(int(evidence.argmax())) == pytest.approx(song_from_s, abs=BIN_S)


def test_chance_says_next_to_nothing() -> None:
    """Noise may reach, in the best of 38 000 bins, the logarithm of their number and little more."""
    for seed in range(4):
        evidence = block_evidence(block(hiss(BLOCK_S, seed=seed)), index())
        assert np.median(evidence) < 0
        assert evidence.max() < np.log(len(evidence)) + 6
    assert not block_evidence(np.zeros(int(BLOCK_S * RATE), np.float32), index()).any()


def test_blocks_cover_a_clip_to_its_end() -> None:
    size, hop, unit = 64000, 32000, 16
    for length in (1, 63999, 64000, 64016, 70000, 100000, 333333):
        starts = block_starts(length, size, hop, unit)
        assert starts[0] == 0
        assert all(start % unit == 0 for start in starts)
        assert all(0 < second - first <= hop for first, second in pairwise(starts))
        assert starts[-1] + size >= length - hop // 8 - unit
        assert starts[-1] == 0 or starts[-1] + size <= length


def test_one_take_is_one_alignment() -> None:
    (found,) = alignments(noisy(run(10.0, 40.0), 0))
    assert found.starts_s[0] == 0
    assert found.starts_s[-1] == pytest.approx(32.0, abs=0.01)
    assert np.abs(found.song_s - found.starts_s - 10.0).max() <= 1.5 * BIN_S


def test_an_alignment_follows_a_clock_that_drifts() -> None:
    """300 ppm over 50 s are 15 ms, more than seven bins."""
    (found,) = alignments(run(5.0, 50.0, 1.0003))
    lag = found.song_s - found.starts_s
    assert lag[-1] - lag[0] == pytest.approx(300e-6 * (found.starts_s[-1] - found.starts_s[0]), abs=0.004)


def test_a_restart_ends_an_alignment() -> None:
    first, second = alignments(np.concatenate([run(0.0, 20.0), hiss(10.0), run(0.0, 24.0)]))
    assert np.median(first.song_s - first.starts_s) == pytest.approx(0.0, abs=0.003)
    assert np.median(second.song_s - second.starts_s) == pytest.approx(-30.0, abs=0.003)
    assert first.starts_s[-1] < 20
    assert second.starts_s[0] > 30 - BLOCK_S


def test_a_spoilt_block_does_not_break_an_alignment() -> None:
    """Five seconds of noise in the middle of a take."""
    clip = run(10.0, 40.0)
    clip[18 * RATE : 23 * RATE] = hiss(5.0, 0.3)
    (found,) = alignments(clip)
    assert np.abs(found.song_s - found.starts_s - 10.0).max() <= 1.5 * BIN_S


def test_noise_forms_no_alignment() -> None:
    assert alignments(hiss(40.0)) == []


@pytest.mark.parametrize("seconds", [0.001, 0.5, 3.0])
def test_clips_shorter_than_a_block(seconds: float) -> None:
    _, blocks = find_alignments(whiten(run(30.0, seconds), RATE), index(), never, no_progress)
    peaks = blocks.peaks_within(0.0, seconds)
    assert len(peaks) == 1
    if seconds == 3.0:
        assert song_time_of(int(peaks[0].bins[peaks[0].evidence.argmax()])) == pytest.approx(30.0, abs=BIN_S)


def test_a_song_shorter_than_a_block() -> None:
    short = SongIndex.build(song().master[20 * RATE : 25 * RATE], RATE)
    (found, *_), _ = find_alignments(whiten(run(19.0, 12.0), RATE), short, never, no_progress)
    assert found.song_s[0] - found.starts_s[0] == pytest.approx(-1.0, abs=0.003)


def test_a_silent_clip_forms_no_alignment() -> None:
    found, _ = find_alignments(np.zeros(20 * RATE, np.float32), index(), never, no_progress)
    assert found == []


def test_stop_and_progress() -> None:
    reports: list[float] = []
    find_alignments(np.zeros(20 * RATE, np.float32), index(), never, reports.append)
    assert reports == pytest.approx([0.25, 0.5, 0.75, 1.0])
    with pytest.raises(Stopped):
        find_alignments(np.zeros(20 * RATE, np.float32), index(), lambda: True, no_progress)


def test_smeared_sound_leaves_room_for_another_place() -> None:
    """In a church one place fills more bins than are kept."""
    evidence = np.zeros(6000, np.float32)
    evidence[1000:1200] = 30.0
    evidence[4321] = 20.0
    assert 4321 in best_bins(0.0, evidence).bins


def test_every_take_has_blocks_correlated_with_the_whole_song() -> None:
    """Of a long clip few are, before a take asks for its rivals."""
    _, blocks = find_alignments(whiten(run(0.0, 60.0), RATE), index(), never, no_progress)
    before = len(blocks.peaks)
    inside = blocks.peaks_within(8.0, 28.0)
    assert len(inside) >= 3
    assert len(blocks.peaks) > before
    assert all(8.0 - BLOCK_S < peaks.start_s < 28.0 for peaks in inside)
