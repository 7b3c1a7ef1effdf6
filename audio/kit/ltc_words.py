"""The 80-bit words of linear timecode (SMPTE ST 12-1:2014, section 9): a label as bits, and back.

Figures are binary-coded decimals, lowest bit first. User bits, eight groups of four between them, hold a
number that tells whose timecode it is; of what kind they are is left open, as the standard allows. Bits that
steer colour framing and the clock are zero; the bit that keeps the polarity of all words alike is set where
it must be. The bits' places are written from memory of the standard and checked against another decoder in
the tests.
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

WORD = 80
"""Bits in a word; one word a frame."""
SYNC = np.array([0, 0, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 0, 1], np.uint8)
"""The last sixteen bits of each word."""

_DROP_FLAG = 10
_POLARITY = 27
_POLARITY_25 = 59
"""Where words of 25 frames a second have it."""
_FIELDS = ((0, 4, 1), (8, 2, 10), (16, 4, 1), (24, 3, 10), (32, 4, 1), (40, 3, 10), (48, 4, 1), (56, 2, 10))
"""First bit, bits, and worth of each figure: frames, seconds, minutes, hours, units before tens."""
_USER = (4, 12, 20, 28, 36, 44, 52, 60)
"""First bit of each group of four user bits."""
_LARGEST = (23, 59, 59, 29)
"""Largest hour, minute, second, frame."""


@dataclass(frozen=True, slots=True, order=True)
class Label:
    """A frame's timecode."""

    hours: int
    minutes: int
    seconds: int
    frames: int
    drop_frame: bool = False

    def __str__(self) -> str:
        mark = ";" if self.drop_frame else ":"
        return f"{self.hours:02}:{self.minutes:02}:{self.seconds:02}{mark}{self.frames:02}"


def word_of(label: Label, *, base: int, user: int = 0) -> NDArray[np.uint8]:
    """The bits of a label, shape (80,), in the order they are sent; ``base`` frames to a second of labels.

    ``user`` is the number in the 32 user bits. Raises ValueError for a label that is none.

    >>> "".join(map(str, word_of(Label(1, 2, 3, 4), base=30)))
    '00100000000000001100000000000000010000000000000010000000000000000011111111111101'
    """
    figures = (label.frames, label.seconds, label.minutes, label.hours)
    for figure, largest in zip(figures, (min(base, 30) - 1, 59, 59, 23), strict=True):
        if not 0 <= figure <= largest:
            raise ValueError(f"{label} is no timecode at {base} frames a second.")
    bits = np.zeros(WORD, np.uint8)
    for number, (first, size, worth) in enumerate(_FIELDS):
        figure = figures[number // 2] // worth % 10
        bits[first : first + size] = figure >> np.arange(size) & 1
    for number, first in enumerate(_USER):
        bits[first : first + 4] = user >> (4 * number + np.arange(4)) & 1
    bits[_DROP_FLAG] = label.drop_frame
    bits[-len(SYNC) :] = SYNC
    # An even number of zeros lets each word begin with a step in the same direction.
    bits[_POLARITY_25 if base == 25 else _POLARITY] = (bits == 0).sum() % 2
    return bits


def label_in(bits: NDArray[np.uint8]) -> Label | None:
    """The label that 80 bits tell; None where they are no word of timecode."""
    if bits.shape != (WORD,) or not np.array_equal(bits[-len(SYNC) :], SYNC):
        return None
    figures = [int((bits[first : first + size] << np.arange(size)).sum()) for first, size, _ in _FIELDS]
    if any(figure > 9 for figure in figures):
        return None
    frames, seconds, minutes, hours = (
        units + 10 * tens for units, tens in zip(figures[::2], figures[1::2], strict=True)
    )
    label = Label(hours, minutes, seconds, frames, bool(bits[_DROP_FLAG]))
    told = (hours, minutes, seconds, frames)
    return label if all(one <= most for one, most in zip(told, _LARGEST, strict=True)) else None


def user_bits(bits: NDArray[np.uint8]) -> int:
    """The number in the user bits of a word.

    >>> user_bits(word_of(Label(1, 2, 3, 4), base=25, user=0xCAFE1234)) == 0xCAFE1234
    True
    """
    groups = np.concatenate([bits[first : first + 4] for first in _USER])
    return sum(int(bit) << number for number, bit in enumerate(groups))


def follows(before: Label, after: Label, base: int) -> bool:
    """Whether a label is the next one, at ``base`` frames to a second of labels."""
    return _count(after, base) - _count(before, base) in (1, 1 - 86_400 * base + _dropped(86_400, before))


def counts(labels: list[Label], base: int) -> list[int]:
    """Frames from midnight to each label, going on where midnight is passed.

    >>> counts([Label(0, 0, 59, 29, True), Label(0, 1, 0, 2, True)], base=30)
    [1799, 1800]
    """
    out: list[int] = []
    day = 0
    for number, label in enumerate(labels):
        if number and labels[number - 1].hours == 23 and label.hours == 0:
            day += 86_400 * base - _dropped(86_400, label)
        out.append(day + _count(label, base))
    return out


def _count(label: Label, base: int) -> int:
    seconds = (label.hours * 60 + label.minutes) * 60 + label.seconds
    return seconds * base + label.frames - _dropped(seconds, label)


def _dropped(seconds: int, label: Label) -> int:
    """How many labels drop-frame counting skipped before that second."""
    minutes = seconds // 60
    return 2 * (minutes - minutes // 10) if label.drop_frame else 0


def base_of(labels: list[Label]) -> int | None:
    """How many frames labels count to a second, where they pass from one second to the next; None elsewhere.

    >>> base_of([Label(1, 0, 0, 23), Label(1, 0, 1, 0)]), base_of([Label(1, 0, 0, 3), Label(1, 0, 0, 4)])
    (24, None)
    """
    for before, after in pairwise(labels):
        if after.frames < before.frames:
            return before.frames + 1
    return None
