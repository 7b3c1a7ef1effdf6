"""Repetition boundaries: bar lines at which a repeated passage begins or ends.

A chorus need not sound unlike the verse before it, but its chords are repeated later. In the self-similarity
matrix of the bars a repetition is a stretch of high values along a diagonal; sections tend to begin where
such a stretch starts or stops.
"""

import numpy as np
from numpy.typing import NDArray

_NEAR_BARS = 4
"""Bars before and after a line over which similarity is averaged: the shortest usual section."""
_LEAST_LAG = 4
"""Least lag in bars; at shorter ones a chord that is held looks like a repetition."""


def repetition_edges(harmony: NDArray[np.float64]) -> NDArray[np.float64]:
    """How strongly a repetition of any lag begins or ends at each bar line.

    ``harmony`` has a row for each bar, shape (bars, values). The result has shape (bars + 1,), lies between 0
    and 2 (a difference of correlations) and has no unit.

    >>> verse, chorus, bridge = np.eye(20)[:8], np.eye(20)[8:12], np.eye(20)[12:]
    >>> song = np.concatenate([verse, chorus, bridge, chorus, np.roll(verse, 2, axis=1)])
    >>> [line for line, value in enumerate(repetition_edges(song)) if value > 0.99]
    [8, 12, 20, 24]
    """
    bars = len(harmony)
    rows = harmony - harmony.mean(axis=0)
    rows /= np.linalg.norm(rows, axis=1, keepdims=True) + 1e-9
    similarity = rows @ rows.T
    found = np.zeros(bars + 1)
    for lag in range(_LEAST_LAG, bars - 3):
        sums = np.concatenate([[0.0], np.cumsum(np.diagonal(similarity, lag))])
        line = np.arange(2, bars - lag - 1)
        width = np.minimum(_NEAR_BARS, np.minimum(line, bars - lag - line))
        # Mean after minus mean before; where fewer bars are left, it counts for less.
        step = np.abs(sums[line + width] - 2 * sums[line] + sums[line - width]) / _NEAR_BARS
        found[line] = np.maximum(found[line], step)
        found[line + lag] = np.maximum(found[line + lag], step)
    return found
