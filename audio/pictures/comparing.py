"""Two clips held against each other by what stands still in them: how alike framing and light are.

Gradients tell the framing and hardly change with exposure; they are compared where they lie best over each
other within a little, and that is set against the best place anywhere: a camera that was moved fits better
further off. Light is compared as what is left when one is made as bright and as warm as the other.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from audio.pictures.portraits import COARSE, Edges, Plane, Portrait, correlation, finer, fit, shifts

NEAR = 0.14
"""How far off, in picture heights, a set-up may be in another take; by hand: cameras in a hand are so far."""
_OVERLAP = 0.4
"""Least share of the picture that both have at a shift that is looked at; by hand."""
_CELL = 12
"""Lines and columns of a cell, a sixth of the height; by hand: a player fills some, not most."""
_ALIKE = 0.5
"""Correlation of edges from which a cell shows the same; by hand, between those that do and do not."""
_FAINT = 4.0
"""Edges in a cell (sum of squares) at which it counts half; by hand, one line through it."""


@dataclass(frozen=True, slots=True)
class Compared:
    """How two clips compare."""

    fit: float
    """Correlation of edges where they lie best within `NEAR`, -1 to 1."""
    share: float
    """Share of the cells with edges that show the same there, 0 to 1."""
    gap: float
    """How much better they fit further off, 0 where they do not."""
    shift: float
    """How far off they fit best within `NEAR`, in picture heights."""
    uneven: float
    """Median difference of brightness once one is made as bright as the other, stops."""
    hue: float
    """The same of colour."""
    tone: float
    """How much brighter one is, stops."""
    balance: float
    """How far their colour balance is apart, stops."""
    edges: float
    """Share of the cells with edges, 0 to 1: little there to tell by, little is told."""
    unrest: float
    """Of the clip that moves more, see `Portrait.unrest`."""
    rest: float
    """Of the clip that moves less."""


def compared(one: Portrait, other: Portrait) -> Compared:
    """Compare two clips of one picture shape."""
    lines = one.edges.shape[0]
    surface = correlation(one.spectra, other.spectra, _OVERLAP)
    down, right = shifts(*surface.shape)
    near = np.where(np.hypot(down, right) <= NEAR * lines, surface, -2.0)
    at = np.unravel_index(int(near.argmax()), near.shape)
    by = finer(one.edges, other.edges, int(down[at]), int(right[at]))
    laid = np.roll(one.edges, by, (0, 1))
    share, edges = _cells(laid, other.edges)
    places = round(by[0] / COARSE), round(by[1] / COARSE)
    still = np.roll(one.still, places, (0, 1)) * other.still
    apart = np.roll(one.light, places, (0, 1)) - other.light
    bright = apart.mean(axis=2)
    colour = apart - bright[..., None]
    tone = _median(bright, still)
    balance = np.array([_median(colour[..., n], still) for n in range(3)], np.float32)
    return Compared(
        fit=fit(laid, other.edges),
        share=share,
        gap=float(surface.max() - near[at]),
        shift=math.hypot(*by) / lines,
        uneven=_median(np.abs(bright - tone), still),
        hue=_median(np.abs(colour - balance).max(axis=2), still),
        tone=abs(tone),
        balance=float(np.abs(balance).max()),
        edges=edges,
        unrest=max(one.unrest, other.unrest),
        rest=min(one.unrest, other.unrest),
    )


def _cells(one: Edges, other: Edges) -> tuple[float, float]:
    """The share of cells that show the same, and the share that has edges to tell by."""
    mine, theirs = _sums(np.abs(one) ** 2), _sums(np.abs(other) ** 2)
    agreed = _sums((one * other.conj()).real) / (np.sqrt(mine * theirs) + _FAINT / 8)
    weight = np.maximum(mine, theirs)
    weight = weight / (weight + _FAINT)
    share = float((weight * (agreed > _ALIKE)).sum() / (weight.sum() + 0.5))
    return share, float(weight.mean())


def _sums(values: Plane) -> Plane:
    side = min(_CELL, *values.shape)
    lines, columns = values.shape[0] // side, values.shape[1] // side
    cut = values[: lines * side, : columns * side]
    return np.asarray(cut.reshape(lines, side, columns, side).sum(axis=(1, 3)), np.float32)


def _median(values: NDArray[np.floating], weights: Plane) -> float:
    """The weighted median."""
    order = np.argsort(values, axis=None)
    heap = np.cumsum(weights.ravel()[order])
    at = min(int(np.searchsorted(heap, heap[-1] / 2)), len(order) - 1)
    return float(values.ravel()[order[at]])
