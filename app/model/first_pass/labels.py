"""Labels of the way forward through a song, and which of them can be done without."""

from collections.abc import Callable, Sequence

from app.model.first_pass.run_shots import RunShots

ENDLESS = 10**18
"""More than any cut costs."""
Seen = dict[int, int]
"""For each angle that was seen shortly before the ticks at which it was last."""
Back = tuple[int, int, int]
"""Of a shot the point at which it began, which label it was there, and its candidate."""
Label = tuple[int, int, Back, Seen]
"""A shot that begins: the cost so far, its kind, the shot before, and the angles seen before."""
Way = tuple[int, int, int, Back, Seen]
"""A shot up to a point: what it comes to in all at least, the cost so far, its kind, the shot, and the angles
seen before it."""


class Reached:
    """What shots come to that began before a point, at the points where they end."""

    def __init__(self, size: int) -> None:
        self.ending: list[list[Way]] = [[] for _ in range(size + 1)]
        self.long: list[list[Way]] = [[] for _ in range(size + 1)]
        """Those that go on past their cap, one point after it."""
        self.least = [ENDLESS] * (size + 1)
        """The least that anything of the two comes to."""

    def add(self, end: int, way: Way, *, long: bool = False) -> None:
        """A way that comes as far as a point."""
        (self.long if long else self.ending)[end].append(way)
        self.least[end] = min(self.least[end], way[0])


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
        ways.sort(key=_order)
        kept: list[Way] = []
        alike: dict[int, list[Way]] = {}
        for way in ways:
            if self.too_dear(way[0]):
                break
            others = alike.setdefault(same(way), [])
            if any(can_be_spared(self._shots, one, way, back_from) for one in others):
                continue
            if len(kept) == self._count:
                self.left_out = min(self.left_out, way[0])
                break
            others.append(way)
            kept.append(way)
        return kept


def can_be_spared(shots: RunShots, one: Way, other: Way, back_from: int) -> bool:
    """Whether another way can be done without, for with this one all that can follow costs no more.

    An angle that comes back costs more once at most, for from then on both have seen it last at the same time;
    and most where it comes back soonest, which is at point ``back_from`` or later.
    """
    room = other[1] - one[1]
    if room < 0:
        return False
    again, window, theirs = shots.costs.again, shots.costs.again_ticks, other[4]
    for angle, ticks in one[4].items():
        soonest = shots.next_ticks[angle][back_from]
        if soonest is None:
            continue
        short = window - soonest + ticks
        if short <= 0:
            continue
        if angle in theirs:
            short -= max(0, window - soonest + theirs[angle])
        if short > 0:
            room -= again * short
            if room < 0:
                return False
    return True


def dearer_by(old: Sequence[tuple[int, ...]], new: Sequence[tuple[int, ...]]) -> int | None:
    """By how much each of the new costs more, where nothing else differs; else None.

    Costs come first in each.
    """
    if len(old) != len(new):
        return None
    amounts = {one[0] - before[0] for before, one in zip(old, new, strict=True)}
    if len(amounts) != 1 or any(a[1:] != b[1:] for a, b in zip(old, new, strict=True)):
        return None
    return amounts.pop()


def _order(way: Way) -> tuple[int, int, int, Back]:
    # Equals come in an order that is the same on every machine.
    return way[:4]
