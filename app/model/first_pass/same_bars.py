"""The bars of two sections beside each other, counted from where each begins."""

from bisect import bisect_right

from app.model.first_pass.candidates import Table


def same_bars(of: Table, section: int, other: int) -> list[tuple[int, int]]:
    """For each stretch of a section the one of another that is as far in, or is going on there.

    Where the other is shorter, there is none at its later bars.
    """
    theirs = _from_start(of, other)
    if not theirs:
        return []
    points = of.grid.points
    starts = [ticks for ticks, _ in theirs]
    end = points[theirs[-1][1] + 1].ticks - points[theirs[0][1]].ticks
    return [
        (n, theirs[at][1])
        for ticks, n in _from_start(of, section)
        if ticks < max(end, 1) and (at := bisect_right(starts, ticks) - 1) >= 0
    ]


def _from_start(of: Table, section: int) -> list[tuple[int, int]]:
    """The stretches of a section, each with its ticks from the section's first one."""
    own = [n for n, one in enumerate(of.grid.sections) if one == section]
    points = of.grid.points
    return [(points[n].ticks - points[own[0]].ticks, n) for n in own]
