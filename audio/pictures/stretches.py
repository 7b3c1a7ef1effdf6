"""Stretches of a clip in which something holds, from one answer per picture."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

_LONGEST_STEP_S = 1.5
"""What one picture says holds at most so long when the next one is far away; by hand, above the distance of
key frames."""


@dataclass(frozen=True, slots=True)
class Found:
    """A stretch of a clip (clip time in seconds) in which something is wrong, and by how much."""

    clip_start_s: float
    clip_end_s: float
    measure: float


def steps_s(clip_s: NDArray[np.float64]) -> NDArray[np.float64]:
    """How long each picture stands for: until the next one.

    >>> steps_s(np.array([0.0, 0.5, 0.54, 9.0])).round(2).tolist()
    [0.5, 0.04, 1.5, 1.5]
    """
    if clip_s.size < 2:
        return np.zeros(clip_s.size)
    steps = np.minimum(np.diff(clip_s), _LONGEST_STEP_S)
    return np.append(steps, steps[-1])


def stretches(
    holds: NDArray[np.bool_], clip_s: NDArray[np.float64], *, join_s: float, least_s: float
) -> Iterator[tuple[int, int]]:
    """First and last row of each stretch in which ``holds`` is true, breaks of up to ``join_s`` included.

    Stretches shorter than ``least_s`` are left out; the last picture of one lasts until the next picture.

    >>> times = np.arange(10) / 10
    >>> list(stretches(np.array([0, 1, 1, 0, 1, 0, 0, 0, 1, 0]) > 0, times, join_s=0.1, least_s=0.25))
    [(1, 4)]
    """
    rows = np.flatnonzero(holds)
    if not rows.size:
        return
    long_s = steps_s(clip_s)
    breaks = clip_s[rows[1:]] - (clip_s[rows[:-1]] + long_s[rows[:-1]]) > join_s + 1e-6
    for part in np.split(rows, np.flatnonzero(breaks) + 1):
        first, last = int(part[0]), int(part[-1])
        if clip_s[last] + long_s[last] - clip_s[first] >= least_s - 1e-6:
            yield first, last
