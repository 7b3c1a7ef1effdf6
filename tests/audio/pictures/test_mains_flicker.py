"""Mains flicker against its formula.

Lamps swing at twice the mains. Frames at a rate show that at |2 × mains − n × rate| for the nearest whole n,
and an exposure E = angle / 360° / rate leaves |sin(π 2m E) / (π 2m E)| of the swing: nothing where E is a
whole number of periods. The light of a row is summed up here in small steps over its exposure; the formula
is only asked.
"""

from fractions import Fraction

import numpy as np
import pytest

from audio.pictures.mains_flicker import aliases, flicker
from audio.pictures.sampling import Picture
from audio.pictures.trace import Trace, trace_of
from tests.audio.pictures.made_pictures import picture_of

LINES, ACROSS = 36, 48
DEPTH = 0.3
READOUT_S = 0.011
RATES = (Fraction(24000, 1001), Fraction(24), Fraction(25), Fraction(50), Fraction(60))


def lit(mains_hz: float, rate: Fraction, angle_deg: float, *, seconds: float = 5.0) -> Trace:
    """A scene with noise under lamps of a mains frequency, seen through a shutter of so many degrees."""
    chance = np.random.default_rng(8)
    scene = chance.uniform(0.1, 0.5, (6, 8)).repeat(6, axis=0).repeat(6, axis=1)  # linear light
    exposure_s = angle_deg / 360 / float(rate)
    steps = (np.arange(40) + 0.5) / 40 * exposure_s
    rows_s = READOUT_S * np.arange(LINES) / LINES

    def picture(number: int) -> Picture:
        clip_s = float(number / rate)
        moments = clip_s + rows_s[:, None] + steps
        light = (1 + DEPTH * np.cos(2 * np.pi * 2 * mains_hz * moments)).mean(axis=1)
        seen = np.clip(scene * light[:, None] + chance.normal(0, 0.01, scene.shape), 0.018, 1)
        code = 1.099 * seen**0.45 - 0.099  # Rec. ITU-R BT.709-6, item 1.2
        return picture_of(clip_s, np.repeat((code * 255 + 0.5).astype(np.uint8)[:, :, None], 3, axis=2))

    count = round(seconds * rate)
    return trace_of(map(picture, range(count)), np.arange(count) / float(rate))


@pytest.mark.parametrize("angle_deg", [172.8, 180.0])
@pytest.mark.parametrize("rate", RATES, ids=str)
@pytest.mark.parametrize("mains_hz", [50.0, 60.0])
def test_flicker_is_found_where_the_formula_says_so(
    mains_hz: float, rate: Fraction, angle_deg: float
) -> None:
    seen = lit(mains_hz, rate, angle_deg)
    found = list(flicker(seen))
    swing_hz = 2 * mains_hz
    line_hz = abs(swing_hz - round(swing_hz / rate) * float(rate))
    left = DEPTH * abs(np.sinc(swing_hz * angle_deg / 360 / float(rate)))
    # A line slower than one in eight seconds is not told in five seconds; less than 1 % nobody sees.
    if line_hz > 0.2 and left > 0.01:
        assert len(found) == 1
        assert found[0].clip_start_s < 0.5
        assert found[0].clip_end_s > seen.clip_s[-1] - 0.5
        # Code values go as light to 0.45, and a little faster near black (1.099 L^0.45 − 0.099).
        assert 0.45 * left < found[0].measure / 100 < 0.65 * left
    else:
        assert not found


def test_whole_periods_leave_nothing() -> None:
    # 172.8° at 24 a second is 1/50 s: two periods of 100 Hz.
    assert np.sinc(100 * 172.8 / 360 / 24) == pytest.approx(0, abs=1e-9)
    assert not list(flicker(lit(50.0, Fraction(24), 172.8)))
    assert list(flicker(lit(50.0, Fraction(24), 180.0)))


def test_where_lines_lie() -> None:
    # |100 − 4 × 24000/1001| and |120 − 5 × 24000/1001|.
    assert aliases(24000 / 1001) == pytest.approx((4.0959, 0.1199), abs=1e-4)
    assert aliases(24.0) == (4.0,)
    assert aliases(30000 / 1001) == pytest.approx((10.0899, 0.1199), abs=1e-4)
    assert aliases(50.0) == (20.0,)
    assert aliases(60.0) == (20.0,)


def test_a_slow_roll_needs_a_long_look() -> None:
    # 23.976 under 120 Hz: a bar rolls through in eight seconds.
    found = list(flicker(lit(60.0, Fraction(24000, 1001), 90.0, seconds=30)))
    assert len(found) == 1
    assert found[0].clip_end_s - found[0].clip_start_s > 25


def test_light_that_follows_the_music_is_not_mains() -> None:
    # Four flashes a second that fade: the line of 100 Hz under 24 a second, with harmonics and no roll.
    chance = np.random.default_rng(3)
    pictures = []
    for number in range(240):
        clip_s = number / 24
        light = 90 + 60 * np.exp(-6 * (4 * clip_s % 1)) + chance.normal(0, 2, (LINES, ACROSS, 3))
        pictures.append(picture_of(clip_s, light.astype(np.uint8)))
    assert not list(flicker(trace_of(pictures, np.arange(240) / 24)))
