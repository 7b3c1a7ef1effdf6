"""Songs recorded to a click track: one beat grid of constant period from end to end."""

import numpy as np
from numpy.typing import NDArray

_SEARCH, _PERIODS = 0.012, 1201
"""How far around the median period is searched (share of it), and how many periods are tried. The steps of
0.002 % keep a grid of 1000 beats within a fiftieth of a beat."""
_RIGID = 0.8
"""Mean resultant length (0 to 1) of the beat phases above which there was a click. Chosen by hand: lower
takes live bands for clicks, higher loses clicks whose beats were tracked with slips."""
_LEAST_BEATS = 32
"""Fewer beats than this fit some grid by chance; chosen by hand."""


def click_grids(frames: NDArray[np.float64]) -> list[NDArray[np.float64]]:
    """The two beat grids, half a beat apart, that tracked beats (frame numbers) lie on if there was a click.

    An empty list where the tempo drifts. Beats that slip by half a beat in some section follow both grids in
    turn, so the caller has to choose one.
    """
    if frames.size < _LEAST_BEATS:
        return []
    period = float(np.median(np.diff(frames)))
    tried = period * np.linspace(1 - _SEARCH, 1 + _SEARCH, _PERIODS)
    # Phases at twice the beat rate: beats and off-beats have the same phase.
    means = np.array([np.exp(4j * np.pi * frames / one).mean() for one in tried])
    best = int(np.abs(means).argmax())
    if abs(means[best]) < _RIGID:
        return []
    period = float(tried[best])
    first = float(np.angle(means[best]) / (4 * np.pi) * period) % (0.5 * period)
    low, high = float(frames[0]), float(frames[-1])
    grids = []
    for start in (first, first + 0.5 * period):
        number = np.arange(np.ceil((low - start) / period - 0.3), np.floor((high - start) / period + 0.3) + 1)
        grids.append(_onto(start + period * number, frames, period))
    return grids


def _onto(grid: NDArray[np.float64], frames: NDArray[np.float64], period: float) -> NDArray[np.float64]:
    """Snap grid beats to the tracked beats, or half-way between two of them, within a fifth of a period.

    The grid's period is not exact enough to be the answer; the tracked beats follow the onsets.
    """
    places = np.sort(np.concatenate([frames, 0.5 * (frames[1:] + frames[:-1])]))
    after = np.clip(np.searchsorted(places, grid), 1, places.size - 1)
    nearest = np.where(grid - places[after - 1] < places[after] - grid, places[after - 1], places[after])
    return np.where(np.abs(nearest - grid) < 0.2 * period, nearest, grid)
