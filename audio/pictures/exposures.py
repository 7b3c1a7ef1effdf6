"""Black pictures, clipped highlights, blocked shadows: where light failed, against take and angle.

A share of clipped pixels says little by itself: a white wall is clipped in every good take of its angle. So a
stretch is held against what its take and the angle's other takes usually show, and the whole picture must
have gone lighter (or darker) with it: a lamp, a white shirt or a dark coat near the lens changes a part.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from audio.pictures.stretches import Found, stretches
from audio.pictures.trace import Trace

_NEARLY = 0.05, 0.10, 0.03
"""Mean level, level that 99 % are below, and most by which cells differ, up to which a picture shows next to
nothing: a lens cap with the noise of high gain. A night scene has a lamp or a face above it."""
_BLACK = 0.03, 0.06, 0.012
"""The same of a black picture; in the dark of a stage there is a little more to see."""
_HALF = 0.5
"""Share of a black stretch's pictures that are so."""
_BLACK_LEAST_S = 0.5
"""Shorter black is a light that blinks; by hand."""
_ALL_BLACK = 0.9
"""Share of the pictures of a black stretch; a strobe leaves more light."""
_LEAST_S = 1.0
"""Shorter stretches are flashes, by hand."""
_JOIN_S = 0.6
_MORE_CLIPPED = 0.05
"""Share of the picture by which more is clipped than usual; by hand: a face in a wide shot."""
_MORE_BLOCKED = 0.25
"""The same for shadows, which may be large in a good picture."""
_LIFT = 0.1
"""By so much three quarters of the cells are lighter than usual where exposure failed: two thirds of a stop
at a middle grey, more than is corrected between takes. Where it is dark …"""
_TIMES_LIGHTER = 1.5
"""… they are so many times lighter instead: more than a stop."""
_FOLLOWED = 0.6
"""Share of the tiles that move alike where movement is the camera's."""
_TRAVEL = 0.5
"""Heights that a camera moves in a take from which what is in the picture explains more light or less."""
_BESIDE_S, _STANDS = 0.5, 0.12
"""… unless it goes no further than this (heights) in so long before the light changes, and after; by hand."""
_PANNED = 0.25
"""Heights that a pan goes in as long; by hand, above what a camera in the hand does."""
_DARKENED = 0.04
"""Level of a picture that was nearly black before."""
_AT_ONCE = 1.3
"""It changes so many times at least: over three quarters of a stop at a middle grey."""
_CHANGED = 0.04
"""… and by so much."""
_FALL = 0.03
"""The same for darker ones, which cannot fall far where they are dark."""
_HAS_LIGHT = 0.06
"""Level from which a cell has light that can fail: darker ones are about as dark whatever the iris."""
_WHITE = 0.9
"""Level of a cell that is clipped for the most part."""
_FEW_CELLS = 0.1
"""A smaller share of the cells does not speak for the picture."""
_TOP_LEFT = 0.4
"""Share of the usual that the lightest part of a picture without light reaches: two and a half stops less."""
_MOSTLY = 0.7
"""Share of a stretch's pictures that are bad themselves."""
_SOME = 0.25
"""Quantile that stands for three quarters of the cells, and for what a take shows at its best."""


def black(seen: Trace) -> Iterator[Found]:
    """Stretches of black pictures; ``measure`` is the mean level."""
    dark, quite = is_black(seen), _below(seen, _BLACK)
    for first, last in stretches(dark, seen.clip_s, join_s=0.1, least_s=_BLACK_LEAST_S):
        part = slice(first, last + 1)
        if dark[part].mean() < _ALL_BLACK or quite[part].mean() < _HALF or _panned(seen, first):
            continue
        level = float(seen.level[first : last + 1].mean())
        yield _found(seen, first, last, level)


