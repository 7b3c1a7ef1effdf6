"""Places of the scene that two takes both show, however they are framed.

The light of one place, seen by two cameras, differs by exposure and balance alone, whatever lamp lights it;
so places are a far better measure than colours. What stands still in one take, the median of its pictures, is
laid over what stands still in the other at many sizes and shifts, by correlation of edges. The best of these
are drawn to fit tile by tile: an affine map by least squares, with weights that forget tiles gone astray. One
is believed only where enough tiles of the picture come to lie on their likes.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy import fft, ndimage

from audio.pictures.portraits import Edges, Plane, edges_of, halved, luma

Bytes = NDArray[np.uint8]
Floats = NDArray[np.float64]

ZOOMS = tuple(1.12**n for n in range(11))
"""Sizes that are tried, up to three: the edges of a picture made so small meet within two pixels or so."""
STRETCHES = (0.87, 1.0, 1.15)
"""Widths that are tried: a wall seen from aside is narrower."""
TRIED = 6
"""The best of them, which are drawn to fit."""
TILE, STEP = 18, 9
"""Lines and columns of a tile, and from one to the next; by hand: some edges are in a fifth of the height."""
_REACHES = (5, 3, 2)
"""Pixels that tiles may be drawn by, round after round."""
_ALIKE = 0.5
"""Correlation of edges from which a tile shows the same; by hand."""
_EDGES = 8.0
"""Edges in a tile (sum of squares) from which it counts: one line through it; by hand."""
_NEAR = 1.5
"""Pixels within which a tile lies where the map puts it."""
_BEGIN, _FEWEST = 5, 12
"""Tiles that must fit after the first round, and in the end. By hand: chance reaches ten."""
_LEAST_SHARE = 0.3
"""Of the tiles with edges that both show, so many must fit."""
_MOST_STRETCH = 1.3
"""A map that makes things wider or narrower by more is none that cameras beside one another give."""
_STILL = 0.035
"""As in `audio.pictures.portraits`."""
BLOCK = 6
"""Lines and columns of a place, in pixels of the wider take: a map is off by a pixel here and there."""


@dataclass(frozen=True, slots=True, eq=False)
class SharedPlaces:
    """Pixels of two takes that show the same, side by side."""

    ours: Bytes
    """(n, 3) values of the one's."""
    theirs: Bytes
    """(n, 3) values of the other's."""
    place: NDArray[np.int64]
    """(n,) numbers of the places they are of, from 0 on."""
    corner: Floats
    """(n, 2) squares of how far from its picture's middle each pixel lies, in half diagonals: the one's, the
    other's."""
    tiles: int
    """How many tiles fit, …"""
    share: float
    """… and which share they are of those with edges, 0 to 1."""


@dataclass(frozen=True, slots=True, eq=False)
class _Background:
    """What stands still in a take."""

    values: NDArray[np.float32]
    """(lines, columns, 3) from 0 to 1."""
    luma: Plane
    still: Plane


class _Try(NamedTuple):
    """Where the closer take may lie in the wider one; the best is the largest."""

    height: float
    """How far it stands out, in standard deviations of edges at random."""
    swapped: bool
    """Whether the first is the wider one."""
    down: float
    right: float
    """Pixels of the wider one."""
    tall: float
    wide: float
    """How much smaller than the closer one, down and across."""


@dataclass(frozen=True, slots=True, eq=False)
class _Laid:
    """A map that lays the closer take over the wider one."""

    turn: Floats
    """(2, 2) and …"""
    shift: Floats
    """… (2,): line and column of the closer one for those of the wider one."""
    fits: NDArray[np.bool_]
    """(tiles down, tiles across) which tiles fit."""
    share: float


