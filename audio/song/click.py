"""A song played to a click keeps its beat from end to end, whatever the band plays between the beats."""

import numpy as np
from numpy.typing import NDArray

_NEAR, _STEPS = 0.012, 1201
"""How far the period may be off at first, and the periods tried."""
_RIGID = 0.8
"""So many beats on a click or half-way between agree (length of their mean direction); live ones do not."""


def click_grids(frames: NDArray[np.float64]) -> list[NDArray[np.float64]]:
    """The two rows of beats, half a beat apart, that a chain of beats follows if there was a click.

    None where the tempo strays. A chain that slips half a beat in a section follows both by turns.
    """
    if frames.size < 32:
        return []
    period = float(np.median(np.diff(frames)))
    tried = period * np.linspace(1 - _NEAR, 1 + _NEAR, _STEPS)
    # Twice the rate: a beat and an off-beat point the same way.
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
    """Equally spaced beats moved onto the chain, or half-way between two of its beats: none is exact."""
    places = np.sort(np.concatenate([frames, 0.5 * (frames[1:] + frames[:-1])]))
    after = np.clip(np.searchsorted(places, grid), 1, places.size - 1)
    nearest = np.where(grid - places[after - 1] < places[after] - grid, places[after - 1], places[after])
    return np.where(np.abs(nearest - grid) < 0.2 * period, nearest, grid)
