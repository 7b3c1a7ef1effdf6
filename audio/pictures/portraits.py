"""What stands still in a clip: its small pictures laid over each other, and the median of every pixel.

People move, so a set-up is known by its background. The pictures of a camera in the hand are first shifted
onto each other by correlation of their gradients. How far they lay apart, and how well they fit in the end,
tells a tripod from a hand and both from a camera that walks about.
"""

from dataclasses import dataclass
from functools import lru_cache
from typing import Protocol

import numpy as np
from numpy.typing import NDArray
from scipy import fft, ndimage

Plane = NDArray[np.float32]
Edges = NDArray[np.complex64]
"""Gradients of a plane: right + i down, per pixel, of magnitude below 1."""

MOST = 16
"""Small pictures of a clip that are laid over each other; by hand: nobody stands still in half of them."""
COARSE = 4
"""Small pixels to a side of the places whose light is compared; by hand."""
_STILL = 0.035
"""Change of a pixel over a clip (median absolute deviation of luma) at which it counts half; by hand."""
_EDGE = 0.03
"""Gradient of luma from pixel to pixel at which an edge counts half; by hand: above a camera's noise."""
_REACH = 0.14
"""How far, in picture heights, the pictures of one clip are shifted; by hand."""
_LUMA = np.array([0.2126, 0.7152, 0.0722], np.float32)
"""Rec. ITU-R BT.709-6."""
_DARK = 0.02
"""Added to light from 0 to 1 before its logarithm: below it is noise."""


class Seen(Protocol):
    """What is asked of a clip's trace."""

    @property
    def thumbs(self) -> NDArray[np.uint8]:
        """Small pictures over the clip, RGB, shape (m, lines, columns, 3)."""


