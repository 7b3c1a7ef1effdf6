"""Black pictures, clipped highlights, blocked shadows: where light failed, against take and angle.

A share of clipped pixels says little by itself: a white wall is clipped in every good take of its angle. So a
stretch is held against what its take and the angle's other takes usually show, and the whole picture must
have gone lighter (or darker) with it: a lamp, a white shirt or a dark coat near the lens changes a part.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from audio.pictures.stretches import Found, stretches, sureness
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
_MORE_CLIPPED = 0.08
"""Share of the picture by which more is clipped than usual; by hand: a face in a half-length shot."""
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
_FALL = 0.03
"""The same for darker ones, which cannot fall far where they are dark."""
_TOP_LEFT = 0.35
"""Share of the usual that the lightest part of a picture without light reaches: over three stops less."""
_MOSTLY = 0.7
"""Share of a stretch's pictures that are bad themselves."""
_SOME = 0.25
"""Quantile that stands for three quarters of the cells, and for what a take shows at its best."""


def black(seen: Trace) -> Iterator[Found]:
    """Stretches of black pictures; ``measure`` is the mean level."""
    dark, quite = is_black(seen), _below(seen, _BLACK)
    for first, last in stretches(dark, seen.clip_s, join_s=0.1, least_s=_BLACK_LEAST_S):
        part = slice(first, last + 1)
        if dark[part].mean() < _ALL_BLACK or quite[part].mean() < _HALF:
            continue
        level = float(seen.level[first : last + 1].mean())
        yield _found(seen, first, last, level, 0.95)


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
    seeing = ~is_black(seen)
    if np.count_nonzero(seeing) < 3:
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
            bad = seeing & (share - usual.share >= more)
            yield from _stretches(seen, bad, share - usual.share, more, join_s=5.0)
            return
    if _travel(seen) > _TRAVEL:
        return
    base = float(np.quantile(share[seeing], _SOME))
    if others:
        base = max(base, min(one.share for one in others))
    calm = seeing & (share <= base + 0.25 * more)
    if not calm.any():
        return
    usual = _Usual(base, np.median(seen.cells[calm], axis=0), float(np.median(seen.quantiles[calm, -1])))
    bad = seeing & (share - base >= more) & _all_of_it(seen.cells, seen.quantiles[:, -1], usual, up=up)
    yield from _stretches(seen, bad, share - base, more, join_s=_JOIN_S)


def _usual(seen: Trace, seeing: NDArray[np.bool_], *, up: bool) -> _Usual:
    seeing = seeing if seeing.any() else np.ones(seeing.size, bool)
    return _Usual(
        float(np.median((seen.clipped if up else seen.blocked)[seeing])),
        np.median(seen.cells[seeing], axis=0),
        float(np.median(seen.quantiles[seeing, -1])),
    )


def _travel(seen: Trace) -> float:
    """How far the camera goes within a run of frames, in picture heights."""
    far = 0.0
    for rows in np.split(np.arange(seen.run.size), np.flatnonzero(np.diff(seen.run)) + 1):
        way = np.cumsum(np.nan_to_num(seen.shift[rows]) * (seen.agreed[rows] >= _FOLLOWED)[:, None], axis=0)
        far = max(far, float(np.ptp(way, axis=0).max()))
    return far


def _all_of_it(
    cells: NDArray[np.float32], top: NDArray[np.float32], usual: _Usual, *, up: bool
) -> NDArray[np.bool_]:
    """Whether pictures are lighter (or darker) than usual in three quarters of their cells.

    Darker ones must have no lamp or face left in its usual light, either.
    """
    lift = (cells - usual.cells).reshape(len(cells), -1)
    if up:
        usually = usual.cells.reshape(1, -1)
        lighter = (lift >= _LIFT) | ((lift >= _FALL) & (lift >= (_TIMES_LIGHTER - 1) * usually))
        return np.asarray(lighter.mean(axis=1) >= 1 - _SOME)
    return np.asarray((np.quantile(-lift, _SOME, axis=1) >= _FALL) & (top <= _TOP_LEFT * usual.top))


def _stretches(
    seen: Trace, bad: NDArray[np.bool_], figures: NDArray[np.float32], more: float, *, join_s: float
) -> Iterator[Found]:
    for first, last in stretches(bad, seen.clip_s, join_s=join_s, least_s=_LEAST_S):
        if bad[first : last + 1].mean() < _MOSTLY:  # flashes in a row
            continue
        figure = float(np.median(figures[first : last + 1]))
        yield _found(seen, first, last, figure, sureness(figure, more))


def _found(seen: Trace, first: int, last: int, measure: float, sure: float) -> Found:
    end = min(last + 1, seen.clip_s.size - 1)
    return Found(float(seen.clip_s[first]), float(seen.clip_s[end]), measure, sure)
