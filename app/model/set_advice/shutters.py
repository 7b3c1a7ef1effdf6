"""Shutters that mains light does not make flicker.

A lamp on the mains is brightest twice in each of its cycles. Each frame gets the same light, whenever it
begins, if it is exposed for a whole number of half cycles: ``exposure = k / (2 × mains frequency)``. The
shutter angle is ``360° × frame rate × exposure``, and cannot be more than 360°.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from app.model.timebase import rate_words

USUAL_ANGLE = 180
"""Degrees that motion is usually filmed with (common practice)."""
NOTE = (
    "These shutters keep lamps on the mains from flickering. Dimmed LED light and screens have frequencies "
    "of their own: film a test and look at it frame by frame."
)


@dataclass(frozen=True, slots=True)
class Shutter:
    """One setting."""

    angle: Fraction
    """Degrees."""
    exposure_s: Fraction

    @property
    def words(self) -> str:
        """As a person says it: the angle to a tenth of a degree, the time as a fraction.

        >>> Shutter(Fraction(864, 5), Fraction(1, 50)).words
        '172.8° (1/50 s)'
        """
        return f"{_tenths(self.angle)}° ({self.exposure_s} s)"


def safe_shutters(rate: Fraction, mains: int) -> tuple[Shutter, ...]:
    """All settings without flicker at a frame rate under light of a mains frequency (Hz), shortest first.

    >>> [one.words for one in safe_shutters(Fraction(60), 50)], safe_shutters(Fraction(120), 50)
    (['216° (1/100 s)'], ())
    """
    half_cycle_s = Fraction(1, 2 * mains)
    most = Fraction(1) / rate // half_cycle_s
    return tuple(Shutter(360 * rate * k * half_cycle_s, k * half_cycle_s) for k in range(1, most + 1))


def usual_shutter(rate: Fraction, mains: int) -> Shutter | None:
    """The safe setting to begin with: the widest up to 180°, else the narrowest; None where none is safe.

    >>> usual = usual_shutter(Fraction(24000, 1001), 60)
    >>> usual.words if usual else "none"
    '143.9° (1/60 s)'
    """
    safe = safe_shutters(rate, mains)
    narrow = [one for one in safe if one.angle <= USUAL_ANGLE]
    return narrow[-1] if narrow else next(iter(safe), None)


def shutter_words(rate: Fraction, mains: int) -> str:
    """What to set, and what else would do.

    >>> shutter_words(Fraction(24), 50)
    '172.8° (1/50 s), or 86.4, 259.2, 345.6°'
    >>> shutter_words(Fraction(120), 50)
    'none: use lamps that do not flicker'
    """
    usual = usual_shutter(rate, mains)
    if usual is None:
        return "none: use lamps that do not flicker"
    others = [_tenths(one.angle) for one in safe_shutters(rate, mains) if one != usual]
    if not others and usual.angle > USUAL_ANGLE:
        return f"only {usual.words}"
    return f"{usual.words}, or {', '.join(others)}°" if others else usual.words


def usual_words(rate: Fraction) -> str:
    """What to begin with under both kinds of mains, in a line.

    >>> usual_words(Fraction(24)), usual_words(Fraction(120))
    ('24 fps: 172.8° at 50 Hz, 144° at 60 Hz', '120 fps: none at 50 Hz, only 360° at 60 Hz')
    """
    parts = []
    for mains in (50, 60):
        usual = usual_shutter(rate, mains)
        only = "only " if len(safe_shutters(rate, mains)) == 1 else ""
        told = "none" if usual is None else f"{only}{_tenths(usual.angle)}°"
        parts.append(f"{told} at {mains} Hz")
    return f"{rate_words(rate)} fps: {', '.join(parts)}"


def shutter_rows(rates: Iterable[Fraction]) -> tuple[tuple[str, str, str], ...]:
    """A table for several rates: frames per second, and what to set under 50 and 60 Hz."""
    return tuple(
        (f"{rate_words(rate)} fps", shutter_words(rate, 50), shutter_words(rate, 60)) for rate in rates
    )


def _tenths(angle: Fraction) -> str:
    return f"{float(angle):.1f}".removesuffix(".0")
