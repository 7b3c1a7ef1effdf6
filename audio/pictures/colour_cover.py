"""Colours of two sets of pixels brought to cover each other: the shift between them, in stops.

Light is given in stops (logarithms to base 2), shape (pixels, 3): red, green, blue.
"""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage, signal

Floats = NDArray[np.float64]

_BIN = 0.125
"""Stops to a bin of the histograms: about the noise of a camera's chrominance."""
_WIDE = 5.0
"""Stops that red and blue lie from green at most; beyond that is noise."""
_REACH = 3.0
"""Stops by which balances may differ at most: from candle to shade is less."""
_USUAL = 2.0
"""Standard deviation, in stops, of how far balances differ: a weak wish."""
_USUAL_STOPS = 1.0
"""The same of exposures, about where ranks of light agree: what fills pictures is seldom that different."""
_MOST_STOPS = 5.0
_COLOUR = 0.5
"""Stops within which two pixels count as of one colour."""
_LEAST_SHARE = 0.004
"""Colours with fewer of the pixels tell nothing."""
_LEVEL_RANKS = (0.25, 0.5, 0.75, 0.9)
_SHAPE = (20, 20, 40)
"""Colours and levels told apart for the rough shift."""
_ROUGH_PIXELS = 4000


def colours(stops: Floats) -> Floats:
    """Red and blue against green; shape (pixels, 2)."""
    return np.stack([stops[:, 0] - stops[:, 1], stops[:, 2] - stops[:, 1]], axis=1)


def shift_of_balance(ours: Floats, theirs: Floats) -> tuple[float, float, float]:
    """Stops by which red, and blue, are stronger against green in the first, and how well both then cover.

    From colours as `colours` gives them. 1 is a perfect cover.
    """
    first, second = _histogram(ours), _histogram(theirs)
    size = len(first)
    shifts = (np.arange(2 * size - 1) - (size - 1)) * _BIN
    cover = signal.fftconvolve(first, second[::-1, ::-1], mode="full")
    cover /= np.sqrt((first**2).sum() * (second**2).sum())
    wish = np.exp(-(shifts**2) / (2 * _USUAL**2)) * (np.abs(shifts) <= _REACH)
    score = np.maximum(cover, 0.0) * wish[:, None] * wish[None, :]
    row, column = np.unravel_index(int(np.argmax(score)), score.shape)
    rows, columns = slice(row - 2, row + 3), slice(column - 2, column + 3)
    # Between bins: the centre of mass of the peak, which its power makes narrow.
    weights = score[rows, columns] ** 8
    red = float((weights.sum(axis=1) * shifts[rows]).sum() / weights.sum())
    blue = float((weights.sum(axis=0) * shifts[columns]).sum() / weights.sum())
    return red, blue, float(cover[row, column])


def level_shift(ours: Floats, theirs: Floats, red: float, blue: float) -> tuple[float, float]:
    """Stops by which green is brighter in the first, colour by colour, and the standard error of that.

    The colours of the first are moved by ``red`` and ``blue`` before. The error is infinite where no colour
    is in both.
    """
    moved = np.rint((colours(ours) - np.array([red, blue])) / _COLOUR).astype(np.int64)
    there = np.rint(colours(theirs) / _COLOUR).astype(np.int64)
    codes = [one[:, 0] * 1000 + one[:, 1] for one in (moved, there)]
    levels, weights = [], []
    for code in np.intersect1d(codes[0], codes[1]):
        greens = [one[of == code, 1] for one, of in zip((ours, theirs), codes, strict=True)]
        share = min(len(greens[0]) / len(ours), len(greens[1]) / len(theirs))
        if share > _LEAST_SHARE:
            ranked = [np.quantile(green, _LEVEL_RANKS) for green in greens]
            levels += list(ranked[0] - ranked[1])
            weights += [np.sqrt(share)] * len(_LEVEL_RANKS)
    if not levels:
        return 0.0, float("inf")
    values, heavy = np.array(levels), np.array(weights)
    middle = _median(values, heavy)
    spread = 1.4826 * _median(np.abs(values - middle), heavy)
    return middle, 1.2533 * spread / float(np.sqrt(len(levels) / len(_LEVEL_RANKS)))


def rough_stops(both: Callable[[float], tuple[Floats, Floats, float] | None], begin: float) -> float:
    """The exposure at which levels of every colour are spread most alike in what both show.

    ``both`` gives, for stops of exposure, the pixels that both would show (their balance evened out), and the
    smaller share of them; None where they are too few. The less both show, the more alike it is; so what they
    do not show counts against it, and so does being far from ``begin``.
    """
    best, found = -1.0, begin
    for stops in np.arange(-_MOST_STOPS, _MOST_STOPS + 0.1, 0.25):
        pair = both(float(stops))
        if pair is None:
            continue
        first, second = _spread(pair[0] - stops), _spread(pair[1])
        usual = float(np.exp(-((stops - begin) ** 2) / (2 * _USUAL_STOPS**2)))
        score = float(np.sqrt(first * second).sum()) * float(np.sqrt(pair[2])) * usual
        if score > best:
            best, found = score, float(stops)
    return found


def _histogram(of: Floats) -> Floats:
    """How much each colour is there, with large areas held back; shape (bins, bins)."""
    edges = np.arange(-_WIDE, _WIDE + _BIN, _BIN)
    counts, _, _ = np.histogram2d(of[:, 0], of[:, 1], bins=(edges, edges))
    return np.asarray(np.sqrt(ndimage.gaussian_filter(counts / len(of), 1.0)))


def _spread(stops: Floats) -> Floats:
    """Share of the pixels of each colour at each level; flat."""
    some = stops[:: max(1, len(stops) // _ROUGH_PIXELS)]
    places = np.concatenate([colours(some) / _COLOUR + 10, some[:, 1:2] / _COLOUR + 32], axis=1)
    whole = np.clip(np.rint(places), 0, np.array(_SHAPE) - 1).astype(np.intp)
    flat = np.ravel_multi_index((whole[:, 0], whole[:, 1], whole[:, 2]), _SHAPE)
    return np.bincount(flat, minlength=int(np.prod(_SHAPE))) / len(some)


def _median(values: Floats, weights: Floats) -> float:
    """The weighted median."""
    order = np.argsort(values)
    total = np.cumsum(weights[order])
    return float(values[order][np.searchsorted(total, total[-1] / 2)])
