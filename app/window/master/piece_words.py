"""What became of a stretch of the old master, in words; and the times and figures that people type."""

import re
from collections.abc import Sequence

from app.model.renewing.told_pieces import Fate, Told
from app.window.parts.words import count, song_time

GLYPHS = {Fate.KEPT: "=", Fate.MOVED: "→", Fate.REPEATED: "↻", Fate.CUT: "×", Fate.ADDED: "+"}
"""Beside the word, which says the same."""
_TIME = re.compile(r"\s*([-−]?)(?:(\d+):)?(\d+(?:[.,]\d*)?)\s*s?\s*", re.ASCII)
SAME_SPEED = 1e-6
DISAGREE = "!"
"""Begins what wants attention."""
AGREE_S = 0.0005
"""Moments that lie so near to each other (s) say the same: half of what is promised of pieces."""


def stretch(span: tuple[float, float]) -> str:
    """From, to.

    >>> stretch((0.0, 83.25))
    '0:00.000–1:23.250'
    """
    return "–".join(map(song_time, span))


def told_words(one: Told, number: int | None = None) -> str:
    """A stretch and what became of it, in a line; ``number``: by which it is known in the drawing.

    >>> told_words(Told(Fate.MOVED, (0.0, 20.0), (2.0, 22.0), 0), 1)
    '1 → moved: 0:00.000–0:20.000 comes 2.000 s later, at 0:02.000'
    >>> told_words(Told(Fate.CUT, (20.0, 30.0), None)), told_words(Told(Fate.ADDED, None, (0.0, 2.0)))
    ('× cut: 0:20.000–0:30.000 is not in the new master', '+ added: 0:00.000–0:02.000 is new')
    >>> told_words(Told(Fate.KEPT, (0.0, 9.0), (0.0, 9.0), 0), 2)
    '2 = kept: 0:00.000–0:09.000'
    """
    head = f"{number} " if number is not None else ""
    head += f"{GLYPHS[one.fate]} {one.fate}: "
    if one.old_s is None:
        return f"{head}{stretch(one.new_s or (0.0, 0.0))} is new"
    said = head + stretch(one.old_s)
    if one.new_s is None:
        return f"{said} is not in the new master"
    if one.fate is Fate.REPEATED:
        said += f" comes again at {song_time(one.new_s[0])}"
    elif one.fate is Fate.MOVED:
        said += f" {moved_words(one)}"
    speed = speed_words(one.speed)
    return f"{said}, {speed}" if speed else said


def moved_words(one: Told) -> str:
    """How much later or earlier a stretch comes."""
    at = song_time((one.new_s or (0.0, 0.0))[0])
    if abs(one.moved_s) < 0.0005:
        return f"begins as before, at {at}"
    return f"comes {abs(one.moved_s):.3f} s {'later' if one.moved_s > 0 else 'earlier'}, at {at}"


def speed_words(speed: float) -> str:
    """How much faster or slower a master runs than the one before; empty where it runs alike.

    >>> speed_words(1 / 1.003), speed_words(1 / 0.98), speed_words(1.0)
    ('0.3 % faster', '2 % slower', '')
    """
    if abs(speed - 1) < SAME_SPEED:
        return ""
    percent = 100 * (1 / speed - 1)
    return f"{abs(percent):.4f}".rstrip("0").rstrip(".") + f" % {'faster' if percent > 0 else 'slower'}"


def short_words(one: Told) -> str:
    """What is written on a stretch in the drawing."""
    if one.fate is Fate.MOVED and abs(one.moved_s) >= 0.0005:
        return f"moved {'+' if one.moved_s > 0 else '−'}{abs(one.moved_s):.3f} s"
    return one.fate.value


def summary(told: Sequence[Told]) -> str:
    """All stretches in a sentence.

    >>> summary([Told(Fate.KEPT, (0.0, 9.0), (0.0, 9.0), 0), Told(Fate.CUT, (9.0, 12.0), None)])
    '1 piece lives on, 1 cut.'
    """
    pieces = [one for one in told if one.number is not None]
    again = sum(one.fate is Fate.REPEATED for one in pieces)
    cut, added = (sum(one.fate is fate for one in told) for fate in (Fate.CUT, Fate.ADDED))
    lives = len(pieces) - again
    parts = [f"{count(lives, 'piece')} {'lives' if lives == 1 else 'live'} on"]
    parts += [
        f"{number} {word}" for number, word in ((again, "repeated"), (cut, "cut"), (added, "added")) if number
    ]
    return ", ".join(parts) + "."


def proof_words(lates_s: Sequence[float | None]) -> str:
    """How two masters agree at some moments of a piece: how late it lies at each, None where nobody can tell.

    >>> proof_words([0.00001, -0.0002, 0.0101, 0.0, None])
    'Both masters agree at 3 of 5 moments of this piece, to within 0.2 ms.'
    >>> proof_words([0.0101, 0.01, 0.0099, 0.01, 0.01])
    '! This piece lies 10.0 ms late: so it is at 5 of 5 moments.'
    >>> proof_words([None, None])
    '! The masters do not agree at any of 2 moments: is this the right place?'
    """
    heard = sorted(one for one in lates_s if one is not None)
    if not heard:
        return (
            f"{DISAGREE} The masters do not agree at any of {len(lates_s)} moments: is this the right place?"
        )
    middle_s = heard[len(heard) // 2]
    near = [one for one in heard if abs(one - middle_s) <= AGREE_S]
    moments = f"{len(near)} of {len(lates_s)} moments"
    if abs(middle_s) <= AGREE_S:
        worst_ms = max(1000 * max(map(abs, near)), 0.1)
        return f"Both masters agree at {moments} of this piece, to within {worst_ms:.1f} ms."
    way = "late" if middle_s > 0 else "early"
    return f"{DISAGREE} This piece lies {abs(middle_s) * 1000:.1f} ms {way}: so it is at {moments}."


def typed_time(text: str) -> float:
    """Seconds of a time as it is typed. Raises ValueError with a sentence.

    >>> typed_time("1:02.5"), typed_time("62,5 s"), typed_time("-0.02")
    (62.5, 62.5, -0.02)
    """
    found = _TIME.fullmatch(text)
    if found is None:
        raise ValueError(f"“{text.strip()}” is not a time. Write it as 1:02.345, or in seconds.")
    seconds = 60 * int(found[2] or 0) + float(found[3].replace(",", "."))
    return -seconds if found[1] else seconds


def typed_speed(text: str) -> float:
    """A speed as it is typed. Raises ValueError with a sentence.

    >>> typed_speed("1.003"), typed_speed("0,997")
    (1.003, 0.997)
    """
    try:
        return float(text.replace(",", "."))
    except ValueError:
        raise ValueError(f"“{text.strip()}” is not a speed. Write it as 1.003.") from None
