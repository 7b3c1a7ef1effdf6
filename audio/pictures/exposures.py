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

_BLACK_LEVEL = 0.05
"""Mean level up to which a picture can be black (13 code values): a lens cap with the noise of high gain."""
_BLACK_TOP = 0.10
"""Level that 99 % of a black picture are below: a night scene has a lamp or a face above it."""
_BLACK_SPREAD = 0.03
"""Most by which the cells of a black picture differ: nothing can be seen in it."""
_BLACK_LEAST_S = 0.5
"""Shorter black is a light that blinks; by hand."""
_LEAST_S = 1.0
"""Shorter stretches are flashes, by hand."""
_JOIN_S = 0.6
_MORE_CLIPPED = 0.08
"""Share of the picture by which more is clipped than usual; by hand: a face in a half-length shot."""
_MORE_BLOCKED = 0.25
"""The same for shadows, which may be large in a good picture."""
_LIFT = 0.05
"""By so much three quarters of the cells are lighter than usual where exposure failed: half a stop at 0.1."""
_WHOLE_LIFT = 0.12
"""By so much the median of a whole take lies above its angle's."""
_SOME = 0.25


def black(seen: Trace) -> Iterator[Found]:
    """Stretches of black pictures; ``measure`` is the mean level."""
    for first, last in stretches(is_black(seen), seen.clip_s, join_s=0.1, least_s=_BLACK_LEAST_S):
        level = float(seen.level[first : last + 1].mean())
        yield _found(seen, first, last, level, 0.95)


def is_black(seen: Trace) -> NDArray[np.bool_]:
    """Which pictures show nothing, (n,)."""
    flat = seen.cells.reshape(len(seen.cells), -1)
    spread = flat.max(axis=1) - flat.min(axis=1)
    dark = (seen.level <= _BLACK_LEVEL) & (seen.quantiles[:, -1] <= _BLACK_TOP)
    return np.asarray(dark & (spread <= _BLACK_SPREAD))


def over(seen: Trace, of_angle: Sequence[Trace]) -> Iterator[Found]:
    """Stretches with clipped highlights; ``measure`` is what share of the picture more than usual is so."""
    yield from _failed(seen, of_angle, up=True)


def under(seen: Trace, of_angle: Sequence[Trace]) -> Iterator[Found]:
    """Stretches with blocked shadows; ``measure`` is what share of the picture more than usual is so."""
    yield from _failed(seen, of_angle, up=False)


@dataclass(frozen=True, slots=True)
class _Usual:
    """What is usual in a take or an angle."""

    share: float
    """Clipped, or blocked."""
    median: float
    """Of luma."""


def _failed(seen: Trace, of_angle: Sequence[Trace], *, up: bool) -> Iterator[Found]:
    seeing = ~is_black(seen)
    if np.count_nonzero(seeing) < 3:
        return
    more = _MORE_CLIPPED if up else _MORE_BLOCKED
    sign = 1.0 if up else -1.0
    share = seen.clipped if up else seen.blocked
    others = [one for one in (_usual(other, up=up) for other in of_angle) if one is not None]
    own = _usual(seen, up=up)
    if own is not None and others:
        usual = _Usual(
            float(np.median([one.share for one in others])), float(np.median([one.median for one in others]))
        )
        if own.share - usual.share >= more and sign * (own.median - usual.median) >= _WHOLE_LIFT:
            # The take as a whole: what it usually shows is the fault.
            bad = seeing & (share - usual.share >= more)
            for first, last in stretches(bad, seen.clip_s, join_s=5.0, least_s=_LEAST_S):
                figure = float(np.median(share[first : last + 1])) - usual.share
                yield _found(seen, first, last, figure, sureness(figure, more))
            return
    base = float(np.quantile(share[seeing], _SOME))
    if others:
        base = max(base, min(one.share for one in others))
    calm = seeing & (share <= base + 0.25 * more)
    usual_cells = np.median(seen.cells[calm], axis=0)
    apart = sign * (seen.cells - usual_cells).reshape(len(seen.cells), -1)
    lifted = np.quantile(apart, _SOME, axis=1) >= (_LIFT if up else 0.6 * _LIFT)
    bad = seeing & lifted & (share - base >= more)
    for first, last in stretches(bad, seen.clip_s, join_s=_JOIN_S, least_s=_LEAST_S):
        figure = float(np.median(share[first : last + 1])) - base
        yield _found(seen, first, last, figure, sureness(figure, more))


def _usual(seen: Trace, *, up: bool) -> _Usual | None:
    seeing = ~is_black(seen)
    if not seeing.any():
        return None
    share = (seen.clipped if up else seen.blocked)[seeing]
    return _Usual(float(np.median(share)), float(np.median(seen.quantiles[seeing, 2])))


def _found(seen: Trace, first: int, last: int, measure: float, sure: float) -> Found:
    end = min(last + 1, seen.clip_s.size - 1)
    return Found(float(seen.clip_s[first]), float(seen.clip_s[end]), measure, sure)