def shared_places(one: Sequence[Bytes], other: Sequence[Bytes]) -> SharedPlaces | None:
    """Places that both takes show, from pictures of shape (lines, columns, 3); None where none are found.

    It is the background that is compared, so they need not be of the same moments.
    """
    ours, theirs = _background(one), _background(other)
    tries = [*_tries(ours, theirs, swapped=False), *_tries(theirs, ours, swapped=True)]
    best: tuple[_Laid, bool] | None = None
    for one_try in _apart(sorted(tries, reverse=True))[:TRIED]:
        near, far = (theirs, ours) if one_try.swapped else (ours, theirs)
        laid = _drawn_to_fit(near, far, one_try)
        if laid is not None and (best is None or laid.fits.sum() > best[0].fits.sum()):
            best = laid, one_try.swapped
    if best is None or not _believed(best[0]):
        return None
    laid, swapped = best
    near, far = (theirs, ours) if swapped else (ours, theirs)
    first, second, place, corner = _pixels(near, far, laid)
    if swapped:
        first, second, corner = second, first, corner[:, ::-1]
    return SharedPlaces(first, second, place, corner, int(laid.fits.sum()), laid.share)


def _background(pictures: Sequence[Bytes]) -> _Background:
    stack = np.stack(pictures).astype(np.float32) / 255
    middle = np.asarray(np.median(stack, axis=0), np.float32)
    spread = np.median(np.abs(stack - middle).max(axis=3), axis=0)
    still = 1 / (1 + (ndimage.uniform_filter(spread, 3) / _STILL) ** 2)
    return _Background(middle, luma(middle), still.astype(np.float32))


