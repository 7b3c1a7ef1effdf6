"""What a cut has shown of what was asked for: looked at when all of it is there."""

from collections.abc import Iterable, Mapping

from app.model.first_pass.best_path import Placed
from app.model.first_pass.candidates import Table, WantedPart


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


def enough_seen(table: Table, shown: Mapping[int, int], part: WantedPart) -> bool:
    """Whether a need's subject is seen in as many bars as the need says; at all where it says all of them.

    One picture track cannot show two subjects at once, so that every bar can hardly be meant.
    """
    return seen_bars(table, shown, part) >= max(1, part.need.least_bars)


def never_seen(table: Table, shown: Mapping[int, int]) -> list[tuple[int, tuple[int, ...]]]:
    """Angles that are never seen though they could be, each with the stretches where it had best be seen.

    These are in one section: where it can be used in most bars in which no need asks for others, and where
    no other such angle is to be seen yet.
    """
    seen = set(shown.values())
    taken: set[int] = set()
    found = []
    for angle in range(len(table.angles)):
        free: dict[int, list[int]] = {}
        for at, usable in enumerate(table.usable_angles):
            if angle in usable:
                free.setdefault(table.grid.sections[at], []).append(at)
        if not free or angle in seen or table.safety(angle):
            continue
        asked = {at for part in table.wanted if angle not in part.angles for at in part.stretches}
        section = min(
            free, key=lambda one: (one in taken, -len(set(free[one]) - asked), -len(free[one]), one)
        )
        taken.add(section)
        found.append((angle, tuple(free[section])))
    return found