def _panned(seen: Trace, first: int) -> bool:
    """Whether the camera was on its way when the picture got black: to where there is no light."""
    rows = slice(int(np.searchsorted(seen.clip_s, seen.clip_s[first] - _BESIDE_S)), first)
    if seen.level[rows].size and seen.level[rows][0] < _DARKENED:
        return _travels(_moved(seen))
    followed = np.nan_to_num(seen.shift[rows]) * (seen.agreed[rows] >= _FOLLOWED)[:, None]
    return bool(np.hypot(*followed.sum(axis=0)) > _PANNED)


def is_black(seen: Trace) -> NDArray[np.bool_]:
    """Which pictures show next to nothing, (n,)."""
    return _below(seen, _NEARLY)


def _below(seen: Trace, most: tuple[float, float, float]) -> NDArray[np.bool_]:
    flat = seen.cells.reshape(len(seen.cells), -1)
    spread = flat.max(axis=1) - flat.min(axis=1)
    return np.asarray((seen.level <= most[0]) & (seen.quantiles[:, -1] <= most[1]) & (spread <= most[2]))


def over(seen: Trace, of_angle: Sequence[Trace]) -> Iterator[Found]:
    """Stretches with clipped highlights; ``measure`` is what share of the picture more than usual is so."""
    yield from _failed(seen, of_angle, up=True)


def under(seen: Trace, of_angle: Sequence[Trace]) -> Iterator[Found]:
    """Stretches with blocked shadows; ``measure`` is what share of the picture more than usual is so."""
    yield from _failed(seen, of_angle, up=False)


@dataclass(frozen=True, slots=True, eq=False)
class _Usual:
    """What is usual in a take or an angle."""

    share: float
    """Clipped, or blocked."""
    cells: NDArray[np.float32]
    """(24, 4) means."""
    top: float
    """Level that 99 % of the picture are below."""


def _failed(seen: Trace, of_angle: Sequence[Trace], *, up: bool) -> Iterator[Found]:
    # Where next to nothing is left it may be too dark all the same; what is black is told as that.
    seeing = ~is_black(seen)
    looked = seeing if up else np.ones(seeing.size, np.bool_)
    if np.count_nonzero(looked) < 3:
        return
    share = seen.clipped if up else seen.blocked
    more = _MORE_CLIPPED if up else _MORE_BLOCKED
    own, others = _usual(seen, seeing, up=up), [_usual(other, ~is_black(other), up=up) for other in of_angle]
    if others:
        usual = _Usual(
            float(np.median([one.share for one in others])),
            np.median([one.cells for one in others], axis=0),
            float(np.median([one.top for one in others])),
        )
        if (
            own.share - usual.share >= more
            and _all_of_it(own.cells[None], np.array([own.top]), usual, up=up)[0]
        ):
            # The take as a whole: what it usually shows is the fault.
            bad = looked & (share - usual.share >= 0.5 * more)
            yield from _stretches(seen, bad, share - usual.share, join_s=5.0)
            return
    if not seeing.any():
        return
    moved = _moved(seen)
    travels = _travels(moved)
    base = float(np.quantile(share[seeing], _SOME))
    if others:
        base = max(base, min(one.share for one in others))
    calm = seeing & (share <= base + 0.25 * more)
    if not calm.any():
        return
    usual = _Usual(base, np.median(seen.cells[calm], axis=0), float(np.median(seen.quantiles[calm, -1])))
    bad = looked & (share - base >= more) & _all_of_it(seen.cells, seen.quantiles[:, -1], usual, up=up)
    for found in _stretches(seen, bad, share - base, join_s=_JOIN_S):
        if not travels or _stood(seen, np.concatenate(moved), found):
            yield found


def _usual(seen: Trace, seeing: NDArray[np.bool_], *, up: bool) -> _Usual:
    seeing = seeing if seeing.any() else np.ones(seeing.size, bool)
    return _Usual(
        float(np.median((seen.clipped if up else seen.blocked)[seeing])),
        np.median(seen.cells[seeing], axis=0),
        float(np.median(seen.quantiles[seeing, -1])),
    )