def _tries(near: _Background, far: _Background, *, swapped: bool) -> Iterator[_Try]:
    """The best places for the closer take at each size: how far it stands out, line, column, and the size.

    Edges that lie at random agree by chance only: products of their gradients have mean 0 and a variance of
    half the product of their squares, in which the sum is told.
    """
    lines, columns = near.luma.shape
    theirs = halved(edges_of(far.luma) * far.still)
    padded = tuple(
        fft.next_fast_len(half + whole)
        for half, whole in zip((lines // 2, columns // 2), theirs.shape, strict=True)
    )
    spectrum, squares = fft.fft2(theirs, padded), fft.rfft2(np.abs(theirs) ** 2, padded)
    usual = 0.02 * float((np.abs(theirs) ** 2).mean())
    for zoom in ZOOMS:
        for stretch in STRETCHES:
            tall, wide = zoom / stretch**0.5, zoom * stretch**0.5
            shape = round(lines / tall), round(columns / wide)
            if min(shape) < TILE or shape[0] > lines or shape[1] > columns:
                continue
            small = edges_of(_resized(near.luma, shape)) * _resized(near.still, shape)
            half = halved(small)
            both = fft.ifft2(spectrum * fft.fft2(half, padded).conj()).real
            spread = fft.irfft2(squares * fft.rfft2(np.abs(half) ** 2, padded).conj(), padded)
            least = usual * float((np.abs(half) ** 2).sum()) + 1e-3
            height = both / np.sqrt(0.5 * np.maximum(spread, 0) + least)
            at = np.unravel_index(int(height.argmax()), height.shape)
            down, right = (
                int(n) if n < size else int(n) - around
                for n, size, around in zip(at, theirs.shape, padded, strict=True)
            )
            yield _Try(float(height[at]), swapped, 2.0 * down, 2.0 * right, tall, wide)


def _apart(tries: Sequence[_Try]) -> list[_Try]:
    """Without those that are nearly one before them."""
    kept: list[_Try] = []
    for one in tries:
        if not any(
            one.swapped == other.swapped
            and abs(np.log(one.tall / other.tall)) + abs(np.log(one.wide / other.wide)) <= 0.25
            and abs(one.down - other.down) + abs(one.right - other.right) <= 10
            for other in kept
        ):
            kept.append(one)
    return kept


def _drawn_to_fit(near: _Background, far: _Background, begin: _Try) -> _Laid | None:
    """The map near a beginning under which most tiles fit; None where few do."""
    lines, columns = far.luma.shape
    size = np.array([begin.tall, begin.wide])
    turn = np.diag(size)
    shift = (size - 1) / 2 - size * np.array([begin.down, begin.right])
    theirs = edges_of(far.luma) * far.still
    downs, rights = np.arange(0, lines - TILE + 1, STEP), np.arange(0, columns - TILE + 1, STEP)
    middles = np.stack(np.meshgrid(downs, rights, indexing="ij"), axis=-1) + (TILE - 1) / 2
    laid = None
    for number, reach in enumerate(_REACHES):
        ours = _laid_edges(near, turn, shift, theirs.shape)
        moved, peak, strong = _drawn(ours, theirs, reach)
        good = strong & (peak > _ALIKE)
        if good.sum() < _BEGIN:
            return None
        wanted = middles[good] @ turn.T + shift
        turn, shift, off = _map(middles[good] + moved[good], wanted, turn, shift)
        good[good] = off < _NEAR
        if good.sum() < (_BEGIN if number == 0 else _FEWEST):
            return None
        laid = _Laid(turn, shift, good, float(good.sum() / max(1, strong.sum())))
    return laid


def _map(there: Floats, wanted: Floats, turn: Floats, shift: Floats) -> tuple[Floats, Floats, Floats]:
    """The affine map that takes places to those wanted, near the one there was; how far it is off each."""
    values = np.concatenate([there, np.ones((len(there), 1))], axis=1)
    before = np.concatenate([turn.T, shift[None]])
    keep = np.diag([30.0, 30.0, 0.05])  # few tiles do not turn it over
    size = np.sqrt(abs(np.linalg.det(turn)))
    weight = np.ones(len(there))
    found, off = before, np.zeros(len(there))
    for _ in range(15):
        left = values.T @ (values * weight[:, None]) + keep
        found = np.linalg.solve(left, values.T @ (wanted * weight[:, None]) + keep @ before)
        off = np.linalg.norm(values @ found - wanted, axis=1) / size
        weight = 1 / (1 + off**4)
    return found[:2].T.copy(), found[2].copy(), off


def _laid_edges(near: _Background, turn: Floats, shift: Floats, shape: tuple[int, ...]) -> Edges:
    """The closer take's edges as the map lays them over the wider one."""
    inside = _warped(np.ones(near.luma.shape, np.float32), turn, shift, shape) > 0.99
    luma = _warped(_smoothed(near.luma, turn), turn, shift, shape, "nearest")
    whole = ndimage.binary_erosion(inside, iterations=2)
    return np.asarray(edges_of(luma) * _warped(near.still, turn, shift, shape) * whole, np.complex64)


def _drawn(ours: Edges, theirs: Edges, reach: int) -> tuple[Floats, Floats, NDArray[np.bool_]]:
    """How far each tile must go to lie on its like, how well it does then, and whether it has edges."""
    size = 2 * reach + 1
    mine = _sums(np.abs(ours) ** 2)
    surfaces = np.empty((size, size, *mine.shape))
    for down in range(size):
        for right in range(size):
            other = np.roll(theirs, (reach - down, reach - right), (0, 1))
            both = _sums((ours * other.conj()).real)
            surfaces[down, right] = both / (np.sqrt(mine * _sums(np.abs(other) ** 2)) + 3)
    flat = surfaces.reshape(size * size, -1)
    line, column = np.unravel_index(flat.argmax(axis=0), (size, size))
    peak = flat.max(axis=0).reshape(mine.shape)
    inner = [np.clip(one, 1, size - 2) for one in (line, column)]
    tile = np.arange(flat.shape[1])
    cube = surfaces.reshape(size, size, -1)
    parts = [
        _part(*(cube[inner[0] + by, inner[1], tile] for by in (-1, 0, 1))),
        _part(*(cube[inner[0], inner[1] + by, tile] for by in (-1, 0, 1))),
    ]
    ends = (line != inner[0]) | (column != inner[1])
    moved = np.stack([line - reach + parts[0], column - reach + parts[1]], axis=-1)
    strong = mine > _EDGES
    return moved.reshape(*mine.shape, 2), np.where(ends.reshape(mine.shape), 0.0, peak), strong


def _part(before: Floats, at: Floats, after: Floats) -> Floats:
    """Where the parabola through three values has its top, from the middle one."""
    bend = before - 2 * at + after
    return np.asarray(np.where(bend < 0, 0.5 * (before - after) / np.where(bend < 0, bend, -1.0), 0.0))


def _believed(laid: _Laid) -> bool:
    tall, wide = np.linalg.norm(laid.turn, axis=0)
    narrow = max(tall / wide, wide / tall)
    return bool(laid.fits.sum() >= _FEWEST and laid.share >= _LEAST_SHARE and narrow <= _MOST_STRETCH)


def _pixels(
    near: _Background, far: _Background, laid: _Laid
) -> tuple[Bytes, Bytes, NDArray[np.int64], Floats]:
    """Values of both where tiles fit and all stands still, numbers of their places, and how near corners."""
    shape = far.luma.shape
    covered = np.zeros(shape, bool)
    for down, right in zip(*np.nonzero(laid.fits), strict=True):
        covered[down * STEP : down * STEP + TILE, right * STEP : right * STEP + TILE] = True
    still = _warped((near.still > 0.5).astype(np.float32), laid.turn, laid.shift, shape) > 0.99
    good = covered & still & (far.still > 0.5)
    ours = np.stack(
        [_warped(_smoothed(near.values[..., n], laid.turn), laid.turn, laid.shift, shape) for n in range(3)],
        axis=-1,
    )
    lines, columns = np.nonzero(good)
    place = (lines // BLOCK) * (shape[1] // BLOCK + 1) + columns // BLOCK
    both = [np.clip(np.rint(255 * one[good]), 0, 255).astype(np.uint8) for one in (ours, far.values)]
    here = np.stack([lines, columns], axis=1).astype(float)
    corner = [
        ((at - (np.array(size) - 1) / 2) ** 2).sum(axis=1) / ((np.array(size) / 2) ** 2).sum()
        for at, size in ((here @ laid.turn.T + laid.shift, near.luma.shape), (here, shape))
    ]
    return both[0], both[1], np.unique(place, return_inverse=True)[1], np.stack(corner, axis=1)


def _smoothed(plane: Plane, turn: Floats) -> Plane:
    """Blurred as much as it will be made smaller."""
    size = float(np.sqrt(abs(np.linalg.det(turn))))
    return np.asarray(ndimage.gaussian_filter(plane, 0.45 * max(0.0, size**2 - 1) ** 0.5))


def _warped(
    plane: Plane, turn: Floats, shift: Floats, shape: tuple[int, ...], mode: str = "constant"
) -> Plane:
    return np.asarray(ndimage.affine_transform(plane, turn, shift, output_shape=shape, order=1, mode=mode))


def _resized(plane: Plane, shape: tuple[int, int]) -> Plane:
    scale = np.array(plane.shape) / np.array(shape)
    return _warped(_smoothed(plane, np.diag(scale)), np.diag(scale), (scale - 1) / 2, shape, "nearest")


def _sums(values: Plane) -> Floats:
    """Sums of all tiles."""
    total = np.pad(values.cumsum(axis=0, dtype=np.float64).cumsum(axis=1), ((1, 0), (1, 0)))
    lines, columns = values.shape
    down, right = (
        np.arange(0, lines - TILE + 1, STEP)[:, None],
        np.arange(0, columns - TILE + 1, STEP)[None, :],
    )
    found = total[down + TILE, right + TILE] - total[down, right + TILE] - total[down + TILE, right]
    return np.asarray(
        np.maximum(found + total[down, right], 0) if values.min() >= 0 else found + total[down, right]
    )
