"""Frames, seconds and timecode with exact rates; nothing here rounds behind anybody's back.

Timecode counts labels, not time: at 24000/1001 the label 01:00:00:00 comes 3603.6 s after 00:00:00:00.
Drop-frame labels (written with a semicolon before the frames) skip two numbers, at 60000/1001 four, at the
start of every minute that ten does not divide (SMPTE ST 12-1).
"""

import re
from fractions import Fraction

NTSC_30 = Fraction(30000, 1001)
NTSC_60 = Fraction(60000, 1001)
TIMECODE_RATES = frozenset(
    (
        *(Fraction(rate) for rate in (24, 25, 30, 48, 50, 60)),
        *(Fraction(rate * 1000, 1001) for rate in (24, 30, 48, 60)),
    )
)
"""Rates for which SMPTE ST 12-1:2014 gives timecode labels (its scope)."""
DROP_FRAME_RATES = frozenset((NTSC_30, NTSC_60))

_LABEL = re.compile(r"(\d{2}):(\d{2}):(\d{2})([:;])(\d{2})", re.ASCII)


def rate_text(rate: Fraction) -> str:
    """The exact rate as text; ``parse_rate`` reads it back.

    >>> rate_text(Fraction(24000, 1001)), rate_text(Fraction(25))
    ('24000/1001', '25')
    """
    return str(rate)


def parse_rate(text: str) -> Fraction:
    """Read an exact rate such as ``24000/1001`` or ``25``. Raises ValueError."""
    if not re.fullmatch(r"\d{1,9}(/\d{1,9})?", text, re.ASCII):
        raise ValueError(f"{text[:40]!r} is not a frame rate; write it as 25 or 24000/1001.")
    numerator, _, denominator = text.partition("/")
    if int(numerator) == 0 or (denominator and int(denominator) == 0):
        raise ValueError(f"{text!r} is not a frame rate; it has to be above zero.")
    return Fraction(int(numerator), int(denominator or 1))


def rate_words(rate: Fraction) -> str:
    """The rate as a person says it, three decimals at most.

    >>> rate_words(Fraction(24000, 1001)), rate_words(Fraction(60000, 1001)), rate_words(Fraction(25))
    ('23.976', '59.94', '25')
    """
    return f"{float(rate):.3f}".rstrip("0").rstrip(".")


def nearest_frame(seconds: float | Fraction, rate: Fraction) -> int:
    """The frame whose start is nearest; of two equally near ones the later.

    >>> nearest_frame(0.5, Fraction(25)), nearest_frame(-0.0199, Fraction(25))
    (13, 0)
    """
    doubled = 2 * Fraction(seconds) * rate + 1
    return doubled.numerator // (2 * doubled.denominator)


def frame_number(label: str, rate: Fraction) -> int:
    """How many frames lie between 00:00:00:00 and a timecode label.

    Raises ValueError for text that is no label, for a label that drop-frame counting skips, and for a rate
    that has no timecode.

    >>> frame_number("00:01:00;02", NTSC_30)
    1800
    """
    base = _base(rate)
    match = _LABEL.fullmatch(label)
    if match is None:
        raise ValueError(
            f"{label!r} is not a timecode; it is written as 01:00:00:00, or 01:00:00;00 for drop-frame."
        )
    hours, minutes, seconds, frames = (int(match[n]) for n in (1, 2, 3, 5))
    if hours > 23 or minutes > 59 or seconds > 59 or frames >= base:
        raise ValueError(f"{label!r} is not a timecode at {rate_words(rate)} fps.")
    number = ((hours * 60 + minutes) * 60 + seconds) * base + frames
    if match[4] == ":":
        return number
    skipped = _skipped(rate)
    if minutes % 10 and seconds == 0 and frames < skipped:
        raise ValueError(f"{label!r} does not exist: drop-frame counting skips this label.")
    whole_minutes = hours * 60 + minutes
    return number - skipped * (whole_minutes - whole_minutes // 10)


def timecode(frame: int, rate: Fraction, *, drop_frame: bool = False) -> str:
    """The label of a frame, counted from 00:00:00:00; after 24 hours of labels it begins again.

    Raises ValueError for a negative frame, for a rate that has no timecode, and for drop-frame at a rate
    that has none.

    >>> timecode(1800, NTSC_30, drop_frame=True)
    '00:01:00;02'
    >>> timecode(86400, Fraction(24000, 1001))
    '01:00:00:00'
    """
    base = _base(rate)
    if frame < 0:
        raise ValueError("Timecode starts at 00:00:00:00; there is no label before it.")
    if drop_frame:
        skipped = _skipped(rate)
        per_minute = 60 * base - skipped
        per_ten = 10 * per_minute + skipped  # the first of ten minutes skips nothing
        tens, rest = divmod(frame, per_ten)
        minutes = (rest - skipped) // per_minute if rest >= skipped else 0
        frame += skipped * (9 * tens + minutes)
    seconds, frames = divmod(frame, base)
    mark = ";" if drop_frame else ":"
    return f"{seconds // 3600 % 24:02}:{seconds // 60 % 60:02}:{seconds % 60:02}{mark}{frames:02}"


def _base(rate: Fraction) -> int:
    """Frames to a second of labels."""
    if rate not in TIMECODE_RATES:
        raise ValueError(f"There is no timecode at {rate_words(rate)} fps.")
    return round(rate)


def _skipped(rate: Fraction) -> int:
    if rate not in DROP_FRAME_RATES:
        raise ValueError(f"There is no drop-frame timecode at {rate_words(rate)} fps.")
    return 2 if rate == NTSC_30 else 4