def _moved(seen: Trace) -> list[NDArray[np.float32]]:
    """Where the camera is at each picture of every run of frames, in picture heights from its first."""
    return [
        np.cumsum(np.nan_to_num(seen.shift[rows]) * (seen.agreed[rows] >= _FOLLOWED)[:, None], axis=0)
        for rows in np.split(np.arange(seen.run.size), np.flatnonzero(np.diff(seen.run)) + 1)
    ]


def _travels(moved: list[NDArray[np.float32]]) -> bool:
    """Whether the camera goes to see something else."""
    return max(float(np.ptp(way, axis=0).max()) for way in moved) > _TRAVEL


def _stood(seen: Trace, way: NDArray[np.float32], found: Found) -> bool:
    """Whether a camera that moves about stood while light alone changed: before a stretch, or after it.

    It must have changed at once, too. During the stretch there may be too little to follow.
    """
    inside = (seen.clip_s >= found.clip_start_s) & (seen.clip_s < found.clip_end_s)
    level = float(np.median(seen.level[inside]))
    told = False
    for from_s, to_s in (
        (found.clip_start_s - _BESIDE_S, found.clip_start_s),
        (found.clip_end_s, found.clip_end_s + _BESIDE_S),
    ):
        rows = np.flatnonzero((seen.clip_s >= from_s) & (seen.clip_s <= to_s))
        if rows.size < 2 or np.ptp(way[rows], axis=0).max() > _STANDS:
            continue
        beside = float(seen.level[rows[0 if from_s < found.clip_start_s else -1]])
        if max(level, beside) < max(_AT_ONCE * min(level, beside), min(level, beside) + _CHANGED):
            return False
        told = True
    return told


def _all_of_it(
    cells: NDArray[np.float32], top: NDArray[np.float32], usual: _Usual, *, up: bool
) -> NDArray[np.bool_]:
    """Whether pictures are lighter (or darker) than usual in three quarters of the cells that have light.

    Lighter ones are so beside what is white now, too: a wall of snow leaves the rest as it was. Darker ones
    must have no lamp or face left in its usual light.
    """
    usually = usual.cells.reshape(1, -1)
    now = cells.reshape(len(cells), -1)
    lit = usually >= _HAS_LIGHT
    if lit.mean() < _FEW_CELLS:
        return np.zeros(len(cells), np.bool_)
    if up:
        lighter = (now - usually >= _LIFT) | ((now - usually >= _FALL) & (now >= _TIMES_LIGHTER * usually))
        greys = lit & (now < _WHITE)
        beside = _share(lighter & greys, greys) >= 1 - _SOME
        return np.asarray(
            (_share(lighter & lit, lit) >= 1 - _SOME) & (beside | (greys.mean(axis=1) < _FEW_CELLS))
        )
    darker = (usually - now >= _FALL) & lit
    return np.asarray((_share(darker, lit) >= 1 - _SOME) & (top <= _TOP_LEFT * usual.top))


def _share(some: NDArray[np.bool_], of: NDArray[np.bool_]) -> NDArray[np.float64]:
    """Which share of cells, (n,); 0 of none."""
    return np.asarray(some.sum(axis=1) / np.maximum(of.sum(axis=-1), 1))


def _stretches(
    seen: Trace, bad: NDArray[np.bool_], figures: NDArray[np.float32], *, join_s: float
) -> Iterator[Found]:
    for first, last in stretches(bad, seen.clip_s, join_s=join_s, least_s=_LEAST_S):
        if bad[first : last + 1].mean() < _MOSTLY:  # flashes in a row
            continue
        figure = float(np.median(figures[first : last + 1]))
        yield _found(seen, first, last, figure)


def _found(seen: Trace, first: int, last: int, measure: float) -> Found:
    end = min(last + 1, seen.clip_s.size - 1)
    return Found(float(seen.clip_s[first]), float(seen.clip_s[end]), measure)
