"""What brings a take near a reference take: an ASC CDL, how far they sit apart, and when not to trust it.

The CDL works on the pictures as the file holds them, at full range: with a power law or a log curve, a change
of exposure is a slope and an offset there. It is a beginning for the person who grades, never more.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from audio.pictures.balance import (
    BLOCKED,
    CLIPPED,
    NOTHING_SHARED,
    Apart,
    Pixels,
    other_view,
    same_places,
    same_view,
)
from audio.pictures.cdl import LUMA, NEUTRAL, Cdl, three
from audio.pictures.colour_cover import Floats
from audio.pictures.shared_places import Bytes, SharedPlaces, shared_places
from audio.pictures.transfer import BT709, Transfer

MOST_PIXELS = 16_000
"""Pixels of a take that are compared, from all of its pictures; more change the second decimal of a stop."""
DIGITS = 6
"""Decimals of a CDL's figures, as files hold them."""
CELLS = 12
"""Rows of the small picture by which two views are told to be one."""
SAME_VIEW = 0.85
"""Correlation of those, by rank, from which they are; chosen by hand on drawn scenes."""
MUCH_CLIPPED = 0.05
"""Share of pixels clipped, beyond the reference's, from which a match is doubted: they cannot come back."""
MUCH_BLOCKED = 0.10
"""The same for blocked ones."""
MIXED_STOPS = 0.5
"""Stops by which the balance differs within the picture, or in time, where light is mixed."""
FEWEST_MOMENTS = 3
_AGAIN = 1
TRUSTED = 0.1
"""Stops: a standard error from which on a match by places is not to be trusted. By
`tests.quality.match_board`: of those below it nine of ten come within 0.1 stop and 10 % of the balance."""

CLIPPED_DOUBT, BLOCKED_DOUBT = "clipped", "blocked"
MIXED_DOUBT, LITTLE_DOUBT, UNKNOWN_DOUBT = "mixed light", "little in common", "unknown transfer"
ROUGH_DOUBT = "colours alone"


@dataclass(frozen=True, slots=True)
class Pictures:
    """Pictures of a take, each at a moment of the song; those of take and reference lie at the same ones."""

    rgb: Sequence[NDArray[np.uint8]]
    """Each of shape (height, width, 3), full range."""
    transfer: Transfer = BT709
    known: bool = True
    """Whether that is known; False where it is only assumed."""
    full_range: bool = False
    """Whether the file holds values of full range."""


@dataclass(frozen=True, slots=True)
class Matched:
    """How a take compares with the reference, and what brings it near."""

    cdl: Cdl
    before: Apart
    after: Apart
    """With the CDL applied."""
    doubts: tuple[str, ...]
    """Why it must not be trusted: ``clipped``, ``blocked``, ``mixed light``, ``little in common``, ``colours
    alone``, ``unknown transfer``."""


def match(
    take: Pictures, reference: Pictures, *, common: bool = True, power: bool = False, saturation: bool = False
) -> Matched:
    """Compare a take with the reference.

    ``common`` tells whether both were seen at the same moments of the song. Slope and offset are found; power
    and saturation only where they are asked for. Raises ValueError where there is no picture.
    """
    if not take.rgb or not reference.rgb:
        raise ValueError("There are no pictures to compare.")
    ours, theirs = _pixels(take), _pixels(reference)
    alike = _same_picture(take.rgb, reference.rgb)
    before = same_view(ours, theirs)
    by_view = alike and before.alike
    places = None if by_view else shared_places(take.rgb, reference.rgb)
    if places is not None:
        before = _by_places(places, take, reference)
    if not by_view and (places is None or before is NOTHING_SHARED):
        places, before = None, other_view(ours, theirs)

    def compared(cdl: Cdl) -> Apart:
        if places is not None:
            return _by_places(places, take, reference, cdl)
        return (same_view if by_view else other_view)(_pixels(take, cdl, reference), theirs)

    cdl, after = NEUTRAL, before
    if before is not NOTHING_SHARED:
        wanted = np.array(before.shift)
        for _ in range(1 + _AGAIN):
            # What a slope and an offset leave over is made good by asking for more.
            cdl = _cdl(take, reference, ours, wanted, power=power)
            after = compared(cdl)
            wanted = wanted + np.array(after.shift)
        if saturation:
            cdl = _saturated(cdl, ours, theirs)
            after = compared(cdl)
    doubts = []
    if ours.clipped > theirs.clipped + MUCH_CLIPPED:
        doubts.append(CLIPPED_DOUBT)
    if ours.blocked > theirs.blocked + MUCH_BLOCKED:
        doubts.append(BLOCKED_DOUBT)
    if _mixed(take, reference, common=common, alike=alike):
        doubts.append(MIXED_DOUBT)
    few = not common or min(len(take.rgb), len(reference.rgb)) < FEWEST_MOMENTS
    if few or before is NOTHING_SHARED or (places is not None and before.uncertainty > TRUSTED):
        doubts.append(LITTLE_DOUBT)
    if not by_view and places is None:
        doubts.append(ROUGH_DOUBT)
    if not (take.known and reference.known):
        doubts.append(UNKNOWN_DOUBT)
    return Matched(cdl, before, after, tuple(doubts))


