"""What values of a shoot file may be: beyond these bounds no person and no engine wrote them.

A shoot file may come from anywhere. What is far beyond all sense in it would be refused by arithmetic later,
or would keep the window busy for ever.
"""

import os
from fractions import Fraction

from app.model.storage.json_node import WrongShape, shown

MOST_BYTES = 64_000_000
"""Of a file: several thousand clips with all that is known of them. In memory it takes ten times that."""
MOST_S = 1_000_000.0
"""Times and lengths, either way (s): eleven days."""
SPEEDS = (Fraction(1, 100), Fraction(100))
FRAME_RATES = (Fraction(1, 2), Fraction(2_000))
"""Frames a second, as `audio.files.plausible` believes them of files."""
TEMPOS_BPM = (0.01, 100_000.0)
MOST_NUMBER = 1e12
"""Figures without a unit of their own."""
MOST_COUNT = 1_000_000
"""Bars, angles, frames, pixels."""
MOST_BEATS = 100
"""Of a bar."""
MOST_WHOLE = 2**53
"""Bytes of a file, and seeds: what every reader of JSON keeps exactly."""
MOST_LETTERS = 40_000
"""Of one text: more than a field of the window takes (32,767)."""
MOST_PATH = 4_096
"""Letters of a path: what systems take (PATH_MAX of Linux)."""
MOST_ITEMS = 400_000
"""Of one list: beats of a day are 200,000."""


def check_number(where: str, name: str, value: float) -> None:
    """Refuse a number that a field of that name cannot have. Raises WrongShape."""
    if name.endswith("_s"):
        low, high = -MOST_S, MOST_S
    elif name == "speed":
        low, high = float(SPEEDS[0]), float(SPEEDS[1])
    elif name.endswith("_bpm"):
        low, high = TEMPOS_BPM
    else:
        low, high = -MOST_NUMBER, MOST_NUMBER
    if not low <= value <= high:
        raise WrongShape(f"{name!r} of {where} is {value:.6g}, which cannot be")


def check_fraction(where: str, name: str, value: Fraction) -> None:
    """Refuse a frame rate or speed that cannot be. Raises WrongShape."""
    low, high = SPEEDS if name == "speed" else FRAME_RATES
    if not low <= value <= high:
        raise WrongShape(f"{name!r} of {where} is {float(value):.6g}, which cannot be")


def check_count(where: str, name: str, value: int) -> None:
    """Refuse a count that cannot be. Raises WrongShape."""
    if value > (MOST_WHOLE if name in ("size_bytes", "seed") else MOST_COUNT):
        raise WrongShape(f"{name!r} of {where} is {shown(value)}, which cannot be")


def check_items(where: str, name: str, number: int) -> None:
    """Refuse a list that is far too long. Raises WrongShape."""
    if number > MOST_ITEMS:
        raise WrongShape(f"{name!r} of {where} has {number} entries; no shoot has so many")


def check_text(where: str, name: str, value: str) -> None:
    """Refuse a text that is far too long, or that no system has written. Raises WrongShape."""
    most = MOST_PATH if name == "path" else MOST_LETTERS
    if len(value) > most:
        raise WrongShape(f"{name!r} of {where} is {len(value)} letters long; {most} is the most")
    if value.isascii() and "\0" not in value:
        return
    try:
        if name == "path":
            os.fsencode(value)
        # Of file names that are no valid text each odd byte is kept as half a surrogate pair (PEP 383); an id
        # or a digest is never made of one.
        value.encode("utf-8", "strict" if name.endswith(("id", "digest")) else "surrogateescape")
    except UnicodeEncodeError:
        raise WrongShape(f"{name!r} of {where} is not valid text") from None
    if "\0" in value:
        raise WrongShape(f"{name!r} of {where} has a character in it that ends texts")
