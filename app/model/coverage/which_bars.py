"""Where a need asks for so many bars of a passage and any would do: which of them to shoot."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from app.model.coverage.ranges import runs


@dataclass(frozen=True, slots=True)
class Lacking:
    """Bars that a need lacks in one place, of which only so many are wanted."""

    subject: str
    """In the same letters for the same subject."""
    bars: tuple[int, ...]
    """Indices, rising."""
    wanted: int


def which_bars(all_of_them: Sequence[Lacking]) -> list[tuple[int, ...]]:
    """For each the bars to shoot, together if they can be: near to others of the same subject.

    What lies together is shot in one pass, and a pass costs its reset before all else. So a bar at the edge
    of a section goes with one beyond it.

    >>> which_bars([Lacking("drums", (4, 5, 6, 7), 1), Lacking("drums", (8,), 1), Lacking("bass", (4, 5), 1)])
    [(7,), (8,), (4,)]
    """
    # What may be chosen counts until it is.
    chosen: list[tuple[int, ...]] = [one.bars for one in all_of_them]
    same: dict[str, list[int]] = {}
    for n, one in enumerate(all_of_them):
        same.setdefault(one.subject, []).append(n)
    for own in same.values():
        for n in own:
            one = all_of_them[n]
            if one.wanted < len(one.bars):
                others = {bar for other in own if other != n for bar in chosen[other]}
                chosen[n] = _nearest(one, others)
    return chosen


def _nearest(one: Lacking, others: Collection[int]) -> tuple[int, ...]:
    """The window of neighbours nearest to the others; of equals the first in the longest run."""
    if one.wanted <= 0:
        return ()
    long = [(first, last) for first, last in runs(one.bars) if last - first + 1 >= one.wanted]
    if not long:
        longest_first = sorted(runs(one.bars), key=lambda run: (run[0] - run[1], run[0]))
        every = [n for first, last in longest_first for n in range(first, last + 1)]
        return tuple(sorted(every[: one.wanted]))
    windows = [
        (_away(start, start + one.wanted - 1, others), first - last, start)
        for first, last in long
        for start in range(first, last - one.wanted + 2)
    ]
    start = min(windows)[2]
    return tuple(range(start, start + one.wanted))


def _away(first: int, last: int, others: Collection[int]) -> int:
    """How many bars lie between a window and the nearest of the others; none where there are no others."""
    return min((max(0, first - n, n - last) for n in others), default=0)
