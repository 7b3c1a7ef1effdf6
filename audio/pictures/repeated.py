"""Frozen and repeated pictures: the same frame again where the picture moved before and moves on after.

A scene in which nobody moves looks the same after a strong coder has taken the noise away. What tells a
freeze is that the noise stops, where there is some, or the world going on meanwhile: the picture jumps when
it is let go, or stops and starts at full speed.
"""

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import percentile_filter

from audio.pictures.exposures import is_black
from audio.pictures.stretches import Found, stretches
from audio.pictures.trace import Trace

_SAME = 0.003
"""Change of the most changed cell up to which two pictures are the same: three quarters of a code value."""
_SHARE = 0.12
"""… or this share of the usual change around, where noise is in it: coding the same picture again leaves a
little."""
_AROUND_S = 1.0
"""What is usual is taken from so far on either side, …"""
_USUAL = 75
"""… and is what so many percent of the changes there stay below; by hand, so that half may be frozen."""
_JUMP = 2.0
"""The change after a freeze against the largest of those that follow it; by hand: something that starts to
move by itself gets faster, something let go has a way to make up."""
_LONG_JUMP = 1.5
"""The same after a long freeze, when a fast player may have come back to where he was."""
_LEFT = 0.04
"""Share of the movement around that is left in a single repeat; where a swing turns back more is left."""
_LEAST_JUMP = 0.02
"""Least change of the most changed cell in such a jump (five code values)."""
_UNREST = 0.002
"""Change of calm cells (half a code value) from which noise or an unsteady camera is in all of the picture.
That it stops in all of the picture at once tells a freeze by itself."""
_TIMES = 5.0
"""It is so many times what is left of it in the freeze; by hand."""
_AFTER = 4
"""Changes after the jump that it is held against."""
_LONG = 8
"""Pictures from which a freeze is long."""
_REGULAR = 0.06
"""Share of repeats in a clip above which they come from another frame rate or a starved coder."""
_JOIN_S = 0.6


def repeats(seen: Trace) -> NDArray[np.intp]:
    """Rows of the trace whose picture repeats the one before while the scene moves; rising.

    A single repeat is told by movement before and after it. Of a longer freeze all rows are given.
    """
    change = seen.top_change.astype(np.float64)
    same = np.zeros(change.size, bool)
    for rows in _runs(seen):
        if rows.size > 8:
            same[rows] = _same(change[rows], seen.calm_change[rows].astype(np.float64), _frame_s(seen, rows))
    return np.asarray(np.flatnonzero(same & ~is_black(seen)), np.intp)


def frozen(seen: Trace) -> Iterator[Found]:
    """Stretches of frozen or repeated pictures; ``measure`` is how many pictures are repeats.

    None where repeats are regular, as after a change of frame rate.
    """
    rows = repeats(seen)
    consecutive = np.count_nonzero(np.isfinite(seen.change))
    if not rows.size:
        return
    alone = _alone(rows)
    if np.count_nonzero(alone) > _REGULAR * consecutive:
        rows = rows[~alone]
    marked = np.zeros(seen.clip_s.size, bool)
    marked[rows] = True
    for first, last in stretches(marked, seen.clip_s, join_s=_JOIN_S, least_s=0.0):
        count = int(np.count_nonzero(marked[first : last + 1]))
        end = min(last + 1, seen.clip_s.size - 1)
        yield Found(
            float(seen.clip_s[max(first - 1, 0)]),
            float(seen.clip_s[end]),
            float(count),
            0.9 if count >= 5 else 0.7,
        )


def _alone(rows: NDArray[np.intp]) -> NDArray[np.bool_]:
    """Which repeats have no other beside them."""
    apart = np.diff(rows) > 1
    return np.asarray(np.append(True, apart) & np.append(apart, True))


def _runs(seen: Trace) -> list[NDArray[np.intp]]:
    """Rows of every run that can be compared with the row before."""
    return [
        part[1:]
        for part in np.split(np.arange(seen.run.size), np.flatnonzero(np.diff(seen.run)) + 1)
        if part.size > 1
    ]


def _frame_s(seen: Trace, rows: NDArray[np.intp]) -> float:
    return float(np.median(np.diff(seen.clip_s[rows])))


def _same(top: NDArray[np.float64], calm: NDArray[np.float64], frame_s: float) -> NDArray[np.bool_]:
    """Which of a run's pictures repeat the one before."""
    around: int = 2 * max(2, round(_AROUND_S / frame_s)) + 1
    usual = percentile_filter(top, _USUAL, around, mode="nearest")
    still = top <= np.maximum(_SAME, _SHARE * usual)
    found: NDArray[np.bool_] = np.zeros(top.size, np.bool_)
    edges = np.flatnonzero(np.diff(np.concatenate(([0], still.astype(np.int8), [0]))))
    for first, end in zip(edges[::2], edges[1::2], strict=True):
        earlier, later = slice(max(0, first - _AFTER), first), slice(end + 1, end + 1 + _AFTER)
        before, after = top[earlier], top[later]
        if before.size < 2 or after.size < 2 or end >= top.size:
            continue
        unrest = min(float(np.median(calm[earlier])), float(np.median(calm[later])))
        if unrest >= max(_UNREST, _TIMES * float(np.median(calm[first:end]))):
            found[first:end] = True
            continue
        jump = top[end]
        moving = min(float(np.median(before)), float(np.median(after)))
        # The coder itself may skip a frame and make up at the next key frame: hence more of short ones.
        went = float(np.median(before)) >= (_LEAST_JUMP if end - first < _LONG else 0.25 * _LEAST_JUMP)
        least = _JUMP if end - first < _LONG else _LONG_JUMP
        let_go = went and jump >= _LEAST_JUMP and jump >= least * float(after.max())
        # One picture between two that move is a repeat; so is a stop from full speed to full speed.
        stopped = (
            end - first <= 2
            and moving >= max(_LEAST_JUMP, float(top[first:end].max()) / _LEFT)
            and min(before[-1], jump) >= 0.5 * moving
        )
        if let_go or stopped:
            found[first:end] = True
    return found
