"""Every shot that a run of stretches can hold, with what it costs by itself: made once for all rounds.

Points are counted from the run's own first one.
"""

from collections.abc import Callable
from itertools import accumulate
from operator import add

from app.model.first_pass.shot_costs import ShotCosts

Row = tuple[list[int], list[int]]
"""For the ends from the next point to the cap what a shot costs, and which candidate shows it."""

NOT_AGAIN = 10**9
"""Ticks after all others."""


class RunShots:
    """The shots of one run, from a point of the song to another, between which something can be used."""

    def __init__(
        self, costs: ShotCosts, first: int, last: int, asked: Callable[[], None] = lambda: None
    ) -> None:
        table = costs.table
        self.costs, self.first, self.size = costs, first, last - first
        self.angle_of = [kind.angle for kind in table.kinds]
        self.kind_of = [one.kind for one in table.candidates]
        self.ticks = [point.ticks for point in table.grid.points[first : last + 1]]
        self.caps = [min(cap, last) - first for cap in costs.caps[first:last]]
        """For each start the last end that has a cost of its own; further on costs grow evenly."""
        self.rows: list[dict[int, Row]] = [{} for _ in range(self.size)]
        """For each start and kind the shots up to the cap."""
        self.long: list[list[tuple[int, int]]] = [[] for _ in range(self.size)]
        """For each start the candidates that go on after its cap, and what that costs one point after it."""
        self.ends_of: dict[int, int] = {}
        """For each candidate the last point at which it can end."""
        self.steps: list[dict[int, int]] = [{} for _ in range(self.size)]
        """For each stretch and candidate what it costs that a long shot shows it too."""
        self.tails: list[dict[int, int]] = [{} for _ in range(self.size + 1)]
        """For each point and candidate what it costs that a shot ends there."""
        self._cuts = [
            [costs.cut(first + start, first + end) for end in range(start + 1, min(cap + 1, self.size) + 1)]
            for start, cap in enumerate(self.caps)
        ]
        for n, one in enumerate(table.candidates):
            if one.first < last and one.last > first:
                self._add(n)
            if not n % 16:
                asked()
        self.next_ticks = [self._next_ticks(angle) for angle in range(len(table.angles))]
        """For each angle and point the ticks of the next point at which it can begin, else `NOT_AGAIN`."""

    def _add(self, n: int) -> None:
        """All shots of a candidate."""
        costs, table, first = self.costs, self.costs.table, self.first
        one = table.candidates[n]
        low, high = max(one.first - first, 0), min(one.last - first, self.size)
        self.ends_of[n] = high
        shown = [costs.shown(n, first + low, first + end) for end in range(low, high + 1)]
        tails = [costs.tail(n, first + end) for end in range(low, high + 1)]
        sums = list(map(add, shown, tails))
        for start in range(low, high):
            cap = self.caps[start]
            gone = shown[start - low] - costs.head(n, first + start)
            ends = sums[start + 1 - low : min(cap, high) + 1 - low]
            own = [cut + end - gone for cut, end in zip(self._cuts[start], ends, strict=False)]
            if one.kind in costs.details:
                own = [
                    cost + costs.held(one.kind, first + start, first + end)
                    for end, cost in enumerate(own, start + 1)
                ]
            there = self.rows[start].get(one.kind)
            if there is None:
                self.rows[start][one.kind] = own, [n] * len(own)
            else:
                _merge(there, own, n)
            if cap < high:
                cost = self._cuts[start][cap - start] + shown[cap + 1 - low] - gone
                cost += costs.held(one.kind, first + start, first + cap + 1)
                self.long[start].append((n, cost))
            evenly = (costs.length + costs.held_on(one.kind)) * (self.ticks[start + 1] - self.ticks[start])
            self.steps[start][n] = costs.step(n, first + start) + evenly
        for end in range(low + 1, high + 1):
            self.tails[end][n] = tails[end - low]

    def _next_ticks(self, angle: int) -> list[int]:
        usable = self.costs.table.usable_angles[self.first : self.first + self.size]
        found = [NOT_AGAIN]
        for at in range(self.size - 1, -1, -1):
            found.append(self.ticks[at] if angle in usable[at] else found[-1])
        return found[::-1]


def _merge(there: Row, own: list[int], n: int) -> None:
    """Of two candidates of a kind the cheaper one at each end; of equals the first."""
    costs, candidates = there
    for at, cost in enumerate(own):
        if at == len(costs):
            costs += own[at:]
            candidates += [n] * (len(own) - at)
            return
        if cost < costs[at]:
            costs[at], candidates[at] = cost, n


def sums_to_end(costs: list[int]) -> list[int]:
    """For each point what comes from there to the end.

    >>> sums_to_end([1, 2, 3])
    [6, 5, 3, 0]
    """
    return list(accumulate(costs[::-1], initial=0))[::-1]
