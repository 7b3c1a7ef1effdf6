"""What a cut has shown of what was asked for: looked at when all of it is there."""

from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

from app.model.first_pass.best_path import Placed
from app.model.first_pass.candidates import Table, WantedPart, at_an_end, wide_angles
from app.model.first_pass.cut_points import BAR
from app.model.first_pass.shot_costs import PHRASE_BARS

SPARE_BARS = 1
"""A need of which so many bars more are seen than it asks for could come to lack some in the next round."""
Wish = tuple[frozenset[int], tuple[int, ...]]
"""Angles of which one is to be seen, and the stretches in which it is."""


def angles_shown(table: Table, placed: Iterable[Placed]) -> Mapping[int, int]:
    """For each stretch with a picture the index of the angle that is seen."""
    return {
        at: table.kinds[table.candidates[n].kind].angle
        for n, first, last in placed
        for at in range(first, last)
    }


def seen_bars(table: Table, shown: Mapping[int, int], part: WantedPart) -> int:
    """In how many bars of a need's place its subject is seen."""
    return len({table.grid.bars[at] for at in part.stretches if shown.get(at) in part.angles})


def places_of_needs(table: Table, placed: Iterable[Placed]) -> tuple[list[Wish], list[Wish]]:
    """For each need the angles that show its subject, and as many bars as it asks for: of needs of which too
    little is seen, and of those that have hardly a bar to spare.

    The bars are where other needs ask least: of the bars in which it is seen, where these are enough; else
    parted into shots as the pace wants them, with a shot between two, where there is room.
    """
    shown = angles_shown(table, placed)
    missing: list[Wish] = []
    met: list[Wish] = []
    for part in table.wanted:
        if not part.weight or not part.stretches:
            continue
        seen = seen_bars(table, shown, part)
        if seen < part.bars:
            missing.append((part.angles, _parted(table, part)))
        if not part.bars <= seen <= part.bars + SPARE_BARS:
            continue
        asked = _asked_for_others(table, part.angles)
        own = [at for at in part.stretches if shown.get(at) in part.angles]
        bars = {table.grid.bars[at] for at in sorted(own, key=lambda at: (asked[at], at))[: part.bars]}
        met.append((part.angles, tuple(at for at in own if table.grid.bars[at] in bars)))
    return missing, met


def _parted(table: Table, part: WantedPart) -> tuple[int, ...]:
    bars, points = table.grid.bars, table.grid.points
    free, chosen = set(part.stretches), set[int]()
    missing = part.bars
    while missing > 0 and free:
        most = max(table.limits[at][1] for at in free) // BAR
        places = places_for(table, part.angles, free, min(missing, max(1, most)))
        if not places:
            break
        place = min(places).stretches
        chosen.update(place)
        missing = part.bars - len({bars[at] for at in chosen})
        low, high = points[place[0]].ticks, points[place[-1] + 1].ticks
        apart = table.limits[place[0]][0]
        free = {at for at in free if points[at + 1].ticks <= low - apart or points[at].ticks >= high + apart}
    return tuple(sorted(chosen)) if missing <= 0 else part.stretches


def places_of_everyone(table: Table, placed: Sequence[Placed]) -> list[Wish]:
    """Angles but safeties that are seen once or never though they could be, and where.

    That is where they are seen, else a shot's length in a section in which no other such angle is to be seen,
    and not where the song opens or ends.
    """
    shots: dict[int, list[Placed]] = {}
    for shot in placed:
        shots.setdefault(table.kinds[table.candidates[shot[0]].kind].angle, []).append(shot)
    taken: Counter[int] = Counter()
    ends = {at for at in range(len(table.grid.bars)) if at_an_end(table.grid.bars, at)}
    found = []
    for angle in range(len(table.angles)):
        own = [at for at, usable in enumerate(table.usable_angles) if angle in usable]
        seen = shots.get(angle, [])
        if not own or len(seen) > 1 or table.safety(angle):
            continue
        if seen:
            place = tuple(range(seen[0][1], seen[0][2]))
        else:
            free = [at for at in own if at not in ends] or own
            places = places_for(table, {angle}, free, 0) or [Place(0, False, False, tuple(free))]
            place = min(places, key=lambda one: (taken[table.grid.sections[one.stretches[0]]], one)).stretches
        taken[table.grid.sections[place[0]]] += 1
        found.append((frozenset((angle,)), place))
    return found


def places_of_wides(table: Table, placed: Iterable[Placed]) -> list[Wish]:
    """For each section that can show a wide angle these angles, and where.

    That is where they are seen, else a shot's length where needs ask least for others, far from the next one.
    """
    wides = frozenset(n for n in wide_angles(table) if not table.safety(n))
    shown = angles_shown(table, placed)
    points, apart = table.grid.points, table.rules.count("again bars") * BAR
    seen: dict[int, list[int]] = {}
    free: dict[int, list[int]] = {}
    for at, section in enumerate(table.grid.sections):
        if shown.get(at) in wides:
            seen.setdefault(section, []).append(at)
        if wides & table.usable_angles[at]:
            free.setdefault(section, []).append(at)
    places = [tuple(own) for own in seen.values()]
    for section, own in free.items():
        if section not in seen:
            there = [points[at].ticks for place in places for at in place]

            def near(place: Place, there: list[int] = there) -> int:
                low, high = points[place.stretches[0]].ticks, points[place.stretches[-1] + 1].ticks
                return max((apart - max(low - ticks, ticks - high) for ticks in there), default=0)

            found = places_for(table, wides, own, 0)
            if found:
                best = min(found, key=lambda one: (one.asked, max(0, near(one)), one))
                places.append(best.stretches)
    return [(wides, place) for place in places]


@dataclass(frozen=True, order=True, slots=True)
class Place:
    """Stretches in a row in which something could be seen; the least of several is the best."""

    asked: int
    """What needs ask there for others."""
    misfit: bool
    """What it leaves of its section before or after it is too short for a shot."""
    off_phrase: bool
    stretches: tuple[int, ...]


def places_for(table: Table, angles: Collection[int], free: Collection[int], bars: int) -> list[Place]:
    """Where angles could be seen for so many bars (0: as long as a shot is at least), in free stretches."""
    points, can = table.grid.points, set(free)
    asked = _asked_for_others(table, angles)
    found = []
    for start in sorted(can):
        low, high = table.limits[start]
        phrase = PHRASE_BARS * BAR
        least = bars * BAR or max(low, min(high, -(-low // phrase) * phrase))
        end = start
        while end in can and points[end].ticks - points[start].ticks < least:
            end += 1
        if points[end].ticks - points[start].ticks < least:
            continue
        section = table.grid.sections[start]
        first, last = (points[n(table.grid.sections, section)].ticks for n in (bisect_left, bisect_right))
        before, after = points[start].ticks - first, last - points[end].ticks
        found.append(
            Place(
                asked=sum(asked[at] for at in range(start, end)),
                misfit=0 < before < low or 0 < after < low,
                off_phrase=before % phrase != 0,
                stretches=tuple(range(start, end)),
            )
        )
    return found


def _asked_for_others(table: Table, angles: Collection[int]) -> Counter[int]:
    """For each stretch how much needs ask there for what none of these angles shows."""
    asked: Counter[int] = Counter()
    for part in table.wanted:
        if part.angles.isdisjoint(angles):
            asked.update(dict.fromkeys(part.stretches, part.weight))
    return asked
