"""Bumps: the camera is knocked, lowered before the cut, or raised after the start.

A bump is a jerk of the whole picture, far above the camera's usual unrest, that is over at once: it shakes
and settles. A pan, however fast, goes on and arrives elsewhere; a hand-held camera's unrest is its own
measure.
"""

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import median_filter

from audio.pictures.stretches import Found, stretches
from audio.pictures.trace import Trace

_LEAST = 0.3
"""Heights a second by which a jerk must stand out at least: a hundredth of the picture in a 25th."""
_TIMES = 5.0
"""… and so many times the camera's usual unrest (95 % of its pictures stay below that)."""
_WINDOW_S = 1.2
"""What the camera does around a moment is the median over so long; by hand, longer than a bump."""
_LONGEST_S = 1.2
_AGREED = 0.6
"""Share of tiles that move together in a bump."""
_FOLLOWED = 0.75
"""Share of tiles that agree around a bump (median) where movement can be followed at all; by hand."""
_SHAKES, _TOGETHER, _PART = 3, 5, 0.2
"""So many of so many pictures in a row move by this share of the fastest at least: a key frame that is coded
anew seems to jump once or twice. By hand."""
_BACK = 0.05
"""Mean difference of cells' levels from before a bump to after it: the same is seen again. By hand."""
_MORE_CHANGE = 1.5
"""Times the usual change of a picture that a bump changes it; by hand."""
_TOO_DARK = 0.12
"""Level that a tenth of the picture is above where movement can be followed; the rest is noise."""
_MOSTLY = 0.7
"""Share of the pictures of a bump in which that is so: in a fast pan the movement is not followed."""
_NET = 0.25
"""Heights a bump leaves the picture displaced at most; farther is a pan."""
_AT_ONCE_S = 0.1
_LOWERED = 0.5
"""Heights that a camera goes up or down when it is lowered before the cut or raised after the start."""
_LOWERING_S = 4.0
"""It takes no longer."""
_LOWERING_SPEED = 0.5
"""Heights a second that it moves on the average."""
_FASTEST = 1.6
"""A board that is taken away from before the lens moves faster."""
_ELSEWHERE, _TIMES_APART = 0.07, 2.5
"""Mean difference of cells from the take's usual ones that shows something else, and how many times that of
three quarters of the pictures; by hand."""


def bumps(seen: Trace) -> Iterator[Found]:
    """Stretches with a bump; ``measure`` is the largest jerk, in picture heights a second."""
    ends = list(_at_the_ends(seen))
    yield from ends
    unrest = _unrest(seen)
    for rows in runs_of(seen):
        for one in _bumps(seen, rows, unrest):
            if not any(
                one.clip_start_s < end.clip_end_s and end.clip_start_s < one.clip_end_s for end in ends
            ):
                yield one


def runs_of(seen: Trace) -> list[NDArray[np.intp]]:
    """Rows of every run of consecutive frames that can be compared with the row before."""
    parts = np.split(np.arange(seen.run.size), np.flatnonzero(np.diff(seen.run)) + 1)
    return [part[1:] for part in parts if part.size > 8]


def _velocity(seen: Trace, rows: NDArray[np.intp]) -> NDArray[np.float64]:
    """Heights a second, right and down, (rows, 2)."""
    frame_s = np.maximum(np.diff(seen.clip_s)[rows - 1], 1e-3)
    return np.asarray(seen.shift[rows] / frame_s[:, None], np.float64)


def _jerk(velocity: NDArray[np.float64], frame_s: float) -> NDArray[np.float64]:
    """By how much the movement stands out from what the camera does around, (rows,)."""
    window = 2 * round(_WINDOW_S / 2 / frame_s) + 1
    usual = median_filter(velocity, size=(window, 1), mode="nearest")
    return np.asarray(np.hypot(*(velocity - usual).T))


def _unrest(seen: Trace) -> float:
    """What 95 % of the clip's jerks stay below."""
    found = [
        _jerk(_velocity(seen, rows), _frame_s(seen, rows))[seen.agreed[rows] >= _AGREED]
        for rows in runs_of(seen)
    ]
    every = np.concatenate(found) if found else np.zeros(0)
    return float(np.quantile(every, 0.95)) if every.size else 0.0


def _frame_s(seen: Trace, rows: NDArray[np.intp]) -> float:
    return float(np.median(np.diff(seen.clip_s[rows])))


