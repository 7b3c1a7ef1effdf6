"""Ends of takes: where the playback begins and stops in the clip."""

import numpy as np
import pytest

from audio.line import Line
from audio.placement.ends import take_ends
from audio.placement.line_fit import LineFit, fit_line
from audio.signals import Samples
from audio.whitening import whiten
from tests.audio.engine_songs import RATE, hiss, index, noisy, run, song
from tests.quality.kit import Kit


def fitted(clip: Samples, lag_s: float, start_s: float, end_s: float) -> tuple[Samples, LineFit]:
    white = whiten(clip, RATE)
    middle = (start_s + end_s) / 2
    fit = fit_line(white, index(), Line(middle, middle + lag_s, 1.0), start_s, end_s)
    assert fit is not None
    return white, fit


def ends(clip: Samples, lag_s: float, core: tuple[float, float], **bounds: float) -> tuple[float, float]:
    """Ends of the take around ``core``, a stretch of the clip in which the song surely runs."""
    white, fit = fitted(clip, lag_s, *core)
    low, high = bounds.get("low", 0.0), bounds.get("high", len(clip) / RATE)
    found = take_ends(white, index(), fit, *core, low, high)
    return found.start_s, found.end_s


@pytest.mark.parametrize("over_db", [-30.0, 0.0])
def test_playback_that_starts_and_stops(over_db: float) -> None:
    """The song runs from 5 to 25 s of the clip; it was looked for in blocks within."""
    clip = noisy(np.concatenate([hiss(5.0, 1e-3), run(20.0, 20.0), hiss(6.0, 1e-3)]), over_db)
    assert ends(clip, 15.0, (8.0, 20.0)) == pytest.approx((5.0, 25.0), abs=0.2)


def test_blocks_that_reach_too_far_are_cut_back() -> None:
    clip = noisy(np.concatenate([hiss(5.0, 1e-3), run(20.0, 20.0), hiss(6.0, 1e-3)]), -10)
    assert ends(clip, 15.0, (0.0, 31.0)) == pytest.approx((5.0, 25.0), abs=0.2)


def test_a_take_that_fills_its_clip() -> None:
    """No take ends a step before its clip's end only because the steps do not come out even."""
    clip = run(20.0, 17.013)
    assert ends(clip, 20.0, (4.0, 12.0)) == pytest.approx((0.0, 17.013), abs=1e-6)


def test_the_song_s_own_ends() -> None:
    """The camera rolls before the first sound and after the last: the take is the song."""
    length = song().seconds
    clip = noisy(run(-4.0, length + 9.0), -20)
    assert ends(clip, -4.0, (8.0, 60.0)) == pytest.approx((4.0, 4.0 + length), abs=0.01)


def test_a_neighbour_s_bounds_are_kept() -> None:
    clip = run(20.0, 20.0)
    start, end = ends(clip, 20.0, (8.0, 12.0), low=6.5, high=14.5)
    assert 6.5 <= start < 7.0
    assert 14.0 < end <= 14.5


def test_loud_playing_is_no_end() -> None:
    """From 12 s on a drummer plays 15 dB above the song, which goes on to 24 s."""
    clip = np.concatenate([run(20.0, 24.0), hiss(4.0, 1e-3)])
    kit, drums = Kit(RATE, 5), np.zeros(len(clip))
    for hit in np.arange(12.0, 27.5, 0.25):
        wave = kit.hit(("kick", "hat", "snare", "hat")[int(hit * 4) % 4])
        start = int(hit * RATE)
        drums[start : start + len(wave)] += wave[: len(drums) - start]
    level = np.sqrt(np.mean(clip[: 24 * RATE] ** 2))
    drums *= level * 10 ** (15 / 20) / np.sqrt(np.mean(drums[12 * RATE :] ** 2))
    start, end = ends((clip + drums).astype(np.float32), 20.0, (0.0, 16.0))
    assert start == 0.0
    assert end == pytest.approx(24.0, abs=0.6)


def test_next_to_nothing_between_two_bounds() -> None:
    clip = run(20.0, 10.0)
    start, end = ends(clip, 20.0, (0.0, 10.0), low=4.0, high=4.1)
    assert 4.0 <= start <= end <= 4.1
