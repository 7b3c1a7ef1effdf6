"""The cheapest way through a run of stretches, by dynamic programming over the points where cuts may fall.

The state at a cut is the kind of shot that ends there and the angle before it (R. Bellman, *Dynamic
Programming*, 1957). Every rule that looks at one shot, at two in a row, or at an angle that comes back with
one shot between, is kept exactly: no other sequence of shots costs less. Shots longer than all rules tell
apart cost evenly more, so they are grown by a stretch at a time, each in its own candidate.
"""

from collections.abc import Sequence
from copy import copy
from itertools import accumulate

from app.model.first_pass.shot_costs import ShotCosts

Placed = tuple[int, int, int]
"""A shot: its candidate, and the points from and to which it is seen."""
_Back = dict[int, tuple[int, int]]
"""For each angle before: the point at which the shot began, and its candidate."""
_Costs = dict[int, int]
_Ended = dict[int, tuple[_Costs, _Back, _Costs, _Back]]
"""For each kind of shot that ends at a point: for each angle before what that costs and how it began, then
the same for when that angle comes back next."""
_Begun = dict[int, tuple[list[tuple[int, int]], dict[int, tuple[int, int, bool]]]]
"""For each kind of shot that begins at a point: angles before with costs, and for each the kind of the shot
before, the angle before that, and whether that angle comes back."""
_Long = dict[int, dict[int, tuple[int, int]]]
"""For each candidate, and each angle before, cost and first point of a shot that goes on."""


