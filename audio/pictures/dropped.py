"""Dropped frames: holes in the time stamps of a steady clip, and places where the sound lost samples."""

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from audio.pictures.stretches import Found

_HOLE = 1.75
"""A frame that lasts so many times the usual is a hole; by hand, between one frame and two."""
_STEADY = 0.25
"""Share by which the others may differ from the usual in a steady clip (as for variable rates elsewhere)."""
_UNSTEADY_SHARE = 0.05
"""Where more of the frames are off the usual length, the clip's rate varies by itself: nothing is dropped."""
_MARGIN_S = 0.25
"""On either side of a step in the sound, which is known less exactly; by hand."""
_JOIN_S = 1.0
"""Holes no further apart are one stretch; by hand: nobody marks them one by one."""


def holes(stamps: NDArray[np.float64]) -> list[tuple[float, float, int]]:
    """Where frames are missing: end of the frame before, start of the next (s), and how many are missing.

    >>> frames = np.delete(np.arange(50), [3, 4]) / 25
    >>> holes(frames)
    [(0.12, 0.2, 2)]
    """
    if stamps.size < 3:
        return []
    long_s = np.diff(stamps)
    usual = float(np.median(long_s))
    if usual <= 0:
        return []
    off = np.abs(long_s / usual - 1) > _STEADY
    if np.mean(off) > _UNSTEADY_SHARE:
        return []
    return [
        (round(float(stamps[row]) + usual, 9), float(stamps[row + 1]), round(long_s[row] / usual) - 1)
        for row in np.flatnonzero(long_s >= _HOLE * usual)
    ]


def dropped(stamps: NDArray[np.float64], steps: Sequence[float]) -> Iterator[Found]:
    """Stretches with dropped frames; ``measure`` is how many are missing, 0 where only the sound tells.

    ``steps`` are clip times (s) at which the sound engine found lost samples.
    """
    places = [(start, end, missing) for start, end, missing in holes(stamps)]
    places += [(max(0.0, one - _MARGIN_S), one + _MARGIN_S, 0) for one in steps]
    places.sort()
    while places:
        start, end, missing = places.pop(0)
        while places and places[0][0] <= end + _JOIN_S:
            following = places.pop(0)
            end, missing = max(end, following[1]), missing + following[2]
        yield Found(start, end, float(missing))