@dataclass(frozen=True, slots=True, eq=False)
class Spectra:
    """A portrait's edges at half size, padded and transformed: three products give all shifts."""

    edges: NDArray[np.complex64]
    squares: NDArray[np.complex64]
    shape: tuple[int, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Portrait:
    """What stands still in a clip."""

    edges: Edges
    """(lines, columns) of the background, times its stillness."""
    light: Plane
    """(lines / 4, columns / 4, 3) logarithms (base 2) of the background's red, green and blue light."""
    still: Plane
    """(lines / 4, columns / 4) how much of each place stands still, 0 to 1."""
    spectra: Spectra
    unrest: float
    """How far its pictures lie apart, in picture heights (root mean square)."""
    steady: float
    """How well its pictures fit over each other, 0 to 1: low for a camera that walks about."""
    count: int
    """Number of its pictures."""


def portrait_of(seen: Seen) -> Portrait:
    """What stands still in a clip of one picture or more."""
    chosen = np.unique(np.linspace(0, len(seen.thumbs) - 1, MOST).round().astype(int))
    colours = seen.thumbs[chosen].astype(np.float32) / 255
    edges = [edges_of(luma(one)) for one in colours]
    offsets = _laid_over(edges)
    laid = np.stack([np.roll(one, tuple(by), (0, 1)) for one, by in zip(colours, offsets, strict=True)])
    middle = np.median(laid, axis=0)
    spread = np.median(np.abs(laid - middle).max(axis=3), axis=0)
    still = (1 / (1 + (ndimage.uniform_filter(spread, 3) / _STILL) ** 2)).astype(np.float32)
    background = edges_of(luma(middle))
    fits = [fit(np.roll(one, tuple(by), (0, 1)), background) for one, by in zip(edges, offsets, strict=True)]
    background *= still
    return Portrait(
        background,
        np.log2(means(middle) ** 2.2 + _DARK).astype(np.float32),
        means(still[..., None])[..., 0],
        spectra_of(background),
        float(np.sqrt((offsets**2).sum(axis=1).mean()) / background.shape[0]),
        float(np.median(fits)),
        len(chosen),
    )


def _laid_over(edges: list[Edges]) -> NDArray[np.int64]:
    """How far each picture is shifted, down and right, to lie over the others; shape (m, 2), median 0."""
    offsets = np.zeros((len(edges), 2), np.int64)
    if len(edges) == 1:
        return offsets
    spectra = [fft.fft2(halved(one)) for one in edges]
    down, right = shifts(*spectra[0].shape)
    near = np.hypot(down, right) <= _REACH * edges[0].shape[0]
    onto = spectra[len(spectra) // 2]
    for _ in range(2):  # onto one picture, then onto the mean of all: a player in the one is not followed
        for n, one in enumerate(spectra):
            surface = np.where(near, fft.ifft2(onto * one.conj()).real, -np.inf)
            at = np.unravel_index(int(surface.argmax()), surface.shape)
            offsets[n] = down[at], right[at]
        if not offsets.any():
            break
        laid = [np.roll(one, tuple(by), (0, 1)) for one, by in zip(edges, offsets, strict=True)]
        onto = fft.fft2(halved(np.mean(laid, axis=0, dtype=np.complex64)))
    if offsets.any():  # to the pixel
        laid = [np.roll(one, tuple(by), (0, 1)) for one, by in zip(edges, offsets, strict=True)]
        mean = np.asarray(np.mean(laid, axis=0), np.complex64)
        for n, one in enumerate(edges):
            offsets[n] = finer(one, mean, int(offsets[n, 0]), int(offsets[n, 1]))
    offsets -= np.median(offsets, axis=0).round().astype(np.int64)
    return offsets


def finer(one: Edges, other: Edges, down: int, right: int) -> tuple[int, int]:
    """The shift within a pixel of one at which ``one`` lies best over ``other``."""
    around = [(down + i, right + j) for i in (-1, 0, 1) for j in (-1, 0, 1)]
    return max(around, key=lambda by: float(np.vdot(np.roll(one, by, (0, 1)), other).real))


def luma(values: NDArray[np.float32]) -> Plane:
    """Luma of a picture, shape (lines, columns, 3) to (lines, columns), both from 0 to 1."""
    return np.asarray(values @ _LUMA, np.float32)


def edges_of(plane: Plane) -> Edges:
    """Gradients of a picture's luma, of magnitude below 1: strong edges count alike, noise counts little."""
    smooth = ndimage.gaussian_filter(plane, 0.7)
    down, right = np.gradient(smooth)
    size = np.hypot(right, down)
    return np.asarray((right + 1j * down) / (size + _EDGE), np.complex64)


def halved(edges: Edges) -> Edges:
    """Means of two by two."""
    lines, columns = edges.shape[0] // 2, edges.shape[1] // 2
    cut = edges[: 2 * lines, : 2 * columns].reshape(lines, 2, columns, 2)
    return np.asarray(cut.mean(axis=(1, 3)), np.complex64)


def spectra_of(edges: Edges) -> Spectra:
    """For `correlation`."""
    return spectra_of_half(halved(edges))


def spectra_of_half(half: Edges) -> Spectra:
    """The same of edges at half size."""
    padded = (2 * half.shape[0], 2 * half.shape[1])
    return Spectra(fft.fft2(half, padded), fft.rfft2(np.abs(half) ** 2, padded), half.shape)


def correlation(one: Spectra, other: Spectra, overlap: float) -> Plane:
    """Normalised correlation of edges at all shifts, by two small pixels; -1 where too little overlaps.

    Row and column tell how far ``one`` is moved down and right to lie over ``other``; see `shifts`.
    """
    lines, columns = one.shape
    padded = (2 * lines, 2 * columns)
    there, shared = _there(lines, columns)
    both = fft.ifft2(other.edges * one.edges.conj()).real
    mine = fft.irfft2(there * one.squares.conj(), padded)
    theirs = fft.irfft2(other.squares * there.conj(), padded)
    # A little is added below, so that pictures without edges do not agree by chance.
    size = np.sqrt(np.maximum(mine, 0) * np.maximum(theirs, 0)) + 0.01 * lines * columns * overlap
    return np.where(shared >= overlap * lines * columns, both / size, -1.0).astype(np.float32)


def fit(one: Edges, other: Edges) -> float:
    """Normalised correlation of two planes of edges as they lie, from -1 to 1."""
    both = float((one * other.conj()).real.sum())
    size = float(np.sqrt((np.abs(one) ** 2).sum() * (np.abs(other) ** 2).sum()))
    return both / (size + 1e-3 * one.size)


def means(values: Plane, side: int = COARSE) -> Plane:
    """Means of squares of so many pixels; (lines, columns, k) to (lines / side, columns / side, k)."""
    lines, columns = values.shape[0] // side, values.shape[1] // side
    cut = values[: lines * side, : columns * side]
    return np.asarray(cut.reshape(lines, side, columns, side, -1).mean(axis=(1, 3)), np.float32)


@lru_cache(maxsize=8)
def shifts(lines: int, columns: int) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Down and right, in small pixels, of each place of a correlation at half size."""
    down = np.rint(fft.fftfreq(lines) * lines).astype(np.int64) * 2
    right = np.rint(fft.fftfreq(columns) * columns).astype(np.int64) * 2
    grid = np.meshgrid(down, right, indexing="ij")
    return grid[0], grid[1]


@lru_cache(maxsize=8)
def _there(lines: int, columns: int) -> tuple[NDArray[np.complex64], Plane]:
    """The spectrum of a whole picture of ones, and how much two pictures share at all shifts."""
    padded = (2 * lines, 2 * columns)
    spectrum = fft.rfft2(np.ones((lines, columns), np.float32), padded)
    return spectrum, fft.irfft2(spectrum * spectrum.conj(), padded)
