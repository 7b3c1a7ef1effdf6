"""Speeds other than 1: a clip brought to the song's speed, and takes found at it."""

import numpy as np
import pytest

from audio.placement.answer import PlaceVerdict
from audio.speed.resampling import to_song_speed
from tests.audio.engine_songs import RATE, hiss, placed, run, sound, worst_s


@pytest.mark.parametrize("speed", [0.5, 24 / 25, 0.9997, 1.0, 1001 / 1000, 1.25, 2.0, 2.5])
def test_a_tone_is_brought_to_its_pitch_in_phase(speed: float) -> None:
    """Heard at ``speed`` a tone is that much higher; brought back, its phase is right from start to end."""
    time = np.arange(6 * RATE) / RATE
    heard = np.sin(2 * np.pi * 300 * speed * time).astype(np.float32)
    back = to_song_speed(heard, RATE, speed)
    assert len(back) == pytest.approx(len(heard) * speed, abs=1)
    song_time = np.arange(len(back)) / RATE
    middle = slice(RATE // 2, len(back) - RATE // 2)
    wanted = np.sin(2 * np.pi * 300 * song_time)
    assert np.abs(back[middle] - wanted[middle]).max() < 0.01


def test_speed_one_changes_nothing() -> None:
    clip = hiss(1.0)
    assert to_song_speed(clip, RATE, 1) is clip


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


@pytest.mark.parametrize("speed", [0.73, 1.37, 3.1])
def test_a_speed_nobody_announced(speed: float) -> None:
    """30 s of song at no ratio of the trade."""
    answer = placed(sound(np.concatenate([hiss(2.0), run(14.0, 30.0 / speed, speed)])))
    assert answer.verdict is PlaceVerdict.PLACED, answer.reason
    (fit,) = answer.takes
    assert worst_s(fit, 14.0 - 2.0 * speed, speed) < 0.0005
