"""Metadata tags of a file: start timecode, make, model, time of recording."""

import re
from collections.abc import Iterable, Mapping
from datetime import datetime
from fractions import Fraction

_TIMECODE = re.compile(r"(\d\d):([0-5]\d):([0-5]\d)([:;.])(\d\d\d?)$")


def timecode_frames(text: str, rate: Fraction) -> int | None:
    """Frame count since midnight of a timecode; None where the text is no valid timecode at that rate.

    ``rate`` is in frames a second. Drop-frame (``;``) skips labels 0 and 1 (at 60 frames 0 to 3) of every
    minute not divisible by ten (SMPTE ST 12-1).

    >>> timecode_frames("01:00:00;00", Fraction(30000, 1001)), timecode_frames("00:00:00:25", Fraction(25))
    (107892, None)
    """
    found = _TIMECODE.match(text.strip())
    base = round(rate)
    if found is None:
        return None
    hours, minutes, seconds, number = (int(found[n]) for n in (1, 2, 3, 5))
    drop = _dropped(found[4], base)
    if drop is None or number >= base or hours > 23:
        return None
    minute = hours * 60 + minutes
    return (minute * 60 + seconds) * base + number - drop * (minute - minute // 10)


def advance_timecode(text: str, frames: int, rate: Fraction) -> str | None:
    """Timecode ``frames`` later, wrapping after 24 hours; None where the text is no valid timecode at that
    rate.

    For 0 frames it is the text unchanged, even at another rate: pictures at 50 or 60 a second are often
    counted in pairs.

    >>> advance_timecode("00:00:59;29", 1, Fraction(30000, 1001))
    '00:01:00;02'
    >>> advance_timecode("23:59:59:24", 1, Fraction(25))
    '00:00:00:00'
    """
    if frames == 0:
        return text.strip() if _TIMECODE.match(text.strip()) else None
    count = timecode_frames(text, rate)
    if count is None:
        return None
    base = round(rate)
    sign = text.strip()[8]
    drop = _dropped(sign, base) or 0
    per_ten = base * 600 - 9 * drop
    tens, rest = divmod((count + frames) % (144 * per_ten), per_ten)
    if rest >= base * 60:
        rest += drop * (1 + (rest - base * 60) // (base * 60 - drop))
    seconds, number = divmod(tens * 600 * base + rest, base)
    width = max(2, len(str(base - 1)))
    clock = f"{seconds // 3600:02d}:{seconds // 60 % 60:02d}:{seconds % 60:02d}"
    return f"{clock}{';' if drop else ':'}{number:0{width}d}"


def _dropped(sign: str, base: int) -> int | None:
    """Labels dropped per minute; None where there is no drop-frame at that rate."""
    if sign == ":":
        return 0
    return base // 15 if base in (30, 60, 120) else None


def first(tags: Iterable[Mapping[str, str]], *names: str) -> str | None:
    """The first non-empty value of these names in any case; earlier names win, then earlier sets of tags."""
    lowered = [{key.lower(): value.strip() for key, value in one.items()} for one in tags]
    for name in names:
        for one in lowered:
            if one.get(name):
                return one[name]
    return None


def recording_time(tags: Iterable[Mapping[str, str]]) -> str | None:
    """ISO 8601 text of the time of recording; None where the file has none that is plausible.

    Clocks that were never set start in 1904, 1970 or 1980.

    >>> recording_time([{"creation_time": "2026-05-01 12:00:00"}])
    '2026-05-01T12:00:00'
    """
    tags = list(tags)
    date, time = first(tags, "origination_date", "date"), first(tags, "origination_time", "creation_time")
    candidates = [
        first(tags, "creation_time"),
        first(tags, "com.apple.quicktime.creationdate", "modification_date"),
    ]
    if date and time:
        candidates.append(f"{date}T{time}")
    candidates.append(date)
    for text in candidates:
        if text is None or not re.match(r"\d{4}-\d\d-\d\d", text):
            continue
        text = text.replace(" ", "T", 1)
        try:
            year = datetime.fromisoformat(text).year
        except ValueError:
            continue
        if year > 1980:
            return text
    return None
