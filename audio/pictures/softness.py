"""Soft pictures: gradient energy against the take's own best and its angle's best.

Where an edge is blurred by a Gaussian of sigma b, its gradient energy after smoothing by s goes as
1/√(b² + s²) (see `gradient_energies`). The ratio of the fine to the coarse energy therefore tells b whatever
the contrast, the light and the share of edges in the picture. Three things could pass for soft focus and are
kept out: movement blurs along its direction only, so the sharper of x and y counts; a lens that goes to
another player leaves something sharp, so the sharpest tiles count; and noise is taken off by what fine energy
is too much for any edge.
"""

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from audio.pictures.exposures import is_black
from audio.pictures.picture_measures import COARSE, FINE
from audio.pictures.stretches import Found, stretches, sureness
from audio.pictures.trace import Trace

_SHARPEST = 3
"""The sharpest tile but two speaks for a picture, so that a coder's block or a title does not; by hand."""
_LEAST_EDGE = 0.15
"""Coarse energy, in (levels per height) squared, from which a tile has an edge to judge."""
_OVER_NOISE = 2.0
"""The fine energy of a tile with an edge is at least so many times the noise's; by hand."""
_MOST = COARSE / FINE
"""Ratio of fine to coarse energy of an edge without blur."""
_IN_COARSE = (FINE / COARSE) ** 4
"""Share of the fine energy of white noise that is in the coarse one."""
_SOFT = 0.6
"""Share of the best energy below which a picture is soft; by hand, at 144 lines a blur one can see."""
_SOFT_FOR_ANGLE = 0.5
_LEAST_S = 1.0
_JOIN_S = 0.8
_BEST = 0.9
"""Quantile over a take that is its best."""
_FAST = 0.35
"""Heights a second beyond which the camera's movement may be what blurs."""


def blur_of(edges: NDArray[np.float32]) -> NDArray[np.float64]:
    """Gaussian sigma of the blur, in picture heights, of rows of gradient energies; NaN where no edge tells.

    ``edges``: (e, tiles, 2, 2) as in `Trace`. From the sharpest tiles.
    """
    energy = edges.astype(np.float64)
    # White noise leaves 81 times as much fine as coarse energy (its energy goes as 1/s⁴), an edge three times
    # at the most: what is above that is noise.
    noise = np.median(np.maximum(energy[..., 0] - _MOST * energy[..., 1], 0), axis=1, keepdims=True)
    noise /= 1 - _MOST * _IN_COARSE
    fine, coarse = energy[..., 0] - noise, energy[..., 1] - _IN_COARSE * noise
    valid = (coarse >= _LEAST_EDGE) & (fine >= _OVER_NOISE * noise)
    ratio = np.where(valid, fine / np.maximum(coarse, 1e-9), -np.inf)
    sharpest = np.sort(ratio.max(axis=2), axis=1)[:, -_SHARPEST]
    return sigma_of_ratio(np.where(np.isfinite(sharpest), sharpest, np.nan))


def sigma_of_ratio(ratio: NDArray[np.float64]) -> NDArray[np.float64]:
    """The blur that gives a ratio of fine to coarse energy: ratio² = (b² + coarse²) / (b² + fine²).

    >>> float(sigma_of_ratio(np.array([3.0]))[0]), round(144 * float(sigma_of_ratio(np.array([2.0]))[0]), 3)
    (0.0, 1.033)
    """
    square = np.maximum(ratio, 1.0001) ** 2
    return np.asarray(np.sqrt(np.maximum((COARSE**2 - square * FINE**2) / (square - 1), 0.0)))


def energy_left(blur: NDArray[np.float64] | float, best: NDArray[np.float64] | float) -> NDArray[np.float64]:
    """Fine gradient energy of an edge of one blur against that of another (sigmas in picture heights).

    >>> float(energy_left(FINE * 3**0.5, 0.0))
    0.5
    """
    return np.asarray(np.sqrt((np.square(best) + FINE**2) / (np.square(blur) + FINE**2)))


def best_blur(seen: Trace) -> float:
    """The blur of a take's sharpest pictures, in picture heights; NaN where no edge tells."""
    blur = blur_of(seen.edges)
    blur = blur[np.isfinite(blur)]
    return float(np.quantile(blur, 1 - _BEST)) if blur.size >= 4 else float("nan")


def soft(seen: Trace, of_angle: Sequence[Trace]) -> Iterator[Found]:
    """Soft stretches; ``measure`` is the share of the best gradient energy that is left."""
    own = best_blur(seen)
    if not np.isfinite(own):
        return
    blur = blur_of(seen.edges)
    judged = np.isfinite(blur) & ~_moving(seen)
    left = np.where(judged, energy_left(blur, own), np.nan)
    bests = [one for one in (best_blur(other) for other in of_angle) if np.isfinite(one)]
    threshold = _SOFT
    if bests and energy_left(own, min(bests)) < _SOFT_FOR_ANGLE:
        left = np.where(judged, energy_left(blur, float(np.median(bests))), np.nan)
        threshold = _SOFT_FOR_ANGLE
    with np.errstate(invalid="ignore"):
        bad = left < threshold
    for first, last in stretches(bad, seen.edges_s, join_s=_JOIN_S, least_s=_LEAST_S):
        figure = float(np.nanmedian(left[first : last + 1]))
        end = min(last + 1, seen.edges_s.size - 1)
        yield Found(float(seen.edges_s[first]), float(seen.edges_s[end]), figure, sureness(threshold, figure))


def _moving(seen: Trace) -> NDArray[np.bool_]:
    """At which rows of ``edges`` the camera moves fast, or nothing can be seen."""
    rows = np.searchsorted(seen.clip_s, seen.edges_s).clip(0, seen.clip_s.size - 1)
    frame_s = np.diff(seen.clip_s, prepend=seen.clip_s[0] - 0.04)
    with np.errstate(invalid="ignore"):
        fast = np.hypot(*seen.shift.T) / frame_s > _FAST
    return np.asarray(fast[rows] | is_black(seen)[rows])
