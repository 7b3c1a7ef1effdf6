"""What a measured speed means: a speed somebody chose or mistook, and on top of it two clocks' drift."""

from dataclasses import dataclass
from fractions import Fraction

LARGEST_DRIFT_PPM = 500.0
"""Border between drift and a speed with a reason. Clocks of hand-held recorders were found up to 273 ppm
apart (Guggenberger, Lux and Böszörmenyi, MMM 2015; from memory), the smallest mistake of rates is 999 ppm."""

_PULL = Fraction(1001, 1000)
_SMALL = tuple(Fraction(a, b) for a in range(1, 7) for b in range(1, 7))
_MISTAKEN = (
    Fraction(1),
    1 / _PULL,
    _PULL,
    Fraction(24, 25),
    Fraction(25, 24),
    Fraction(24, 25) / _PULL,
    Fraction(25, 24) * _PULL,
    Fraction(160, 147),  # sound of 48 kHz played at 44.1 kHz, or the reverse
    Fraction(147, 160),
)
_NOMINAL = tuple(
    dict.fromkeys((*_MISTAKEN, *_SMALL, *(Fraction(percent, 100) for percent in range(25, 401))))
)
_RATES = (24, 25, 30, 48, 50, 60, 100, 120)
_USUAL = tuple(
    dict.fromkeys(
        (
            *_MISTAKEN,
            *(Fraction(one, other) for one in _RATES for other in _RATES),
            *(Fraction(2, 3), Fraction(3, 2)),
        )
    )
)
"""Without the whole percents and small fractions, which somebody may choose, but a mistake hits as well."""
_AS_FLOATS = tuple(float(nominal) for nominal in _NOMINAL)


@dataclass(frozen=True, slots=True)
class Speed:
    """A speed taken apart: ``nominal * (1 + drift_ppm / 1e6)`` seconds of song to a second of clip."""

    nominal: Fraction
    drift_ppm: float


def nominal_speed(speed: float) -> Speed:
    """Take a measured speed apart into the nearest speed that has a reason, and drift.

    A speed further than 500 ppm from all of them was chosen freely; it stands for itself, without drift.
    Raises ValueError for a speed that is not above zero.

    >>> nominal_speed(1.00002)
    Speed(nominal=Fraction(1, 1), drift_ppm=20.0)
    >>> nominal_speed(1001 / 1000).nominal
    Fraction(1001, 1000)
    """
    if not 0 < speed < float("inf"):
        raise ValueError(f"A speed of {speed} is no speed.")
    exact = Fraction(speed)
    nearest = _NOMINAL[min(range(len(_NOMINAL)), key=lambda n: abs(speed / _AS_FLOATS[n] - 1))]
    ppm = (exact / nearest - 1) * 1_000_000
    if abs(ppm) <= LARGEST_DRIFT_PPM:
        return Speed(nearest, round(float(ppm), 6))
    return Speed(exact.limit_denominator(1_000_000), 0.0)


def usual_near(speed: float, within: float) -> tuple[float, bool]:
    """The nearest of the speeds that cameras and players are set to, and whether ``speed`` may be that.

    ``within``: how far off ``speed`` may be; clocks may lie `LARGEST_DRIFT_PPM` apart besides.

    >>> usual_near(0.9596, 0.002), usual_near(0.931, 0.002)
    ((0.96, True), (0.91875, False))
    """
    nearest = min((float(one) for one in _USUAL), key=lambda one: abs(speed / one - 1))
    return nearest, abs(speed - nearest) <= within + LARGEST_DRIFT_PPM / 1e6 * speed


def late_frames(speed: float, length_s: float, rate: Fraction) -> float:
    """Frames by which the picture is late at a take's end, when it is laid at its start at nominal speed.

    ``length_s`` counts in the clip, ``rate`` is the clip's; negative where the picture is early.

    >>> round(late_frames(0.9999, 240.0, Fraction(24)), 3)
    0.576
    """
    apart = nominal_speed(speed)
    return -float(apart.nominal) * apart.drift_ppm / 1e6 * length_s * float(rate)
