"""Soft pictures: how wide edges are, against the take's own best and its angle's best.

Where a straight edge is blurred by a Gaussian of sigma b (pixels), its gradient after smoothing of variance v
is a Gaussian again, of variance r² = b² + v. `edge_energies` measures Σ f²c² and Σ c⁴ for a fine and a coarse
gradient f and c; integrals over products of Gaussians give their ratio as (c/f) √(c² / (f²/2 + c²/2 + a)),
with f and c for the two widths r and a for the averaging over blocks. It tells b whatever the contrast, the
light and the share of edges in the picture. Two things could pass for soft focus and are kept out: movement
blurs along its direction only, so the sharper of x and y counts; a lens that goes to another player leaves
something sharp, so the sharpest tiles count.
"""

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from audio.pictures.exposures import is_black
from audio.pictures.picture_measures import AVERAGED, COARSE_VARIANCE, FINE_VARIANCE
from audio.pictures.stretches import Found, stretches
from audio.pictures.trace import Trace

_LEAST_TILES = 3
"""Tiles with edges that a picture needs, so that a coder's block or a title does not speak for it."""
_TILES_LEFT = 0.6
"""Share of the usual number of tiles with edges that a picture has where it can be judged: with fewer, the
light or what is looked at is another."""
_LEAST_EDGE = 5e-10
"""Coarse energy, in (levels per pixel) to the fourth power, from which a tile has an edge to judge: one of a
tenth of full scale along its height. By hand; the grain of a high gain has a thousandth of it."""
_SEEN = 1 / 240
"""Blur in picture heights, added to the best there is, from which a picture is soft: of 1080 lines a point is
spread over nine (two sigmas either way). Less is hard to see in a window, and lenses differ so."""
_SEEN_PIXELS = 1.0
"""The same in pixels of what is looked at closely: blur is not known better where lines are few …"""
_WHOLE_PIXELS = 1.2
"""… and from take to take even less. Both by hand."""
_STANDS_OUT, _ELSEWHERE = 1.5, 0.8
"""A soft stretch is so many times as blurred as most of the rest (this quantile): what varies by itself, as
under a poor coder, says nothing. By hand."""
_BEGUN_S = 2.2
"""What is soft for so long from the start on may be a coder that begins with little."""
_TIMES = 1.6
"""A soft picture's blur is so many times the best one, too."""
_MOST_OF_IT = 0.25
"""Quantile of a take's blur that stands for what it mostly is."""
_LEAST_S = 1.6
"""By hand: a coder may begin with a soft second."""
_JOIN_S = 0.8
_BEST = 0.25
"""Quantile over a take that is its best."""
_DIM = 0.5
"""Share of the take's usual level below which a picture is too dark to judge, as between flashes."""
_LIT = 0.75
"""Quantile that is usual: for half the time light may be off."""
_FAST = 0.35
"""Heights a second beyond which the camera's movement may be what blurs."""


def sharpness(edges: NDArray[np.float32], rank: int = 2) -> NDArray[np.float64]:
    """Ratio of fine to coarse energy of pictures, (e,): NaN where too little has edges.

    ``edges``: (e, tiles, 2, 2) as in `Trace`. The sharper direction of the sharpest tile but ``rank`` - 1.
    """
    ratios = _ratios(edges)
    ratio = np.where(np.isfinite(ratios), ratios, -np.inf).max(axis=2)
    ranked = np.sort(ratio, axis=1)
    return np.where(np.isfinite(ranked).sum(axis=1) >= _LEAST_TILES, ranked[:, -rank], np.nan)


def _ratios(edges: NDArray[np.float32]) -> NDArray[np.float64]:
    """Of every tile and direction, (e, tiles, 2); NaN where there is no edge."""
    energy = edges.astype(np.float64)
    fine, coarse = energy[..., 0], energy[..., 1]
    return np.where(coarse >= _LEAST_EDGE, fine / np.maximum(coarse, 1e-30), np.nan)


def ratio_of_sigma(sigma: NDArray[np.float64]) -> NDArray[np.float64]:
    """The ratio of fine to coarse energy of an edge blurred by so many pixels."""
    fine, coarse = sigma**2 + FINE_VARIANCE, sigma**2 + COARSE_VARIANCE
    return np.asarray(np.sqrt(coarse / fine * coarse / (fine / 2 + coarse / 2 + AVERAGED)))


_SIGMAS = np.geomspace(0.1, 100, 400)
_RATIOS = ratio_of_sigma(_SIGMAS)