def _bumps(seen: Trace, rows: NDArray[np.intp], unrest: float) -> Iterator[Found]:
    frame_s = _frame_s(seen, rows)
    velocity = _velocity(seen, rows)
    jerk = _jerk(velocity, frame_s)
    agreed = (seen.agreed[rows] >= _AGREED) & (seen.quantiles[rows, 3] >= _TOO_DARK)
    threshold = max(_LEAST, _TIMES * unrest)
    times = seen.clip_s[rows]
    shaking = jerk > 0.3 * threshold
    for first, last in stretches(shaking, times, join_s=0.25, least_s=0.0):
        part = slice(first, last + 1)
        figure = float(np.max(np.where(agreed[part], jerk[part], 0)))
        moving = np.hypot(*velocity[part].T) >= _PART * figure
        shakes = int(np.convolve(moving, np.ones(_TOGETHER)).max())
        if figure < threshold or agreed[part].mean() < _MOSTLY or shakes < _SHAKES:
            continue
        if not _seen(seen, rows, first, last, frame_s):
            continue
        if times[last] - times[first] > _LONGEST_S:
            continue
        moved = velocity[part] * frame_s
        net = float(np.hypot(*moved.sum(axis=0)))
        path = float(np.hypot(*moved.T).sum())
        at_once = max(1, round(_AT_ONCE_S / frame_s))
        sums = np.cumsum(np.pad(moved, ((at_once, 0), (0, 0))), axis=0)
        quickest = float(np.hypot(*(sums[at_once:] - sums[:-at_once]).T).max())
        if net > _NET or (net > 0.5 * path and quickest < 0.6 * net):
            continue
        start = max(first - 1, 0)
        yield Found(
            float(times[start]),
            float(times[min(last + 1, times.size - 1)]),
            figure,
        )


def _seen(seen: Trace, rows: NDArray[np.intp], first: int, last: int, frame_s: float) -> bool:
    """Whether the movement was followed well around, shows in the differences, and leads back."""
    beside = round(_WINDOW_S / frame_s)
    around = rows[max(0, first - beside) : last + 1 + beside]
    change = seen.change[rows[first : last + 1]].max()
    before = seen.cells[rows[max(0, first - 2)]]
    after = seen.cells[rows[min(last + max(2, beside // 4), len(rows) - 1)]]
    return bool(
        np.median(seen.agreed[around]) >= _FOLLOWED
        and change >= _MORE_CHANGE * np.median(seen.change[around])
        and np.abs(after - before).mean() <= _BACK
    )


def _at_the_ends(seen: Trace) -> Iterator[Found]:
    """The camera raised after the start, lowered before the cut."""
    whole = runs_of(seen)
    if not whole or whole[0].size + 1 < seen.clip_s.size or seen.clip_s[-1] < 3 * _LOWERING_S:
        return
    rows = whole[0]
    frame_s = _frame_s(seen, rows)
    velocity = _velocity(seen, rows) * (seen.agreed[rows] >= 0.5)[:, None]
    down = velocity[:, 1]
    count = round(_LOWERING_S / frame_s)
    calm = float(np.quantile(np.abs(down), 0.9))
    apart = np.abs(seen.cells - np.median(seen.cells, axis=0)).mean(axis=(1, 2))
    elsewhere = max(_ELSEWHERE, _TIMES_APART * float(np.quantile(apart, 0.75)))
    for ending in (False, True):
        part = down[::-1][:count] if ending else down[:count]
        way = np.cumsum(part) * frame_s
        furthest = int(np.flatnonzero(np.abs(way) >= 0.9 * np.abs(way).max())[0])
        start = int(np.flatnonzero(np.abs(way) >= 0.1 * abs(way[furthest]))[0])
        took_s = (furthest - start + 1) * frame_s
        speed = abs(way[furthest]) / took_s
        far_enough = abs(way[furthest]) >= _LOWERED and speed >= _LOWERING_SPEED
        # A poor coder hides a part of the way, but not where it led.
        followed = abs(way[furthest]) >= 0.5 * _LOWERED and 0.5 * _LOWERING_SPEED <= speed <= _FASTEST
        if not (far_enough or (followed and apart[-1 if ending else 0] >= elsewhere)) or speed < 3 * calm:
            continue
        far = min(furthest + 2, rows.size - 1)
        times = seen.clip_s[rows]
        edges = (times[-1 - far], times[-1]) if ending else (seen.clip_s[0], times[far])
        yield Found(float(edges[0]), float(edges[1]), float(speed))
