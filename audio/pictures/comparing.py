"""Two clips held against each other by what stands still in them: how alike framing and light are.

Gradients tell the framing and hardly change with exposure; they are compared where they lie best over each
other within a little, and that is set against the best place anywhere: a camera that was moved fits better
further off, and one that was zoomed or moved nearer fits better at another size. Light is compared as what is
left when one is made as bright and as warm as the other.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from audio.pictures.portraits import (
    COARSE,
    Edges,
    Plane,
    Portrait,
    correlation,
    finer,
    fit,
    halved,
    shifts,
    spectra_of_half,
)

NEAR = 0.14
"""How far off, in picture heights, a set-up may be in another take; by hand: cameras in a hand are so far."""
_OVERLAP = 0.4
"""Least share of the picture that both have at a shift that is looked at; by hand."""
_CELL = 12
"""Lines and columns of a cell, a sixth of the height; by hand: a player fills some, not most."""
_ALIKE = 0.5
"""Correlation of edges from which a cell shows the same; by hand, between those that do and do not."""
ZOOMS = (1.06, 1.12, 1.19, 1.26, 1.34)
"""Sizes that are tried, of either of the two: so near that edges in corners meet within two pixels or so."""
WORTH = 0.15
"""Fit from which on other sizes are tried: clips that fit less are not one set-up anyway; by hand."""
_HELD = 0.008
"""Unrest, in picture heights, at which a camera may as well be in a hand; by hand, half a small pixel."""
_UNSEEN = 0.02
"""Unrest that a single picture would not show; by hand, that of a calm hand."""
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
    zoom: float
    """How much better they fit at the best of `ZOOMS`, below 0 where worse; 0 where none was tried."""
    shift: float
    """How far off they fit best within `NEAR`, in picture heights."""
    uneven: float
    """Median difference of brightness once one is made as bright as the other, stops."""
    hue: float
    """The same of colour."""
    balance: float
    """How far their colour balance is apart, stops."""
    edges: float
    """Share of the cells with edges, 0 to 1: little there to tell by, little is told."""
    hand: float
    """How likely both are in a hand, 0 to 1: of that which moves less, see `in_hand`."""


def compared(one: Portrait, other: Portrait) -> Compared:
    """Compare two clips of one picture shape."""
    lines = one.edges.shape[0]
    surface = correlation(one.spectra, other.spectra, _OVERLAP)
    down, right = shifts(*surface.shape)
    within = np.hypot(down, right) <= NEAR * lines
    near = np.where(within, surface, -2.0)
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
    as_they_lie = fit(laid, other.edges)
    return Compared(
        fit=as_they_lie,
        share=share,
        gap=float(surface.max() - near[at]),
        zoom=_best_zoomed(one, other, within) - float(near[at]) if as_they_lie >= WORTH else 0.0,
        shift=math.hypot(*by) / lines,
        uneven=_median(np.abs(bright - tone), still),
        hue=_median(np.abs(colour - balance).max(axis=2), still),
        balance=float(np.abs(balance).max()),
        edges=edges,
        hand=min(in_hand(one), in_hand(other)),
    )


def in_hand(portrait: Portrait) -> float:
    """From 0 for a camera that stands still to 1 for one in a hand; few pictures leave it open.

    >>> from types import SimpleNamespace as Of
    >>> [round(in_hand(Of(unrest=u, count=n)), 2) for u, n in ((0.0, 16), (0.0, 1), (0.03, 16))]
    [0.28, 0.86, 0.94]
    """
    unrest = portrait.unrest**2 + _UNSEEN**2 / portrait.count
    return unrest / (unrest + _HELD**2)


def _best_zoomed(one: Portrait, other: Portrait, within: NDArray[np.bool_]) -> float:
    """The best correlation of edges where one of the two is magnified, at shifts that are ``within``."""
    mine, theirs = halved(one.edges), halved(other.edges)
    best = -1.0
    for zoom in ZOOMS:
        for surface in (
            correlation(spectra_of_half(_magnified(mine, zoom)), other.spectra, _OVERLAP),
            correlation(one.spectra, spectra_of_half(_magnified(theirs, zoom)), _OVERLAP),
        ):
            best = max(best, float(surface[within].max()))
    return best


def _magnified(edges: Edges, zoom: float) -> Edges:
    """The middle of a plane of edges at another size: which way an edge points does not change with it."""
    middle = (np.array(edges.shape) - 1) / 2
    parts = [
        ndimage.affine_transform(part, np.full(2, 1 / zoom), middle - middle / zoom, order=1)
        for part in (edges.real, edges.imag)
    ]
    return np.asarray(parts[0] + 1j * parts[1], np.complex64)


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
