"""What is fixed in a first pass: in these stretches this angle, and locks that cannot be met, in words."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from app.model.coverage.passages import passage_parts, passage_words
from app.model.coverage.usable import UsableTake
from app.model.document.cut import Lock
from app.model.first_pass.best_path import Placed
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
    take_of: Mapping[int, Lock]
    """For each stretch that is locked to a take the lock."""


def locked(table: Table, locks: Iterable[Lock]) -> Locked:
    """Where which angle must be seen. Of two locks on one bar the later one counts."""
    bars = bar_spans(table.song)
    index = {angle.id: n for n, angle in enumerate(table.angles)}
    of_bar: dict[int, list[int]] = {}
    for n, bar in enumerate(table.grid.bars):
        of_bar.setdefault(bar, []).append(n)
    angle_of: dict[int, int] = {}
    take_of: dict[int, Lock] = {}
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
            take_of |= dict.fromkeys(can if lock.clip_id else (), lock)
            if len(can) < len(own):
                missing.append(bar)
        if missing:
            words = f"{place_words(table.song, missing)}: locked to {name}"
            not_met.append(NotMet(tuple(missing), f"{words}, which cannot be used there"))
    return Locked(angle_of, tuple(not_met), take_of)


def with_locked_takes(
    table: Table, placed: Sequence[Placed], fixed: Locked
) -> tuple[list[Placed], tuple[NotMet, ...]]:
    """Shots by the takes that locks name, and where these cannot be shown.

    A lock on a take is one on its angle as far as cuts go: the take is put where the angle is, all through
    the shot, for a cut from an angle to itself looks like a mistake.
    """
    found, not_met = [], []
    for n, first, last in placed:
        locks = {fixed.take_of[at].id: fixed.take_of[at] for at in range(first, last) if at in fixed.take_of}
        for lock in locks.values():
            others = [
                m
                for m, one in enumerate(table.candidates)
                if _is_of(one.take, lock) and one.first <= first and last <= one.last
            ]
            if others:
                n = others[0]
            else:
                bars = sorted({table.grid.bars[at] for at in range(first, last) if at in fixed.take_of})
                words = f"{place_words(table.song, bars)}: the locked take cannot be used in the whole shot"
                not_met.append(NotMet(tuple(bars), words))
        found.append((n, first, last))
    return found, tuple(not_met)


def _is_of(one: UsableTake, lock: Lock) -> bool:
    return one.clip.id == lock.clip_id and one.take.clip_start_s <= lock.clip_s <= one.take.clip_end_s
