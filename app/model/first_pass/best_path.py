"""The cheapest way through a run of stretches, by dynamic programming over the points where cuts may fall.

The state at a cut is the kind of shot that ends there and the angle before it (R. Bellman, *Dynamic
Programming*, 1957). Every rule that looks at one shot, at two in a row, or at an angle that comes back with
one shot between, is kept exactly: no other sequence of shots costs less. Shots longer than all rules tell
apart cost evenly more, so they are grown by a stretch at a time, each in its own candidate.
"""

from bisect import bisect_left
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
        self._ended: list[_Ended] = [{} for _ in range(size)]
        self._begun: list[_Begun] = [{} for _ in range(size)]
        self._long: list[_Long] = [{} for _ in range(size)]
        self._offsets = [0] * size
        """What is to be added to all costs of each point."""
        self._extra: Sequence[Sequence[int]] = ()
        self._sums: Sequence[tuple[int, ...]] = ()

    def copy(self) -> "BestPath":
        """The same run, with all that was worked out so far."""
        other = copy(self)
        other._ended, other._begun, other._long = self._ended[:], self._begun[:], self._long[:]
        other._offsets = self._offsets[:]
        return other

    def solve(self, extra: Sequence[Sequence[int]]) -> tuple[int, list[Placed]]:
        """The cheapest cost and its shots; ``extra`` adds costs for each angle and stretch of the song."""
        changed = self._changed(extra)
        self._extra = [list(one) for one in extra]
        self._sums = [tuple(accumulate(one, initial=0)) for one in extra]
        if not self._begun[0]:
            self._begun[0] = {kind: ([(self._nothing, 0)], {}) for kind in sorted(self._starting[0])}
        while changed:
            changed = self._work_out(changed)
        cost, kind, angle = min(
            (cost, kind, angle) for kind, ways in self._ended[-1].items() for angle, cost in ways[0].items()
        )
        return cost + self._offsets[-1], self._trace(kind, angle)

    def _changed(self, extra: Sequence[Sequence[int]]) -> list[int]:
        """The stretches in which extra costs are others than before, rising."""
        if not self._begun[0]:
            return list(range(self._first, self._last))
        both = [(one, old) for one, old in zip(extra, self._extra, strict=True) if one != old]
        return [n for n in range(self._first, self._last) if any(one[n] != old[n] for one, old in both)]

    def _work_out(self, changed: list[int]) -> list[int]:
        """Work out all states after the first changed stretch, as far as they differ from before.

        Where all that later points look back at is dearer (or cheaper) by one amount than before, so is all
        that follows, and the best way on is the same. Gives the changed stretches from there on.
        """
        waiting = changed[::-1]
        recent, caps = self._first, self._costs.caps
        by: dict[int, int | None] = {}
        for end in range(changed[0] + 1, self._last + 1):
            while waiting and waiting[-1] < end:
                recent = waiting.pop()
            at = end - self._first
            old_begun, old_long, offset = self._begun[at], self._long[at], self._offsets[at]
            self._offsets[at] = 0
            self._grow(end)
            self._end(end)
            self._drop(end)
            if end == self._last:
                break
            self._begin(end)
            by[end] = _same_amount(_plain_costs(old_begun, offset), _plain_costs(self._begun[at]))
            looked_at = bisect_left(caps, end, 0, end)
            amounts = {by.get(start) for start in range(looked_at, end + 1)}
            if looked_at <= recent or len(amounts) > 1 or None in amounts:
                continue
            (amount,) = amounts
            if old_long or self._long[at]:
                amounts.add(_same_amount(_long_costs(old_long, offset), _long_costs(self._long[at])))
            if amount is not None and len(amounts) == 1:
                for later in range(at + 1, len(self._offsets)):
                    self._offsets[later] += amount
                return waiting[::-1]
        return []

    def _all_shots(self) -> list[list[tuple[int, list[tuple[int, int, int, int]]]]]:
        """For each end and kind: starts, the cost and candidate from each, and the cost of coming back."""
        costs, table = self._costs, self._costs.table
        found: list[dict[int, dict[int, tuple[int, int]]]] = [{} for _ in range(self._last - self._first + 1)]
        cuts = [
            [costs.cut(start, end) for end in range(start + 1, min(costs.caps[start], self._last) + 1)]
            for start in range(self._first, self._last)
        ]
        for n in self._own:
            one = table.candidates[n]
            first, last = max(one.first, self._first), min(one.last, self._last)
            detail = one.kind in costs.details
            sums = [costs.shown(n, first, end) + costs.tail(n, end) for end in range(first, last + 1)]
            for start in range(first, last):
                gone = costs.shown(n, first, start) - costs.head(n, start)
                for end, cut in enumerate(cuts[start - self._first][: last - start], start + 1):
                    cost = cut + sums[end - first] - gone
                    if detail:
                        cost += costs.held(one.kind, start, end)
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
        more = ticks[end].ticks - ticks[end - 1].ticks
        for n in self._running[at - 1]:
            one = table.candidates[n]
            angle = self._angle_of[one.kind]
            sums = self._sums[angle]
            step = costs.step(n, end - 1) + sums[end] - sums[end - 1]
            step += (costs.length + costs.held_on(one.kind)) * more + self._offsets[at - 1]
            ways = {p: (cost + step, start) for p, (cost, start) in before.get(n, {}).items()}
            for start in self._ending[at - 1]:
                if start < one.first or one.kind not in self._begun[start - self._first]:
                    continue
                cost = costs.cut(start, end) + costs.held(one.kind, start, end)
                cost += costs.shown(n, start, end) + costs.head(n, start)
                cost += sums[end] - sums[start] + self._offsets[start - self._first]
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
                own = cost + sums[end] - sums[start] + self._offsets[start - self._first]
                # What is dearer than two other angles before makes nothing cheaper, whatever comes next.
                enough = sorted(plain.values())[1] if len(plain) > 1 else None
                for p, so_far in begun[0]:
                    total = so_far + own
                    if enough is not None and total > enough:
                        break
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

    def _drop(self, end: int) -> None:
        """Forget long shots that are so dear that a cut to the same candidate here costs less.

        Such a cut costs what the rules about cuts and neighbours, and about a short shot, can cost at most.
        """
        costs, table = self._costs, self._costs.table
        at = end - self._first
        if end == self._last or not self._long[at]:
            return
        least: dict[int, int] = {}
        for kind, ways in self._ended[at].items():
            angle, cost = self._angle_of[kind], min(ways[0].values())
            least[angle] = min(cost, least.get(angle, cost))
        most = costs.cut_at_most(end)
        kept: _Long = {}
        for n, grown in self._long[at].items():
            own = self._angle_of[table.candidates[n].kind]
            enough = min((cost for angle, cost in least.items() if angle != own), default=None)
            if enough is not None:
                grown = {p: one for p, one in grown.items() if one[0] <= enough + most}
            if grown:
                kept[n] = grown
        self._long[at] = kept

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
                kept = {p: one for p, one in sorted(rows.items(), key=_cost) if one[0] <= enough}
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


def _cost(row: tuple[int, tuple[int, tuple[int, int, bool]]]) -> int:
    return row[1][0]


def _plain_costs(begun: _Begun, offset: int = 0) -> dict[tuple[int, ...], int]:
    return {(kind, p): cost + offset for kind, (rows, _) in begun.items() for p, cost in rows}


def _long_costs(long: _Long, offset: int = 0) -> dict[tuple[int, ...], int]:
    # Later states remember where a long shot began, so that has to be the same too.
    return {(n, p, start): cost + offset for n, ways in long.items() for p, (cost, start) in ways.items()}


def _same_amount(old: dict[tuple[int, ...], int], new: dict[tuple[int, ...], int]) -> int | None:
    """By how much all costs are higher than before; None where that is not one amount."""
    if old.keys() != new.keys():
        return None
    amounts = {new[key] - cost for key, cost in old.items()}
    return amounts.pop() if len(amounts) == 1 else None