class BestPath:
    """One run of stretches in which something can be used everywhere, from one point to another.

    What was worked out is kept: after a change of extra costs only what comes after it is done again.
    """

    def __init__(self, costs: ShotCosts, first: int, last: int) -> None:
        self._costs, self._first, self._last = costs, first, last
        table = costs.table
        self._angle_of = [kind.angle for kind in table.kinds]
        self._nothing = len(table.angles)
        self._own = [n for n, one in enumerate(table.candidates) if one.first < last and one.last > first]
        size = last - first + 1
        self._by_end = self._all_shots()
        self._starting: list[set[int]] = [set() for _ in range(size)]
        self._running: list[list[int]] = [[] for _ in range(size)]
        for n in self._own:
            one = table.candidates[n]
            for at in range(max(one.first, first), min(one.last, last)):
                self._starting[at - first].add(one.kind)
                self._running[at - first].append(n)
        self._ending: list[list[int]] = [[] for _ in range(size)]
        for start in range(first, last):
            if costs.caps[start] < last:
                self._ending[costs.caps[start] - first].append(start)
        self._forget()

    def again(self) -> "BestPath":
        """The same run, with nothing worked out yet."""
        other = copy(self)
        other._forget()
        return other

    def _forget(self) -> None:
        size = self._last - self._first + 1
        self._ended: list[_Ended] = [{} for _ in range(size)]
        self._begun: list[_Begun] = [{} for _ in range(size)]
        self._long: list[_Long] = [{} for _ in range(size)]
        self._extra: Sequence[Sequence[int]] | None = None

    def solve(self, extra: Sequence[Sequence[int]]) -> tuple[int, list[Placed]]:
        """The cheapest cost and its shots; ``extra`` adds costs for each angle and stretch of the song."""
        begin = self._changed(extra)
        self._extra = [list(one) for one in extra]
        self._sums = [tuple(accumulate(one, initial=0)) for one in extra]
        if begin == self._first:
            self._begun[0] = {kind: ([(self._nothing, 0)], {}) for kind in sorted(self._starting[0])}
        for end in range(begin + 1, self._last + 1):
            self._grow(end)
            self._end(end)
            if end < self._last:
                self._begin(end)
        cost, kind, angle = min(
            (cost, kind, angle) for kind, ways in self._ended[-1].items() for angle, cost in ways[0].items()
        )
        return cost, self._trace(kind, angle)

    def _changed(self, extra: Sequence[Sequence[int]]) -> int:
        """The first stretch in which extra costs are others than before."""
        if self._extra is None:
            return self._first
        begin = self._last
        for one, old in zip(extra, self._extra, strict=True):
            begin = next((n for n in range(self._first, begin) if one[n] != old[n]), begin)
        return begin

    def _all_shots(self) -> list[list[tuple[int, list[tuple[int, int, int, int]]]]]:
        """For each end and kind: starts, the cost and candidate from each, and the cost of coming back."""
        costs, table = self._costs, self._costs.table
        found: list[dict[int, dict[int, tuple[int, int]]]] = [{} for _ in range(self._last - self._first + 1)]
        for n in self._own:
            one = table.candidates[n]
            last = min(one.last, self._last)
            for start in range(max(one.first, self._first), last):
                for end in range(start + 1, min(costs.caps[start], last) + 1):
                    cost = costs.shot(n, start, end) + costs.tail(n, end)
                    ways = found[end - self._first].setdefault(one.kind, {})
                    if start not in ways or cost < ways[start][0]:
                        ways[start] = cost, n
        return [
            [
                (
                    kind,
                    [
                        (start, cost, n, costs.back_again(start, end))
                        for start, (cost, n) in sorted(ways.items())
                    ],
                )
                for kind, ways in sorted(kinds.items())
            ]
            for end, kinds in enumerate(found, self._first)
        ]

    def _grow(self, end: int) -> None:
        """Shots that are longer than all rules tell apart, a stretch longer than they were."""
        costs, table = self._costs, self._costs.table
        at, ticks = end - self._first, table.grid.points
        before = self._long[at - 1]
        now: _Long = {}
        evenly = costs.length * (ticks[end].ticks - ticks[end - 1].ticks)
        for n in self._running[at - 1]:
            one = table.candidates[n]
            angle = self._angle_of[one.kind]
            sums = self._sums[angle]
            step = costs.step(n, end - 1) + sums[end] - sums[end - 1]
            ways = {p: (cost + step + evenly, start) for p, (cost, start) in before.get(n, {}).items()}
            for start in self._ending[at - 1]:
                if start < one.first or one.kind not in self._begun[start - self._first]:
                    continue
                cost = costs.shot(n, start, end) + sums[end] - sums[start]
                for p, so_far in self._begun[start - self._first][one.kind][0]:
                    if p not in ways or so_far + cost < ways[p][0]:
                        ways[p] = so_far + cost, start
            if ways:
                now[n] = ways
        self._long[at] = now

    def _end(self, end: int) -> None:
        """All shots that can end at a point."""
        costs, table = self._costs, self._costs.table
        at = end - self._first
        found: _Ended = {}
        for kind, ways in self._by_end[at]:
            plain, plain_back, again, again_back = found[kind] = ({}, {}, {}, {})
            sums = self._sums[self._angle_of[kind]]
            for start, cost, n, back in ways:
                begun = self._begun[start - self._first].get(kind)
                if begun is None:
                    continue
                own = cost + sums[end] - sums[start]
                for p, so_far in begun[0]:
                    total = so_far + own
                    if p not in plain or total < plain[p]:
                        plain[p] = total
                        plain_back[p] = start, n
                    total += back
                    if p not in again or total < again[p]:
                        again[p] = total
                        again_back[p] = start, n
        for n, grown in self._long[at].items():
            kind = table.candidates[n].kind
            plain, plain_back, again, again_back = found.setdefault(kind, ({}, {}, {}, {}))
            tail = costs.tail(n, end)
            for p, (so_far, start) in grown.items():
                total = so_far + tail
                if p not in plain or total < plain[p]:
                    plain[p] = total
                    plain_back[p] = start, n
                if p not in again or total < again[p]:
                    again[p] = total
                    again_back[p] = start, n
        self._ended[at] = {kind: ways for kind, ways in found.items() if ways[0]}

    def _begin(self, start: int) -> None:
        """All shots that can begin at a point, after what ended there."""
        at = start - self._first
        pairs, angle_of = self._costs.pairs, self._angle_of
        # What an angle before can make dearer later: further off it is never worth while.
        most = self._costs.again * self._costs.again_ticks
        best = []
        for kind, (plain, _, again, _) in sorted(self._ended[at].items()):
            cheapest = sorted((cost, p) for p, cost in plain.items())[:2]
            best.append((kind, cheapest, again))
        begun: _Begun = {}
        for kind in sorted(self._starting[at]):
            angle = angle_of[kind]
            rows: dict[int, tuple[int, tuple[int, int, bool]]] = {}
            for before, cheapest, again in best:
                way: tuple[int, int, bool] | None = None
                least = 0
                for cost, p in cheapest:
                    if p != angle:
                        least, way = cost, (before, p, False)
                        break
                if angle in again and (way is None or again[angle] < least):
                    least, way = again[angle], (before, angle, True)
                if way is None:
                    continue
                total = least + pairs[before][kind]
                old = rows.get(angle_of[before])
                if old is None or total < old[0]:
                    rows[angle_of[before]] = total, way
            if rows:
                enough = min(total for total, _ in rows.values()) + most
                kept = {p: one for p, one in rows.items() if one[0] <= enough}
                begun[kind] = [(p, one[0]) for p, one in kept.items()], {p: one[1] for p, one in kept.items()}
        self._begun[at] = begun

    def _trace(self, kind: int, angle: int) -> list[Placed]:
        end, again = self._last, False
        shots: list[Placed] = []
        while True:
            _, plain_back, _, again_back = self._ended[end - self._first][kind]
            start, n = (again_back if again else plain_back)[angle]
            shots.append((n, start, end))
            if start == self._first:
                return shots[::-1]
            kind, angle, again = self._begun[start - self._first][kind][1][angle]
            end = start
