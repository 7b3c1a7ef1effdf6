"""The cheapest way through a run of stretches: dynamic programming over the points where cuts may fall.

Forwards, a label at a point is a kind of shot that begins there, with what the way there cost, and when each
angle that was seen within the bars of the rule ``again`` was seen last. Of two labels of a kind one can do
without the one that costs more, by as much at least as the other's angles can cost more that come back: these
are the labels and the dominance of shortest paths with resources (S. Irnich and G. Desaulniers, *Shortest
Path Problems with Resource Constraints*, 2005).

What a cut costs at least from a point on is known (`at_least`). Where there are more labels than can be
followed, those are left out that come to most with it, and the least that one left out comes to is kept: no
cut costs less than that, and none costs less than the found one where that is no less.
"""

from bisect import bisect_left
from collections.abc import Callable, Sequence
from copy import copy
from dataclasses import dataclass
from operator import add

from app.model.first_pass.at_least import ASK_EVERY, AtLeast
from app.model.first_pass.path_labels import ENDLESS, Choice, Label, Reached, Way, dearer_by
from app.model.first_pass.run_shots import RunShots

Placed = tuple[int, int, int]
"""A shot: its candidate, and the points from and to which it is seen."""
FOLLOWED = 8
"""So many labels are followed from a point; chosen by cost and time on long songs."""


@dataclass(frozen=True, slots=True)
class Found:
    """The cheapest way that was found."""

    cost: int
    at_least: int
    """No way costs less; the same as ``cost`` where that is proved to be the least."""
    placed: tuple[Placed, ...]


