"""Sway: a microphone that moves is told from one that stands still, and its lag is followed."""

import numpy as np
import pytest
import scipy.signal
from numpy.typing import NDArray

from audio.files.media import Sound
from audio.placement.align import place
from audio.placement.answer import TakeFit
from audio.placement.reason_codes import ReasonCode
from audio.placement.search import SongIndex
from tests.quality.clock import delayed
from tests.quality.songs import WORK_RATE

RATE = 8000
SONG_S = 40.0


@pytest.fixture(scope="module")
def song() -> NDArray[np.float64]:
    """Notes and hits that never come again, at WORK_RATE."""
    rng = np.random.default_rng(5)
    t = np.arange(int(SONG_S * WORK_RATE)) / WORK_RATE
    out = np.zeros(len(t))
    for at in np.arange(0, SONG_S - 1, 0.21):
        first = int(at * WORK_RATE)
        note = np.exp(-4 * t[:WORK_RATE]) * np.sin(2 * np.pi * rng.uniform(100, 2500) * t[:WORK_RATE])
        hit = np.exp(-60 * t[:WORK_RATE]) * rng.standard_normal(WORK_RATE)
        out[first : first + WORK_RATE] += note + hit
    return out


def heard(
    song: NDArray[np.float64], late_s: NDArray[np.float64], softer: NDArray[np.float64] | None = None
) -> TakeFit:
    """The one take of a clip in which the song is so late at each moment, in some noise and a room; with
    another loudspeaker 12 dB softer and ``softer`` late."""
    rng = np.random.default_rng(7)
    wave = delayed(song, late_s)
    if softer is not None:
        wave += 0.25 * delayed(song, softer)
    # Reverberation is the same wherever the microphone is.
    tail = rng.standard_normal(4000) * np.exp(-np.arange(4000) / 1000)
    tail[:200] = 0
    wave += 0.5 * scipy.signal.oaconvolve(song, tail / np.sqrt(np.square(tail).sum()))[: len(song)]
    wave += 0.2 * wave.std() * rng.standard_normal(len(wave))
    clip = scipy.signal.resample_poly(wave, 1, WORK_RATE // RATE).astype(np.float32)
    master = scipy.signal.resample_poly(song, 1, WORK_RATE // RATE).astype(np.float32)
    index = SongIndex.build(master, rate=RATE)
    (take,) = place(Sound((0.5 * clip / np.abs(clip).max())[None], RATE, 0.0, ("track 1",)), index).takes
    return take


def off_s(take: TakeFit, late_s: NDArray[np.float64]) -> NDArray[np.float64]:
    """How far the true song time is off the take's line at moments all along."""
    clip_s = np.linspace(take.clip_start_s + 0.1, take.clip_end_s - 0.1, 400)
    true = clip_s - np.interp(clip_s, np.arange(len(late_s)) / WORK_RATE, late_s)
    return true - take.line.song_time(clip_s)


def test_a_still_microphone_has_no_sway(song: NDArray[np.float64]) -> None:
    take = heard(song, np.full(len(song), 0.003))
    assert (take.verdict, take.reason, take.sways) == ("placed", None, False)
    assert take.uncertainty_s < 0.0005


def test_a_moving_microphone_is_followed(song: NDArray[np.float64]) -> None:
    t = np.arange(len(song)) / WORK_RATE
    late_s = 0.006 * np.sin(2 * np.pi * t / 11)
    take = heard(song, late_s)
    assert take.verdict == "placed", take.reason
    assert take.reason is not None
    assert take.reason.code is ReasonCode.SWAYS
    figures = dict(take.reason.figures)
    assert figures["sway_largest_s"] == pytest.approx(0.006, abs=0.0006)
    assert figures["sway_typical_s"] == pytest.approx(0.006 / 2**0.5, abs=0.0006)
    held = np.abs(off_s(take, late_s)) <= take.uncertainty_s
    assert 0.92 <= held.mean() <= 0.99
    assert take.uncertainty_s < 0.0068, "not wider than it sways"
    clip_s, lag_s, _ = np.transpose(take.lags)
    true = clip_s - np.interp(clip_s, t, late_s) - take.line.song_time(clip_s)
    assert float(np.quantile(np.abs(lag_s - true), 0.95)) < 0.0003


def test_of_two_loudspeakers_in_turn_the_line_lies_between(song: NDArray[np.float64]) -> None:
    t = np.arange(len(song)) / WORK_RATE
    late_s = np.where((t // 8) % 2 == 0, -0.004, 0.004)
    take = heard(song, late_s, -late_s)
    assert take.verdict == "placed"
    assert take.sways
    assert take.uncertainty_s == pytest.approx(0.004, abs=0.0005)
    assert np.mean(np.abs(off_s(take, late_s)) <= take.uncertainty_s) > 0.93
