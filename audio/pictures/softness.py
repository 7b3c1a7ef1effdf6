"""Soft pictures: gradient energy against the take's own best and its angle's best.

Where an edge is blurred by a Gaussian of sigma b, its gradient energy after smoothing by s goes as
1/√(b² + s²) (see `gradient_energies`). The ratio of the fine to the coarse energy therefore tells b whatever
the contrast, the light and the share of edges in the picture. Three things could pass for soft focus and are
kept out: movement blurs along its direction only, so the sharper of x and y counts; a lens that goes to
another player leaves something sharp, so the sharpest tiles count; and noise is taken off by what fine energy
is too much for any edge.
"""

import warnings
from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from audio.pictures.exposures import is_black
from audio.pictures.picture_measures import COARSE, FINE
from audio.pictures.stretches import Found, stretches, sureness
from audio.pictures.trace import Trace

_SHARPEST = 0.8
"""So many of a picture's tiles may be softer than what speaks for it: a player in focus fills the rest."""
_LEAST_TILES = 3
"""Tiles with edges that a picture needs, so that a coder's block or a title does not speak for it."""
_LEAST_EDGE = 0.15
"""Coarse energy, in (levels per height) squared, from which a tile has an edge to judge."""
_OVER_NOISE = 2.0
"""The fine energy of a tile with an edge is at least so many times the noise's; by hand."""
_MOST = COARSE / FINE
"""Ratio of fine to coarse energy of an edge without blur."""
_CAP = 4.0
"""Higher ratios are noise, or detail as fine as the pixels; by hand, above that of any edge."""
_IN_COARSE = (FINE / COARSE) ** 4
"""Share of the fine energy of white noise that is in the coarse one."""
_SOFT = 0.45
"""The share of the take's best ratio times that of the tiles' own best, below which a picture is soft: above
0.46 in all but the first second of good takes of made shoots."""
_SOFT_FOR_ANGLE = 0.36
"""The same of a take's best ratio against its angle's others; a detail with little depth is near 0.41."""
_LEAST_S = 1.6
"""By hand: a coder may begin with a soft second."""
_JOIN_S = 0.8
_BEST = 0.9
"""Quantile over a take that is its best …"""
_TILE_BEST = 0.75
"""… and a tile's: players come and go in it."""
_DIM = 0.5
"""Share of the take's usual level below which a picture is too dark to judge, as between flashes."""
_FAST = 0.35
"""Heights a second beyond which the camera's movement may be what blurs."""


def sharpness(edges: NDArray[np.float32]) -> NDArray[np.float64]:
    """Ratio of fine to coarse gradient energy of pictures, (e,): NaN where too little has edges.

    ``edges``: (e, tiles, 2, 2) as in `Trace`. The sharper direction of the sharper tiles.
    """
    ratio = np.nanmax(np.where(np.isfinite(_ratios(edges)), _ratios(edges), -np.inf), axis=2)
    ranked = np.sort(ratio, axis=1)
    count = np.isfinite(ranked).sum(axis=1)
    place = np.minimum(np.ceil((1 - _SHARPEST) * count).astype(np.intp) + 1, ranked.shape[1])
    return np.where(count >= _LEAST_TILES, ranked[np.arange(len(ranked)), -place], np.nan)


def _ratios(edges: NDArray[np.float32]) -> NDArray[np.float64]:
    """Of every tile and direction, (e, tiles, 2); NaN where there is no edge."""
    energy = edges.astype(np.float64)
    # White noise leaves 81 times as much fine as coarse energy (its energy goes as 1/s⁴), an edge three times
    # at the most: what is above that is noise.
    noise = np.median(np.maximum(energy[..., 0] - _MOST * energy[..., 1], 0), axis=1, keepdims=True)
    noise /= 1 - _MOST * _IN_COARSE
    fine, coarse = energy[..., 0] - noise, energy[..., 1] - _IN_COARSE * noise
    valid = (coarse >= _LEAST_EDGE) & (fine >= _OVER_NOISE * noise)
    return np.where(valid, np.minimum(fine / np.maximum(coarse, 1e-9), _CAP), np.nan)


def _against_own_tiles(edges: NDArray[np.float32]) -> NDArray[np.float64]:
    """The ratio of a picture's tiles against each tile's own best, (e,)."""
    ratios = _ratios(edges)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RuntimeWarning)  # of tiles that never have an edge
        share = np.nanmax(ratios / np.nanquantile(ratios, _TILE_BEST, axis=0), axis=2)
        found = np.nanquantile(share, _SHARPEST, axis=1)
    return np.where(np.isfinite(share).sum(axis=1) > _LEAST_TILES, found, np.nan)


def sigma_of_ratio(ratio: NDArray[np.float64]) -> NDArray[np.float64]:
    """The blur that gives a ratio of fine to coarse energy: ratio² = (b² + coarse²) / (b² + fine²).

    >>> float(sigma_of_ratio(np.array([3.0]))[0]), round(144 * float(sigma_of_ratio(np.array([2.0]))[0]), 3)
    (0.0, 1.033)
    """
    square = np.maximum(ratio, 1.0001) ** 2
    return np.asarray(np.sqrt(np.maximum((COARSE**2 - square * FINE**2) / (square - 1), 0.0)))


def best_sharpness(seen: Trace) -> float:
    """The ratio of a take's sharpest pictures; NaN where no edge tells."""
    ratio = sharpness(seen.edges)
    ratio = ratio[np.isfinite(ratio)]
    return float(np.quantile(ratio, _BEST)) if ratio.size >= 4 else float("nan")


def best_blur(seen: Trace) -> float:
    """The blur of a take's sharpest pictures, in picture heights; NaN where no edge tells."""
    return float(sigma_of_ratio(np.array([best_sharpness(seen)]))[0])


def soft(seen: Trace, of_angle: Sequence[Trace]) -> Iterator[Found]:
    """Soft stretches; ``measure`` is the share that is left of the best ratio of fine to coarse energy."""
    best = best_sharpness(seen)
    if not np.isfinite(best):
        return
    ratio = np.where(_moving(seen), np.nan, sharpness(seen.edges))
    bests = [one for one in (best_sharpness(other) for other in of_angle) if np.isfinite(one)]
    usual = float(np.median(bests)) if bests else best
    with np.errstate(invalid="ignore"):
        if best < _SOFT_FOR_ANGLE * usual:
            left = ratio / usual
            figure = left
        else:
            left = ratio / best
            figure = left * _against_own_tiles(seen.edges)
        bad = figure < (_SOFT_FOR_ANGLE if best < _SOFT_FOR_ANGLE * usual else _SOFT)
    for first, last in stretches(bad, seen.edges_s, join_s=_JOIN_S, least_s=_LEAST_S):
        end = min(last + 1, seen.edges_s.size - 1)
        yield Found(
            float(seen.edges_s[first]),
            float(seen.edges_s[end]),
            float(np.nanmedian(left[first : last + 1])),
            sureness(_SOFT, float(np.nanmedian(figure[first : last + 1]))),
        )


def _moving(seen: Trace) -> NDArray[np.bool_]:
    """At which rows of ``edges`` the camera moves fast, or nothing can be seen."""
    rows = np.searchsorted(seen.clip_s, seen.edges_s).clip(0, seen.clip_s.size - 1)
    frame_s = np.diff(seen.clip_s, prepend=seen.clip_s[0] - 0.04)
    with np.errstate(invalid="ignore"):
        fast = np.hypot(*seen.shift.T) / frame_s > _FAST
    dim = seen.level < _DIM * np.median(seen.level)
    return np.asarray((fast | is_black(seen) | dim)[rows])