class BestPath:
    """One run of stretches in which something can be used everywhere.

    What was worked out is kept: after a change of extra costs only what differs is done again.
    """

    def __init__(self, shots: RunShots, followed: int = FOLLOWED) -> None:
        self._shots, self._followed = shots, followed
        self._again = shots.costs.again
        self._window = shots.costs.again_ticks if self._again else 0
        self._margin = 2 * self._again * self._window
        """Labels that come to more than the least by so much are left out: two angles back at once."""
        self._most = ENDLESS
        self._least = AtLeast(shots)
        size = shots.size
        self._begun: list[list[Label]] = [[] for _ in range(size)]
        self._grown: list[list[Label]] = [[] for _ in range(size)]
        self._offsets = [0] * size
        """What is to be added to all costs of each point."""
        self._bars = [0] * size
        """What labels of each point come to at most."""
        self._left_out = [ENDLESS] * size
        """How much more than that the least label of each point comes to that was left out."""
        self._end: Way = (0, 0, 0, (0, 0, 0), {})
        self._extra: list[list[int]] = []

    def copy(self) -> "BestPath":
        """The same run, with all that was worked out so far."""
        other = copy(self)
        other._least = self._least.copy()
        other._begun, other._grown = self._begun[:], self._grown[:]
        other._offsets, other._bars = self._offsets[:], self._bars[:]
        other._left_out = self._left_out[:]
        return other

    def solve(self, extra: Sequence[Sequence[int]], asked: Callable[[], None] = lambda: None) -> Found:
        """The cheapest way found; ``extra`` adds costs for each angle and stretch of the song.

        ``asked`` is called now and then, and may raise; the next call then does all again.
        """
        own, changed = self._changed(extra)
        self._extra = []
        if changed:
            ranges, shifts = self._least.change(own, changed, asked)
            for before, amount in shifts:
                self._bars[:before] = [one + amount for one in self._bars[:before]]
            self._follow(ranges[::-1], asked)
        self._extra = own
        return self._found()

    def prove(self, extra: Sequence[Sequence[int]]) -> Found:
        """The cheapest way of all. Time grows steeply with the run's length: for short runs."""
        found = BestPath(self._shots).solve(extra)
        if found.at_least == found.cost:
            return found
        whole = BestPath(self._shots, ENDLESS)
        # What comes to more than a way that is known is not wanted, but nothing else is left out.
        whole._margin, whole._most = ENDLESS, found.cost
        return whole.solve(extra)

    def changes(self, extra: Sequence[Sequence[int]]) -> int:
        """In how many stretches extra costs are others than those that were worked out last."""
        return len(self._changed(extra)[1])

    def _changed(self, extra: Sequence[Sequence[int]]) -> tuple[list[list[int]], list[int]]:
        """The run's own extra costs, and the stretches in which they are others than before, rising."""
        first, size = self._shots.first, self._shots.size
        own = [list(one[first : first + size]) for one in extra]
        if not self._extra:
            return own, list(range(size))
        found: set[int] = set()
        for one, old in zip(own, self._extra, strict=True):
            if one != old:
                found.update(n for n, (a, b) in enumerate(zip(one, old, strict=True)) if a != b)
        return own, sorted(found)

    def _follow(self, waiting: list[tuple[int, int]], asked: Callable[[], None]) -> None:
        """Go forward through ranges of points (falling) at which something differs, and on as far as it does.

        Where all labels that later points look back at are dearer by one amount than before, so is all that
        follows, and the best way on is the same.
        """
        caps, size = self._shots.caps, self._shots.size

        def start_of(one: tuple[int, int]) -> int:
            return bisect_left(caps, one[0] - 1)

        while waiting:
            start, last = start_of(waiting[-1]), waiting.pop()[1]
            reached = Reached(size)
            for before in range(bisect_left(caps, start - 1, 0, start), start):
                self._go_on(before, start, reached)
            since, amount = start, None
            for at in range(start, size + 1):
                if not at % ASK_EVERY:
                    asked()
                while waiting and start_of(waiting[-1]) <= at:
                    last = max(last, waiting.pop()[1])
                now = self._at(at, reached)
                if now is None or now != amount:
                    since = at + 1 if now is None else at
                amount = now
                if at > last and amount is not None and since <= bisect_left(caps, at):
                    self._shift(at + 1, amount)
                    break

    def _shift(self, start: int, amount: int) -> None:
        """Make all from a point on dearer."""
        self._offsets[start:] = [one + amount for one in self._offsets[start:]]
        self._bars[start:] = [one + amount for one in self._bars[start:]]
        total, cost, kind, back, seen = self._end
        self._end = total + amount, cost + amount, kind, back, seen

    def _at(self, at: int, reached: Reached) -> int | None:
        """Work out all labels of a point; by how much they are dearer, None where that is not one amount."""
        shots, size = self._shots, self._shots.size
        grown, pool = self._grow(at, reached), reached.ending[at]
        for _, cost, kind, back, seen in grown:
            ends = cost + shots.tails[at][back[2]]
            pool.append((ends + self._least.end[kind][at], ends, kind, back, seen))
        if at == size:
            self._end = min(pool, key=lambda way: way[:4])
            return None
        reach = reached.least[at + 1 : shots.caps[at] + 2] if at else [self._least.at_start()]
        lowest = min(*reach, *(way[0] for way in pool), *(way[0] for way in grown), ENDLESS)
        choice = Choice(shots, at, min(lowest + self._margin, self._most), self._followed)
        kept = choice.ways(grown, lambda way: way[3][2], at)
        long = [(cost, kind, back, seen) for _, cost, kind, back, seen in kept]
        begun = self._begin(at, choice.ways(pool, lambda way: way[2], at), choice)
        amounts: set[int | None] = {choice.most - self._bars[at]}
        for old, new in ((self._begun[at], begun), (self._grown[at], long)):
            amounts |= dearer_by(old, new, self._offsets[at])
        self._begun[at], self._grown[at] = begun, long
        self._bars[at], self._offsets[at] = choice.most, 0
        self._go_on(at, at + 1, reached, choice)
        self._left_out[at] = choice.left_out - choice.most
        return amounts.pop() if len(amounts) == 1 else None

    def _grow(self, at: int, reached: Reached) -> list[Way]:
        """Long shots that come as far as a point."""
        shots, ways = self._shots, reached.long[at]
        if not at or not self._grown[at - 1]:
            return ways
        least, off = self._least.long[at], self._least.offsets[at]
        for cost, kind, back, seen in self._grown[at - 1]:
            n = back[2]
            if n in shots.steps[at - 1]:
                extra = self._least.extra[shots.angle_of[kind]]
                now = cost + self._offsets[at - 1] + shots.steps[at - 1][n] + extra[at - 1] - extra[at]
                ways.append((now + least[n] + off, now, kind, back, seen))
        return ways

    def _begin(self, at: int, ended: list[Way], choice: Choice) -> list[Label]:
        """The shots that begin at a point after what ended there; costs are told for `_at`."""
        shots, begin, off = self._shots, self._least.begin[at], self._least.offsets[at]
        order = sorted((cost + off, kind) for kind, cost in begin.items())
        if not at:
            return [(0, kind, (-1, -1, -1), {}) for cost, kind in order if not choice.too_dear(cost)]
        now, window, angle_of = shots.ticks[at], self._window, shots.angle_of
        ways: list[Way] = []
        for _, so_far, before, back, seen in ended:
            pairs, left = shots.costs.pairs[before], angle_of[before]
            for least, kind in order:
                if choice.too_dear(so_far + least):
                    break
                cost, angle = so_far + pairs[kind], angle_of[kind]
                if angle in seen:
                    cost += self._again * max(0, window - now + seen[angle])
                if choice.too_dear(cost + least):
                    continue
                after = {one: ticks for one, ticks in seen.items() if ticks > now - window and one != angle}
                if window and left != angle:
                    after[left] = now
                ways.append((cost + least, cost, kind, back, after))
        return [way[1:] for way in choice.ways(ways, lambda way: way[2], at + 1)]

    def _go_on(self, at: int, least_end: int, reached: Reached, choice: Choice | None = None) -> None:
        """Take shots that begin at a point to where they can end, from a point on."""
        bar, offset, after_cap = self._bars[at], self._offsets[at], self._shots.caps[at] + 1
        rows: dict[int, list[tuple[int, int, int, int]]] = {}
        lowest = reached.least
        for nth, (cost, kind, _, seen) in enumerate(self._begun[at]):
            cost += offset
            if kind not in rows:
                # The first of a kind costs least, so it comes furthest.
                rows[kind] = self._row(at, kind, bar - cost, choice)
            for total, own, end, n in rows[kind]:
                total += cost
                if total > bar:
                    if choice is not None:
                        choice.too_dear(total)
                    break
                if end >= least_end:
                    ways = reached.long if end == after_cap else reached.ending
                    ways[end].append((total, cost + own, kind, (at, nth, n), seen))
                    if total < lowest[end]:
                        lowest[end] = total

    def _row(self, at: int, kind: int, room: int, choice: Choice | None) -> list[tuple[int, int, int, int]]:
        """The shots of a kind from a point that come to no more than ``room``, the cheapest in all first: in
        all, own cost, end and candidate.

        Those that end a point after the cap go on from there as long shots.
        """
        shots, least = self._shots, self._least
        extra, ahead = least.extra[shots.angle_of[kind]], least.ahead[kind]
        costs, candidates = shots.rows[at][kind]
        gone, first = extra[at], at + 1
        totals = list(map(add, costs, ahead[first : first + len(costs)]))
        row = [
            (total + gone, costs[n] + gone - extra[first + n], first + n, candidates[n])
            for n, total in enumerate(totals)
            if total + gone <= room
        ]
        left_out = [total + gone for total in totals if total + gone > room]
        end = shots.caps[at] + 1
        for n, cost in shots.long[at]:
            if shots.kind_of[n] == kind:
                cost += gone - extra[end]
                total = cost + least.long[end][n] + least.offsets[end]
                if total <= room:
                    row.append((total, cost, end, n))
                else:
                    left_out.append(total)
        if left_out and choice is not None:
            choice.too_dear(choice.most - room + min(left_out))
        row.sort()
        return row

    def _found(self) -> Found:
        """The way that came to the end, shot by shot."""
        _, cost, _, back, _ = self._end
        end, shots = self._shots.size, []
        while back[0] >= 0:
            start, nth, n = back
            shots.append((n, self._shots.first + start, self._shots.first + end))
            end, back = start, self._begun[start][nth][2]
        over = min(map(add, self._bars, self._left_out))
        return Found(cost, min(cost, over), tuple(shots[::-1]))
