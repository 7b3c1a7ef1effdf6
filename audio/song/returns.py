"""What comes back: where a stretch of the song that is heard elsewhere too begins or ends.

A chorus need not sound unlike the verse before it, but its chords come again. Where two stretches of a song
begin to agree, so many bars apart, or cease to, a section is likely to begin.
"""

import numpy as np
from numpy.typing import NDArray

_NEAR_BARS = 4
"""Bars before and after a line over which agreement is averaged."""
_LEAST_LAG = 4
"""Nearer than that, it is the harmony that stands still."""


def returns(harmony: NDArray[np.float64]) -> NDArray[np.float64]:
    """How much agreement with any other place of the song begins or ends at each bar line.

    ``harmony`` holds a row for each bar, shape (bars, values); the result has shape (bars + 1,), and lies
    between 0 and 2.

    >>> verse, chorus, bridge = np.eye(20)[:8], np.eye(20)[8:12], np.eye(20)[12:]
    >>> song = np.concatenate([verse, chorus, bridge, chorus, np.roll(verse, 2, axis=1)])
    >>> [line for line, value in enumerate(returns(song)) if value > 0.99]
    [8, 12, 20, 24]
    """
    bars = len(harmony)
    rows = harmony - harmony.mean(axis=0)
    rows /= np.linalg.norm(rows, axis=1, keepdims=True) + 1e-9
    likeness = rows @ rows.T
    found = np.zeros(bars + 1)
    for lag in range(_LEAST_LAG, bars - 3):
        sums = np.concatenate([[0.0], np.cumsum(np.diagonal(likeness, lag))])
        line = np.arange(2, bars - lag - 1)
        width = np.minimum(_NEAR_BARS, np.minimum(line, bars - lag - line))
        # The mean after less the mean before, as much less sure as fewer bars are left.
        step = np.abs(sums[line + width] - 2 * sums[line] + sums[line - width]) / _NEAR_BARS
        found[line] = np.maximum(found[line], step)
        found[line + lag] = np.maximum(found[line + lag], step)
    return found
