"""What is fixed in a first pass: in these stretches this angle, and locks that cannot be met, in words."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from app.model.coverage.passages import passage_parts, passage_words
from app.model.document.cut import Lock
from app.model.first_pass.candidates import Table
from app.model.first_pass.place_words import place_words
from app.model.song_map.bar_spans import bar_spans

LOCKED = 10**13
"""What it costs to show another angle than the locked one: more than everything else together."""


@dataclass(frozen=True, slots=True)
class NotMet:
    """A lock, or a part of one, that cannot be met."""

    bars: tuple[int, ...]
    """Indices of its bars, rising; empty where its passage is gone."""
    words: str


@dataclass(frozen=True, slots=True)
class Locked:
    """All locks on one table."""

    angle_of: Mapping[int, int]
    """For each stretch that is locked the index of its angle."""
    not_met: tuple[NotMet, ...]


def locked(table: Table, locks: Iterable[Lock]) -> Locked:
    """Where which angle must be seen. Of two locks on one bar the later one counts."""
    bars = bar_spans(table.song)
    index = {angle.id: n for n, angle in enumerate(table.angles)}
    of_bar: dict[int, list[int]] = {}
    for n, bar in enumerate(table.grid.bars):
        of_bar.setdefault(bar, []).append(n)
    angle_of: dict[int, int] = {}
    asked: dict[int, str] = {}
    not_met = []
    for lock in reversed(tuple(locks)):
        place = passage_words(lock.passage, table.song)
        wanted = sorted({bar for part in passage_parts(lock.passage, table.song, bars) for bar in part.bars})
        if not wanted:
            not_met.append(NotMet((), f"The lock on {place} has no place in the song any more. Remove it."))
            continue
        angle = index.get(lock.angle_id)
        if angle is None:
            words = f"{place}: the locked angle no longer exists. Remove the lock."
            not_met.append(NotMet(tuple(wanted), words))
            continue
        name = table.angles[angle].name
        taken = tuple(bar for bar in wanted if asked.get(bar, lock.angle_id) != lock.angle_id)
        if taken:
            words = f"{place_words(table.song, taken)}: locked to {name} and to another angle"
            not_met.append(NotMet(taken, f"{words}; the later lock counts"))
        free = [bar for bar in wanted if bar not in asked]
        asked |= dict.fromkeys(free, lock.angle_id)
        missing = []
        for bar in free:
            own = of_bar.get(bar, [])
            can = [n for n in own if angle in table.usable_angles[n]]
            angle_of |= dict.fromkeys(can, angle)
            if len(can) < len(own):
                missing.append(bar)
        if missing:
            words = f"{place_words(table.song, missing)}: locked to {name}"
            not_met.append(NotMet(tuple(missing), f"{words}, which cannot be used there"))
    return Locked(angle_of, tuple(not_met))
