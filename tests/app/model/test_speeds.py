"""Speeds with a reason and the drift on top of them; figures worked by hand from the ratios."""

from fractions import Fraction

import pytest

from app.model.speeds import late_frames, nominal_speed


@pytest.mark.parametrize(
    ("speed", "nominal", "ppm"),
    [
        (1.0, Fraction(1), 0),
        (1.0002, Fraction(1), 200),
        (0.99951, Fraction(1), -490),
        (1.001, Fraction(1001, 1000), 0),
        (1.00051, Fraction(1001, 1000), -490 / 1.001),  # past 500 ppm it is the other mistake, off by as much
        (1000 / 1001, Fraction(1000, 1001), 0),
        (25 / 24, Fraction(25, 24), 0),
        (25 / 24 * (1 - 200e-6), Fraction(25, 24), -200),
        (1001 / 960, Fraction(1001, 960), 0),  # 25 against 24000/1001, 1000 ppm from 25/24
        (1001 / 960 * (1 - 200e-6), Fraction(1001, 960), -200),
        (160 / 147, Fraction(160, 147), 0),
        (2.0, Fraction(2), 0),
        (1.1 * (1 + 30e-6), Fraction(11, 10), 30),
    ],
)
def test_a_speed_is_a_reason_and_a_drift(speed: float, nominal: Fraction, ppm: float) -> None:
    apart = nominal_speed(speed)
    assert apart.nominal == nominal
    assert apart.drift_ppm == pytest.approx(ppm, abs=0.01)


@pytest.mark.parametrize("speed", [1.0342, 0.998, 1.00151])
def test_a_free_speed_stands_for_itself(speed: float) -> None:
    apart = nominal_speed(speed)  # more than 500 ppm from every speed with a reason
    assert float(apart.nominal) == pytest.approx(speed, abs=1e-9)
    assert apart.drift_ppm == 0


def test_late_is_positive_and_early_negative() -> None:
    # 100 ppm over 240 s is 24 ms, 0.576 frame at 24; a clip that runs the song slower than 1 lags behind it.
    assert late_frames(1 - 100e-6, 240, Fraction(24)) == pytest.approx(0.576)
    assert late_frames(1 + 100e-6, 240, Fraction(24)) == pytest.approx(-0.576)
    assert late_frames(1.001, 240, Fraction(24)) == 0


@pytest.mark.parametrize("speed", [0.0, -1.0, float("nan"), float("inf")])
def test_what_is_no_speed_is_refused(speed: float) -> None:
    with pytest.raises(ValueError, match="no speed"):
        nominal_speed(speed)
