"""Frozen and repeated pictures: the same frame again where the picture moved before and moves on after.

A scene in which nobody moves looks the same after a strong coder has taken the noise away. What tells a
freeze is that the noise stops, where there is some, or the world going on meanwhile: the picture jumps when
it is let go, or stops and starts at full speed.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import maximum_filter1d, percentile_filter

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
_LEFT = 0.12
"""Share of the movement around that is left in a single repeat; where a swing turns back more is left."""
_MADE_UP = 1.15
"""The change after a single repeat against the movement around: the world has gone on."""
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
_STEPS = 8
"""Steps before a long freeze, and after it, that its leap is held against …"""
_TOP_LEAP, _MEAN_LEAP = 1.6, 2.2
"""… and is so many times (median), in the most changed cell and on the average; by hand."""
_DEAD = 0.15
"""Share of the usual mean change that a coder leaves of it in a freeze; by hand."""
_LONG_S = 0.4
_RIVAL, _RIVAL_S = 1.2, 4.0
"""It is so many times the largest other change so far around (s)."""
_AHEAD = 3
"""Pictures before a leap into which it may show already."""
_ALIKE = 0.2
"""Before a freeze there is so much of the movement after it, or the other way round."""
_LIGHT = 0.6
"""Share of a picture's mean change from which the level has as much: the light has changed."""
_SETTLING = 0.25
"""Share of the usual change that is left while a coder refines a picture that stays …"""
_SETTLING_S = 1.0
"""… for so long at the most."""
_FREEZE = 8
"""Repeats in a row that are a freeze: more than a coder puts between two pictures that it codes anew. Fewer
are told only where there are several, and few elsewhere."""
_FEW = 4
_RARE_S = 5.0
"""So many short repeats, or one in so many seconds, are the coder's or another frame rate's; by hand."""
_FLASH = 0.25
"""Share by which the level varies where flashes, not repeats, change the pictures; by hand."""
_JOIN_S = 0.8


def repeats(seen: Trace) -> NDArray[np.intp]:
    """Rows of the trace whose picture repeats the one before while the scene moves; rising.

    A single repeat is told by movement before and after it. Of a longer freeze all rows are given.
    """
    change = seen.top_change.astype(np.float64)
    same = np.zeros(change.size, bool)
    for rows in _runs(seen):
        if rows.size > 8:
            calm = seen.calm_change[rows].astype(np.float64)
            around = _Run(change[rows], calm, seen.change[rows].astype(np.float64), seen.level[rows])
            frame_s = _frame_s(seen, rows)
            same[rows] = _same(around, frame_s) | _leaps(around, frame_s)
    return np.asarray(np.flatnonzero(same & ~is_black(seen)), np.intp)


def frozen(seen: Trace) -> Iterator[Found]:
    """Stretches of frozen or repeated pictures; ``measure`` is how many pictures are repeats.

    None for a single repeat, which a coder makes, nor where they are regular, as after a change of rate.
    """
    rows = repeats(seen)
    marked = np.zeros(seen.clip_s.size, bool)
    marked[rows] = True
    freezes = rows[~_short(rows)]
    # A starved coder repeats a picture now and then, and a change of frame rate many.
    watched_s = np.count_nonzero(np.isfinite(seen.change)) * float(np.median(np.diff(seen.stamps)))
    often = np.count_nonzero(_short(rows)) > max(_FEW, watched_s / _RARE_S)
    for first, last in stretches(marked, seen.clip_s, join_s=_JOIN_S, least_s=0.0):
        count = int(np.count_nonzero(marked[first : last + 1]))
        frozen_here = np.any((freezes >= first) & (freezes <= last))
        places = np.count_nonzero(np.diff(marked[first : last + 1].astype(np.int8)) < 0) + 1
        light = seen.level[max(0, first - _AFTER) : last + 1 + _AFTER]
        flashing = float(np.ptp(light)) > _FLASH * float(np.median(light))
        if not frozen_here and (often or places < 2 or flashing):
            continue
        end = min(last + 1, seen.clip_s.size - 1)
        yield Found(
            float(seen.clip_s[max(first - 1, 0)]),
            float(seen.clip_s[end]),
            float(count),
        )


def _short(rows: NDArray[np.intp]) -> NDArray[np.bool_]:
    """Which repeats are in a row of fewer than a freeze has."""
    number = np.cumsum(np.diff(rows, prepend=rows[0] if rows.size else 0) > 1)
    return np.asarray(np.bincount(number)[number] < _FREEZE if rows.size else np.zeros(0, bool))


def _runs(seen: Trace) -> list[NDArray[np.intp]]:
    """Rows of every run that can be compared with the row before."""
    return [
        part[1:]
        for part in np.split(np.arange(seen.run.size), np.flatnonzero(np.diff(seen.run)) + 1)
        if part.size > 1
    ]


def _frame_s(seen: Trace, rows: NDArray[np.intp]) -> float:
    return float(np.median(np.diff(seen.clip_s[rows])))


