"""Speeds other than 1: a clip brought to the song's speed, and takes found at it."""

from fractions import Fraction

import numpy as np
import pytest

from audio.align import PlaceVerdict
from audio.speeds import HYPOTHESES, at_song_speed, excerpts
from tests.audio.engine_songs import RATE, hiss, placed, run, sound, worst_s


@pytest.mark.parametrize("speed", [0.5, 24 / 25, 0.9997, 1.0, 1001 / 1000, 1.25, 2.0, 2.5])
def test_a_tone_is_brought_to_its_pitch_in_phase(speed: float) -> None:
    """Heard at ``speed`` a tone is that much higher; brought back, its phase is right from start to end."""
    time = np.arange(6 * RATE) / RATE
    heard = np.sin(2 * np.pi * 300 * speed * time).astype(np.float32)
    back = at_song_speed(heard, RATE, speed)
    assert len(back) == pytest.approx(len(heard) * speed, abs=1)
    song_time = np.arange(len(back)) / RATE
    middle = slice(RATE // 2, len(back) - RATE // 2)
    wanted = np.sin(2 * np.pi * 300 * song_time)
    assert np.abs(back[middle] - wanted[middle]).max() < 0.01


def test_speed_one_changes_nothing() -> None:
    clip = hiss(1.0)
    assert at_song_speed(clip, RATE, 1) is clip


def test_excerpts_are_spread_over_a_long_clip() -> None:
    clip = np.arange(1000, dtype=np.float32)
    pieces = excerpts(clip, 10, 10.0, 3)
    assert [len(piece) for piece in pieces] == [100] * 3
    starts = [int(piece[0]) for piece in pieces]
    assert starts == [225, 450, 675]
    (whole,) = excerpts(clip[:300], 10, 10.0, 3)
    assert len(whole) == 300


def test_the_ratios_of_the_trade_are_all_looked_for() -> None:
    """Arithmetic on rates: 24 against 23.976 and 25; 30, 36, 48, 60 for 24, 40 for 25 (common practice)."""
    ntsc = Fraction(24000, 1001)
    wanted = [24 / ntsc, ntsc / 24, Fraction(25, 24), Fraction(24, 25)]
    wanted += [Fraction(rate, 24) for rate in (30, 36, 48, 60)] + [Fraction(40, 25), Fraction(1, 2)]
    for ratio in wanted:
        assert min(abs(speed / float(ratio) - 1) for speed in HYPOTHESES) < 1e-9, ratio


@pytest.mark.parametrize(
    ("speed", "within_ppm"), [(1001 / 1000, 3), (24 / 25, 5), (1.25, 10), (2.0, 20), (2.0002, 20)]
)
def test_takes_at_other_speeds(speed: float, within_ppm: float) -> None:
    """30 s of song; 2.0002 is a double-speed playback on a clock 100 ppm off."""
    answer = placed(sound(np.concatenate([hiss(2.0), run(14.0, 30.0 / speed, speed)])))
    assert answer.verdict is PlaceVerdict.PLACED, answer.reason
    (fit,) = answer.takes
    assert (fit.speed / speed - 1) * 1e6 == pytest.approx(0, abs=within_ppm)
    assert worst_s(fit, 14.0 - 2.0 * speed, speed) < 0.0005
    assert [fit.clip_start_s, fit.clip_end_s] == pytest.approx([2.0, 2.0 + 30.0 / speed], abs=0.25)


def test_a_speed_nobody_uses_is_not_placed_wrong() -> None:
    answer = placed(sound(run(10.0, 20.0, 1.37)))
    for fit in answer.takes:
        assert fit.verdict is not PlaceVerdict.PLACED or worst_s(fit, 10.0, 1.37) < 0.02
