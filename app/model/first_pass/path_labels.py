"""Labels of the way forward through a song, and which of them can be done without."""

from collections import defaultdict
from collections.abc import Callable

from app.model.first_pass.run_shots import RunShots

ENDLESS = 10**18
"""More than any cut costs."""
Seen = dict[int, int]
"""For each angle that was seen shortly before the ticks at which it was last."""
Back = tuple[int, int, int]
"""Of a shot the point at which it began, which label it was there, and its candidate."""
Label = tuple[int, int, Back, Seen]
"""A shot that begins: the cost so far, its kind, the shot before, and the angles seen before.

Of a long shot that goes on: where it began is told in place of the shot before."""
Way = tuple[int, int, int, Back, Seen]
"""A shot up to a point: what it comes to in all at least, the cost so far, its kind, the shot, and the angles
seen before it."""


class Reached:
    """What shots come to that began before a point, at the points where they end."""

    def __init__(self, size: int) -> None:
        self.ending: defaultdict[int, list[Way]] = defaultdict(list)
        self.long: defaultdict[int, list[Way]] = defaultdict(list)
        """Those that go on past their cap, one point after it."""
        self.least = [ENDLESS] * (size + 1)
        """The least that anything of the two comes to at each point."""


class Choice:
    """Chooses the labels of a point that are followed, and remembers the least that is left out."""

    def __init__(self, shots: RunShots, at: int, most: int, count: int) -> None:
        self._shots, self._at, self.most, self._count = shots, at, most, count
        self.left_out = ENDLESS
        """What the least comes to that was left out though it may be the best."""

    def too_dear(self, total: int) -> bool:
        """Whether something comes to too much; then it is left out."""
        if total <= self.most:
            return False
        self.left_out = min(self.left_out, total)
        return True

    def ways(self, ways: list[Way], same: Callable[[Way], int], back_from: int) -> list[Way]:
        """The cheapest in all. Of two that are the ``same`` one may make the other needless; angles come back
        from a point on."""
        # Of two that come to the same in all, cost and kind differ, or where they began: the order is the
        # same on every machine.
        ways.sort()
        kept: list[Way] = []
        alike: dict[int, list[Way]] = {}
        for way in ways:
            if way[0] > self.most or len(kept) == self._count:
                self.left_out = min(self.left_out, way[0])
                break
            others = alike.setdefault(same(way), [])
            for one in others:
                if can_be_spared(self._shots, one, way, back_from):
                    break
            else:
                others.append(way)
                kept.append(way)
        return kept


def can_be_spared(shots: RunShots, one: Way, other: Way, back_from: int) -> bool:
    """Whether another way can be done without, for with this one all that can follow costs no more.

    An angle that comes back costs more once at most, for from then on both have seen it last at the same
    time; and most where it comes back soonest, which is at point ``back_from`` or later.
    """
    room = other[1] - one[1]
    if room < 0:
        return False
    theirs = other[4]
    for angle, ticks in one[4].items():
        before = theirs.get(angle)
        if before is not None and before >= ticks:
            continue
        reach = shots.costs.again_ticks - shots.next_ticks[angle][back_from]
        if reach + ticks > 0:
            more = reach + ticks if before is None or reach + before < 0 else ticks - before
            room -= shots.costs.again * more
            if room < 0:
                return False
    return True


def dearer_by(old: list[Label], new: list[Label], offset: int) -> set[int | None]:
    """By how much new labels cost more than old ones, to whose costs the offset is added.

    That holds None where anything else differs, and nothing where there are none.
    """
    if len(old) != len(new) or any(one[1:] != other[1:] for one, other in zip(old, new, strict=True)):
        return {None}
    return {other[0] - one[0] - offset for one, other in zip(old, new, strict=True)}