def sigma_of_ratio(ratio: NDArray[np.float64]) -> NDArray[np.float64]:
    """The blur in pixels that gives a ratio of fine to coarse energy, from 0.1 to 100.

    >>> sigma_of_ratio(ratio_of_sigma(np.array([0.5, 2.0]))).round(3).tolist()
    [0.5, 2.0]
    """
    return np.asarray(np.interp(ratio, _RATIOS[::-1], _SIGMAS[::-1]))


def blur_of(seen: Trace, rank: int = 2) -> NDArray[np.float64]:
    """How blurred the sharpest parts of pictures are, in picture heights, (e,); NaN where no edge tells."""
    return sigma_of_ratio(sharpness(seen.edges, rank)) / max(1, int(seen.fine_lines))


def best_blur(seen: Trace) -> float:
    """The blur of a take's sharpest pictures, in picture heights; NaN where no edge tells."""
    return _quantile(blur_of(seen), _BEST)


def _quantile(blur: NDArray[np.float64], share: float) -> float:
    blur = blur[np.isfinite(blur)]
    return float(np.quantile(blur, share)) if blur.size >= 4 else float("nan")


def soft(seen: Trace, of_angle: Sequence[Trace]) -> Iterator[Found]:
    """Soft stretches; ``measure`` is the share left of the best sharpness, by the width of edges."""
    count = np.isfinite(_ratios(seen.edges)).any(axis=2).sum(axis=1)
    blur = np.where(_moving(seen) | (count < _TILES_LEFT * _tiles(seen)), np.nan, blur_of(seen))
    base = best_blur(seen)
    # A detail with little depth has its one sharp spot: asked of a take as a whole, that is enough.
    spot = _quantile(np.where(_moving(seen), np.nan, blur_of(seen, 1)), _MOST_OF_IT)
    tiles = _tiles(seen)
    comparable = [other for other in of_angle if tiles >= _TILES_LEFT * _tiles(other)]
    usual = np.array([_quantile(blur_of(other, 1), 0.5) for other in comparable])
    usual = usual[np.isfinite(usual)]
    whole = usual.size > 0 and spot > _limit(seen, float(np.median(usual)), _WHOLE_PIXELS)
    if whole:
        base = float(np.median(usual))
    if not np.isfinite(base):
        return
    limit = _limit(seen, base, _SEEN_PIXELS)
    with np.errstate(invalid="ignore"):
        bad = blur > limit
    for first, last in stretches(bad, seen.edges_s, join_s=_JOIN_S, least_s=_LEAST_S):
        end = min(last + 1, seen.edges_s.size - 1)
        figure = float(np.nanmedian(blur[first : last + 1]))
        rest = _quantile(np.delete(blur, np.s_[first : last + 1]), _ELSEWHERE)
        beginning = first == 0 and seen.edges_s[end] <= seen.edges_s[0] + _BEGUN_S
        if not whole and (beginning or figure < _STANDS_OUT * rest):
            continue
        yield Found(
            float(seen.edges_s[first]), float(seen.edges_s[end]), _width(seen, base) / _width(seen, figure)
        )


def _width(seen: Trace, blur: float) -> float:
    """How wide an edge with a blur is between pixels, in picture heights."""
    return float(np.hypot(blur, np.sqrt(FINE_VARIANCE) / max(1, int(seen.fine_lines))))


def _tiles(seen: Trace) -> float:
    """How many tiles of a take's pictures have edges, in its light."""
    count = np.isfinite(_ratios(seen.edges)).any(axis=2).sum(axis=1)
    return float(np.quantile(count, _LIT)) if count.size else 0.0


def _limit(seen: Trace, best: float, pixels: float) -> float:
    """The blur from which a picture is soft where the best has so much, in picture heights."""
    added = max(_SEEN, pixels / max(1, int(seen.fine_lines)))
    return max(float(np.hypot(best, added)), _TIMES * best)


def _moving(seen: Trace) -> NDArray[np.bool_]:
    """At which rows of ``edges`` the camera moves fast, or nothing can be seen."""
    rows = np.searchsorted(seen.clip_s, seen.edges_s).clip(0, seen.clip_s.size - 1)
    frame_s = np.diff(seen.clip_s, prepend=seen.clip_s[0] - 0.04)
    with np.errstate(invalid="ignore"):
        fast = np.hypot(*seen.shift.T) / frame_s > _FAST
    dim = seen.level < _DIM * np.quantile(seen.level, _LIT)
    return np.asarray((fast | is_black(seen) | dim)[rows])