@dataclass(frozen=True, slots=True, eq=False)
class _Run:
    """Changes of a run's pictures, each (n,)."""

    top: NDArray[np.float64]
    calm: NDArray[np.float64]
    mean: NDArray[np.float64]
    level: NDArray[np.float32]

    def lit(self) -> NDArray[np.bool_]:
        """Where it is the light that changes, not what is in it."""
        return np.asarray(np.abs(np.diff(self.level, prepend=self.level[:1])) >= _LIGHT * self.mean)


def _same(run: _Run, frame_s: float) -> NDArray[np.bool_]:
    """Which of a run's pictures repeat the one before."""
    top, lit = run.top, run.lit() & (run.top > _SAME)
    around: int = 2 * max(2, round(_AROUND_S / frame_s)) + 1
    usual = percentile_filter(top, _USUAL, around, mode="nearest")
    still = top <= np.maximum(_SAME, _SHARE * usual)
    found: NDArray[np.bool_] = np.zeros(top.size, np.bool_)
    edges = np.flatnonzero(np.diff(np.concatenate(([0], still.astype(np.int8), [0]))))
    for first, end in _over_key_frames(edges):
        earlier, later = slice(max(0, first - _AFTER), first), slice(end + 1, end + 1 + _AFTER)
        before, after = top[earlier], top[later]
        if before.size < 2 or after.size < 2 or end >= top.size:
            continue
        if lit[end] or lit[earlier].mean() > 0.5:
            continue
        calm = run.calm
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
        # One or two pictures that stand between full speed and full speed, with a way to make up.
        stopped = (
            end - first <= 2
            and moving >= max(_LEAST_JUMP, float(top[first:end].max()) / _LEFT)
            and before[-1] >= 0.5 * moving
            and jump >= _MADE_UP * moving
        )
        if let_go or stopped:
            found[first:end] = True
    return _grown(found, top <= _SETTLING * usual, max(1, round(_SETTLING_S / frame_s)))


def _leaps(run: _Run, frame_s: float) -> NDArray[np.bool_]:
    """Which pictures stand in a long freeze after which the world is found far on.

    Held against the steps around. A coder that looks ahead gives away a little some pictures before the leap.
    """
    mean, found = run.mean, np.zeros(run.mean.size, np.bool_)
    around: int = 2 * max(2, round(_AROUND_S / frame_s)) + 1
    usual = percentile_filter(mean, _USUAL, around, mode="nearest")
    usual = maximum_filter1d(usual, 4 * around, mode="nearest")
    edges = np.flatnonzero(np.diff(np.concatenate(([0], (mean <= _DEAD * usual).astype(np.int8), [0]))))
    lit = run.lit()
    for first, end in _over_key_frames(edges):
        leap = slice(end, end + 1 + _AHEAD)
        if end - first < max(_LONG, round(_LONG_S / frame_s)) or end >= mean.size:
            continue
        at = end + int(run.mean[leap].argmax())
        parts = slice(max(0, first - _STEPS), first), slice(at + 1, at + 1 + _STEPS)
        if min(run.top[part].size for part in parts) < _STEPS // 2 or lit[at] or lit[parts[0]].mean() > 0.5:
            continue
        tops = [float(np.median(run.top[part])) for part in parts]
        means = [float(np.median(mean[part])) for part in parts]
        if (
            run.top[leap].max() >= max(2 * _LEAST_JUMP, _TOP_LEAP * max(tops))
            and mean[at] >= _MEAN_LEAP * max(means)
            and min(means) >= _ALIKE * max(means)
            and run.top[leap].max() >= _RIVAL * _rival(run, first, at, round(_RIVAL_S / frame_s))
        ):
            found[first:end] = True
    return found


def _rival(run: _Run, first: int, at: int, beside: int) -> float:
    """The largest change so many pictures before and after, but the leap: a coder's key frame, say."""
    others = np.r_[run.top[max(0, first - beside) : at - _AHEAD], run.top[at + 2 : at + 2 + beside]]
    return float(others.max(initial=0.0))


def _over_key_frames(edges: NDArray[np.intp]) -> list[tuple[int, int]]:
    """Stretches from their edges; those that one picture parts are one, since a key frame is coded anew."""
    joined: list[tuple[int, int]] = []
    for first, end in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
        if (
            joined
            and first - joined[-1][1] == 1
            and max(end - first, joined[-1][1] - joined[-1][0]) >= _FREEZE
        ):
            joined[-1] = joined[-1][0], end
        else:
            joined.append((first, end))
    return joined


def _grown(found: NDArray[np.bool_], settling: NDArray[np.bool_], most: int) -> NDArray[np.bool_]:
    """With what belongs to a freeze of some length: the coder settles after its start, and at key frames."""
    grown = found.copy()
    edges = np.flatnonzero(np.diff(np.concatenate(([0], found.astype(np.int8), [0]))))
    for first, end in zip(edges[::2], edges[1::2], strict=True):
        if end - first < _FREEZE:
            continue
        start = first
        while start > max(0, first - most) and settling[start - 1]:
            start -= 1
        grown[start:end] = True
    return grown
