"""What a cut costs at least from a point on, worked out backwards: exact but for angles that come back.

The state is the kind of shot alone, so that all of it is there in a moment. It guides the way forward, and
tells how near to the best cut a found one is at least.
"""

from collections.abc import Callable, Sequence
from operator import add, sub

from app.model.first_pass.run_shots import RunShots, sums_to_end

ASK_EVERY = 16
"""Points between two questions whether to go on."""


class AtLeast:
    """For each point of a run, and what begins, ends or goes on there, what comes from then on.

    What was worked out is kept: after a change of extra costs only what differs is done again.
    """

    def __init__(self, shots: RunShots) -> None:
        self._shots = shots
        size, kinds = shots.size, range(len(shots.angle_of))
        self.begin: list[dict[int, int]] = [{} for _ in range(size)]
        """For each point and kind: a shot of that kind begins there."""
        self.long: list[dict[int, int]] = [{} for _ in range(size)] + [shots.tails[size]]
        """For each point and candidate: a long shot of it has come as far."""
        self.offsets = [0] * (size + 1)
        """What is to be added to all values of the two above."""
        self.end = [[0] * (size + 1) for _ in kinds]
        """For each kind and point: a shot of that kind ends there."""
        self.extra = [[0] * (size + 1) for _ in shots.costs.table.angles]
        """For each angle sums of extra costs from each point to the end."""
        self.ahead = [[0] * (size + 1) for _ in kinds]
        """``end`` without the extra costs of what comes: what a row of shots is to be added to."""

    def copy(self) -> "AtLeast":
        """The same values, of their own."""
        other = AtLeast(self._shots)
        other.begin, other.long, other.offsets = self.begin[:], self.long[:], self.offsets[:]
        other.end, other.ahead = [one[:] for one in self.end], [one[:] for one in self.ahead]
        other.extra = self.extra
        return other

    def at_start(self) -> int:
        """What the whole run costs at least."""
        return min(self.begin[0].values()) + self.offsets[0]

    def change(
        self, extra: Sequence[list[int]], changed: Sequence[int], asked: Callable[[], None]
    ) -> tuple[list[tuple[int, int]], list[tuple[int, int]]]:
        """Work out what changed stretches (rising) change.

        Gives ranges of points (first and last, rising), outside of which all is dearer by one amount only;
        and points, falling, with the amount by which all before them got dearer.
        """
        self.extra = [sums_to_end(one) for one in extra]
        ranges, shifts = [], []
        waiting = list(changed)
        while waiting:
            last = waiting[-1]
            first, amount = self._back_from(last, waiting, asked)
            ranges.append((first, last))
            self._shift(first, amount)
            shifts.append((first, amount))
        return ranges[::-1], shifts

    def _back_from(self, last: int, waiting: list[int], asked: Callable[[], None]) -> tuple[int, int]:
        """Go back from a changed stretch to where all before it is dearer by one amount: point and amount."""
        amounts: dict[int, int | None] = {}
        recent = last
        for at in range(last, -1, -1):
            if not at % ASK_EVERY:
                asked()
            while waiting and waiting[-1] >= at:
                recent = waiting.pop()
            amounts[at] = self._point(at)
            # All that a shot from the point before can come to is looked at.
            reach = self._shots.caps[at - 1] + 1 if at else 0
            if at and reach <= recent:
                found = {amounts[one] for one in range(at, reach + 1)}
                amount = found.pop()
                if not found and amount is not None:
                    return at, amount
        return 0, 0

    def _point(self, at: int) -> int | None:
        """Work out one point; by how much it is dearer, None where that is not one amount."""
        shots, later = self._shots, at + 1
        begin: dict[int, int] = {}
        for kind, (costs, _) in shots.rows[at].items():
            least = min(map(add, costs, self.ahead[kind][later : later + len(costs)]))
            begin[kind] = least + self.extra[shots.angle_of[kind]][at]
        if shots.long[at]:
            end = shots.caps[at] + 1
            grown, off = self.long[end], self.offsets[end]
            for n, cost in shots.long[at]:
                kind = shots.kind_of[n]
                extra = self.extra[shots.angle_of[kind]]
                begin[kind] = min(begin[kind], cost + extra[at] - extra[end] + grown[n] + off)
        if at:
            self._end(at, begin)
        long: dict[int, int] = {}
        grown, off, steps = self.long[later], self.offsets[later], shots.steps[at]
        for n, tail in shots.tails[at].items():
            kind = shots.kind_of[n]
            long[n] = tail + self.end[kind][at]
            if n in steps:
                extra = self.extra[shots.angle_of[kind]]
                long[n] = min(long[n], steps[n] + extra[at] - extra[later] + grown[n] + off)
        off = self.offsets[at]
        amounts = {cost - off - self.begin[at].get(kind, cost + 1) for kind, cost in begin.items()}
        amounts |= {cost - off - self.long[at].get(n, cost + 1) for n, cost in long.items()}
        known = bool(self.begin[at])
        self.begin[at], self.long[at], self.offsets[at] = begin, long, 0
        return amounts.pop() if known and len(amounts) == 1 else None

    def _end(self, at: int, begin: dict[int, int]) -> None:
        """What comes after each kind of shot that ends at a point: the best that can begin there."""
        order = sorted((cost, kind) for kind, cost in begin.items())
        for kind, pairs in enumerate(self._shots.costs.pairs):
            least = order[0][0] + pairs[order[0][1]]
            for cost, after in order:
                if cost >= least:
                    break
                least = min(least, cost + pairs[after])
            self.end[kind][at] = least
            self.ahead[kind][at] = least - self.extra[self._shots.angle_of[kind]][at]

    def _shift(self, before: int, amount: int) -> None:
        """Make all before a point dearer."""
        self.offsets[:before] = [one + amount for one in self.offsets[:before]]
        for kind, end in enumerate(self.end):
            extra = self.extra[self._shots.angle_of[kind]]
            end[:before] = [one + amount for one in end[:before]]
            self.ahead[kind][:before] = map(sub, end[:before], extra[:before])
