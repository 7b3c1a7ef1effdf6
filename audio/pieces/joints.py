"""Where two pieces of a new master meet, to the millisecond.

Whitened sound tells pieces, but spreads over some tens of milliseconds. Where pieces are known, the sound as
it is tells the rest: up to the joint it is that of the first piece, from there on that of the second.
"""

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline

from audio.line import Line
from audio.pieces.piece import Piece
from audio.placement.search import SongIndex
from audio.signals import Samples

WIDEST_HOLE_S = 0.3
"""Pieces further apart than this do not meet (s)."""
AROUND_S = 0.12
"""So far beyond the edges of both the joint is looked for (s)."""
INSIDE_S = 0.5
"""How much of each piece tells how loud the old master is in it (s)."""
ALIKE = 0.7
"""Correlation from which on two stretches are the same sound; of two strangers it is about 0."""
LIKE = 0.5
"""Share of the power of both that may be left of their difference at the joint: of two strangers it is 1."""


def joint(new: Samples, old: SongIndex, before: Piece, after: Piece) -> float | None:
    """The moment of the new master at which one piece of the old one gives way to the next; None where
    something else may lie between them.

    Parameters
    ----------
    new : float32, shape (n,)
        At the rate of ``old``, as it is (not whitened).
    before, after : Piece
        One after the other in the new master.
    """
    rate = old.rate
    hole_s = after.start_s - before.end_s
    if not -AROUND_S <= hole_s <= WIDEST_HOLE_S:
        return None
    low_s = max(before.start_s, min(before.end_s, after.start_s) - AROUND_S)
    high_s = min(after.end_s, max(before.end_s, after.start_s) + AROUND_S)
    low, high = max(0, round(low_s * rate)), min(len(new), round(high_s * rate))
    if high - low < rate // 100:
        return None
    here = new[low:high].astype(np.float64)
    first = _gain(new, old, before.line, low - INSIDE_S * rate, low) * _along(old, before.line, low, high)
    second = _gain(new, old, after.line, high, high + INSIDE_S * rate) * _along(old, after.line, low, high)
    # What is left of each where the other is there, summed up to every moment.
    left = np.concatenate([[0.0], np.cumsum((here - first) ** 2 - (here - second) ** 2)])
    at = int(left.argmin())
    model = np.concatenate([first[:at], second[at:]])
    hole = slice(max(0, round(before.end_s * rate) - low), max(1, round(after.start_s * rate) - low))
    apart = float(np.sum((here[hole] - model[hole]) ** 2))
    both = float(np.sum(here[hole] ** 2) + np.sum(model[hole] ** 2))
    if hole_s > 0 and apart > LIKE * both:
        return None
    return (low + at) / rate


def alike(new: Samples, old: SongIndex, line: Line, from_s: float, to_s: float) -> bool:
    """Whether a stretch of the new master sounds as the old one along a line, whatever their levels."""
    low, high = max(0, round(from_s * old.rate)), min(len(new), round(to_s * old.rate))
    if high - low < old.rate // 100:
        return False
    song, here = _along(old, line, low, high), new[low:high].astype(np.float64)
    shared = float(song @ here) / (float(np.sqrt((song @ song) * (here @ here))) + 1e-12)
    return shared >= ALIKE


def _along(old: SongIndex, line: Line, low: int, high: int) -> NDArray[np.float64]:
    """The old master under samples of the new one, shape (high - low,); silence beyond its ends."""
    places = line.song_time(np.arange(low, high) / old.rate) * old.rate
    first, last = int(np.floor(places[0])) - 8, int(np.ceil(places[-1])) + 9
    grid = np.arange(first, last)
    there = (grid >= 0) & (grid < len(old.samples))
    values = np.where(there, old.samples[np.clip(grid, 0, len(old.samples) - 1)], 0.0)
    return np.asarray(CubicSpline(grid, values)(places), np.float64)


def _gain(new: Samples, old: SongIndex, line: Line, low: float, high: float) -> float:
    """How loud the old master is in a stretch of the new one."""
    first, last = max(0, round(low)), min(len(new), round(high))
    if last - first < old.rate // 50:
        return 1.0
    song, here = _along(old, line, first, last), new[first:last].astype(np.float64)
    return max(0.0, float(song @ here) / (float(song @ song) + 1e-12))