def _by_places(places: SharedPlaces, take: Pictures, reference: Pictures, cdl: Cdl | None = None) -> Apart:
    """How far apart they sit by places that both show, with a CDL or without."""
    ours = _seen(places.ours, take, cdl, reference)
    return same_places(ours, _seen(places.theirs, reference), places.place, places.corner)


def _pixels(seen: Pictures, cdl: Cdl | None = None, as_in: Pictures | None = None) -> Pixels:
    """The pixels compared; with a CDL their light after it, in pictures of the kind ``as_in``."""
    values = np.concatenate([one.reshape(-1, 3) for one in seen.rgb])
    return _seen(values[:: max(1, len(values) // MOST_PIXELS)], seen, cdl, as_in)


def _seen(values: Bytes, seen: Pictures, cdl: Cdl | None = None, as_in: Pictures | None = None) -> Pixels:
    edges = np.repeat(np.array([BLOCKED + 1, CLIPPED - 1])[:, None], 3, axis=1)
    shown, ends = values / 255, edges / 255  # a picture's values, and where they are known
    if cdl is not None:
        shown, ends = cdl.applied(shown), cdl.applied(ends)
    kind = as_in or seen
    light, (low, high) = (kind.transfer.light(one, full_range=kind.full_range) for one in (shown, ends))
    return Pixels(values, np.maximum(light, _DARK), np.asarray(low), np.asarray(high))


_DARK = 1e-6
"""Light is told in stops: none of it would be infinitely dark."""


def _cdl(take: Pictures, reference: Pictures, ours: Pixels, shift: Floats, *, power: bool) -> Cdl:
    """Slope and offset (and power) that come nearest to dividing the take's light by the shift."""
    scale = np.arange(256) / 255
    light = take.transfer.light(scale, full_range=take.full_range)
    slope, offset, powers = [], [], []
    for channel in range(3):
        counts = np.bincount(ours.values[:, channel], minlength=256)
        wanted = reference.transfer.values(
            np.maximum(light, 0.0) / 2.0 ** shift[channel], full_range=reference.full_range
        )
        good = (np.arange(256) > BLOCKED) & (np.arange(256) < CLIPPED) & (wanted > 0) & (wanted < 1)
        # What fills much of the picture counts more, but not for everything.
        weights = np.sqrt(counts / max(1, counts.max()) + 0.02) * good
        tries = [_line(scale, wanted, weights, one) for one in (_POWERS if power else (1.0,))]
        _, one_slope, one_offset, one_power = min(tries)
        slope.append(round(one_slope, DIGITS))
        offset.append(round(one_offset, DIGITS))
        powers.append(round(one_power, DIGITS))
    return Cdl(three(slope), three(offset), three(powers))


_POWERS = tuple(float(one) for one in np.round(np.geomspace(0.4, 2.5, 41), 3))


def _line(scale: Floats, wanted: Floats, weights: Floats, power: float) -> tuple[float, float, float, float]:
    """Slope and offset under a power, by weighted least squares; first how far they miss."""
    inner = np.clip(wanted, 0.0, None) ** (1 / power)
    mean_x, mean_y = np.average(scale, weights=weights), np.average(inner, weights=weights)
    across = np.sum(weights * (scale - mean_x) ** 2)
    slope = max(0.0, float(np.sum(weights * (scale - mean_x) * (inner - mean_y)) / across))
    offset = float(mean_y - slope * mean_x)
    shown = np.clip(slope * scale + offset, 0.0, 1.0) ** power
    return float(np.sum(weights * (shown - wanted) ** 2)), slope, offset, power


def _saturated(cdl: Cdl, ours: Pixels, theirs: Pixels) -> Cdl:
    """With the saturation that brings the take's more colourful quarter as far from grey as the other's."""
    far = []
    for rgb in (cdl.applied(ours.values[ours.usable] / 255), theirs.values[theirs.usable] / 255):
        luma = (rgb @ np.array(LUMA))[:, None]
        far.append(float(np.quantile(np.abs(rgb - luma).max(axis=1), 0.75)))
    if min(far) <= 0.01:
        return cdl
    return Cdl(cdl.slope, cdl.offset, cdl.power, round(float(np.clip(far[1] / far[0], 0.5, 2.0)), DIGITS))


def _same_picture(ours: Sequence[NDArray[np.uint8]], theirs: Sequence[NDArray[np.uint8]]) -> bool:
    """Whether two takes show about the same view: their mean pictures, very small, agree in rank."""
    if abs(ours[0].shape[1] / ours[0].shape[0] - theirs[0].shape[1] / theirs[0].shape[0]) > 0.02:
        return False
    ranked = []
    for some in (ours, theirs):
        mean = np.mean([one @ np.array(LUMA) for one in some], axis=0)
        ranked.append(np.argsort(np.argsort(_cells(mean), axis=None)).astype(float))
    return float(np.corrcoef(ranked[0], ranked[1])[0, 1]) > SAME_VIEW


def _cells(picture: Floats) -> Floats:
    """Means of a picture's cells, shape (CELLS, columns)."""
    height, width = picture.shape
    columns = max(1, round(CELLS * width / height))
    rows = np.linspace(0, height, CELLS + 1).astype(int)
    sides = np.linspace(0, width, columns + 1).astype(int)
    sums = np.add.reduceat(np.add.reduceat(picture, rows[:-1], axis=0), sides[:-1], axis=1)
    return np.asarray(sums / (np.diff(rows)[:, None] * np.diff(sides)[None, :]))


def _mixed(take: Pictures, reference: Pictures, *, common: bool, alike: bool) -> bool:
    """Whether the balance between the two differs from moment to moment, or from place to place."""
    ours, theirs = (np.array([_warmth(one, of) for one in of.rgb]) for of in (take, reference))
    if common and len(ours) == len(theirs):
        in_time = _middle(ours.reshape(len(ours), -1)) - _middle(theirs.reshape(len(theirs), -1))
        if _wide(in_time) > MIXED_STOPS:
            return True
    # Places of one picture are places of the other only where both show the same.
    return alike and _wide((_middle(ours.T).T - _middle(theirs.T).T).ravel()) > MIXED_STOPS


def _warmth(picture: NDArray[np.uint8], of: Pictures) -> Floats:
    """Red against blue in the cells of a picture, in stops, shape (3, 4); NaN where a cell tells nothing."""
    light = np.maximum(of.transfer.table(full_range=of.full_range), _DARK)
    stops = np.log2(light[picture[..., 0]]) - np.log2(light[picture[..., 2]])
    good = np.asarray(((picture > BLOCKED) & (picture < CLIPPED)).all(axis=2))
    found = np.full((3, 4), np.nan)
    for row, rows in enumerate(np.array_split(np.arange(picture.shape[0]), 3)):
        for column, columns in enumerate(np.array_split(np.arange(picture.shape[1]), 4)):
            cell = np.ix_(rows, columns)
            if np.count_nonzero(good[cell]) > 0.3 * good[cell].size:
                found[row, column] = np.median(stops[cell][good[cell]])
    return found


def _middle(of: Floats) -> Floats:
    """The median along the last axis, of what is there; NaN where nothing is."""
    told = np.isfinite(of).any(axis=-1)
    out = np.full(of.shape[:-1], np.nan)
    out[told] = np.nanmedian(of[told], axis=-1)
    return out


def _wide(values: Floats) -> float:
    """From the lowest tenth to the highest, of what is there; 0 where that is little."""
    values = values[np.isfinite(values)]
    return float(np.ptp(np.quantile(values, (0.1, 0.9)))) if len(values) >= 6 else 0.0
