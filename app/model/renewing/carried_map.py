"""The map of the next master: what people corrected in the old one where it lives on, and what was found in
the rest."""

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from app.model.document.ids import fresh_id
from app.model.document.song import Metre, Section, SongMap
from app.model.renewing.through import SLACK_S, Through

LEAST_SECTION_S = 1.0
"""A stretch between pieces that is shorter belongs to the section before it. Chosen by hand."""
_SAME_BAR = 0.5
"""Bar lines, and beats, closer than this share of their usual distance are one; at a seam both sides have
theirs."""


def carried_map(old: SongMap, found: SongMap, through: Through) -> SongMap:
    """The old map carried through, with what was ``found`` in the next master where the old one has nothing.

    Sections that live on keep their ids; those that are there again are new ones of the same name and family.
    """
    fresh = through.new()

    def inside(times_s: Sequence[float]) -> tuple[float, ...]:
        return tuple(at for at in times_s if any(low <= at < high for low, high in fresh))

    return SongMap(
        tempo_bpm=found.tempo_bpm if old.tempo_bpm is None else _tempo(old, through),
        beats_s=_apart(sorted((*through.moments(old.beats_s), *inside(found.beats_s)))),
        bars_s=_apart(sorted((*through.moments(old.bars_s), *inside(found.bars_s)))),
        sections=_sections(old.sections, found.sections, through),
        other_tempo_bpm=found.other_tempo_bpm,
        levels_db=found.levels_db,
        downbeats_s=through.moments(old.downbeats_s),
        metres=_metres(old.metres, through),
        edges_s=through.moments(old.edges_s),
        tempo_by_hand=old.tempo_by_hand,
    )


def _tempo(old: SongMap, through: Through) -> float | None:
    longest = max(through.pieces, key=lambda one: one.old_end_s - one.old_start_s, default=None)
    if longest is None or old.tempo_bpm is None:
        return old.tempo_bpm
    return old.tempo_bpm / longest.speed


def _metres(metres: Sequence[Metre], through: Through) -> tuple[Metre, ...]:
    """What people count, wherever it lives on: also where the bar from which on they said so is gone."""
    out: list[Metre] = []
    for piece in sorted(through.pieces, key=lambda one: one.new_start_s):
        before = [one for one in metres if one.from_s <= piece.old_start_s + SLACK_S][-1:]
        inside = [one for one in metres if piece.old_start_s + SLACK_S < one.from_s < piece.old_end_s]
        starts = [max(one.from_s, piece.old_start_s) for one in (*before, *inside)]
        for metre, old_s in zip((*before, *inside), starts, strict=True):
            if not out or out[-1].beats != metre.beats or metre in inside:
                out.append(Metre(piece.line.song_time(old_s), metre.beats))
    return tuple(out)


def _apart(times_s: Sequence[float]) -> tuple[float, ...]:
    """Rising times, of two that are much nearer than usual only the first."""
    if len(times_s) < 3:
        return tuple(times_s)
    steps = sorted(after - before for before, after in pairwise(times_s))
    least_s = _SAME_BAR * steps[len(steps) // 2]
    out = [times_s[0]]
    for at in times_s[1:]:
        if at - out[-1] >= least_s:
            out.append(at)
    return tuple(out)


def _sections(old: Sequence[Section], found: Sequence[Section], through: Through) -> tuple[Section, ...]:
    placed: list[tuple[Section, float, float]] = []
    """Sections in new time, and where each begins and ends in old time; -inf for those that are new."""
    for section in old:
        least_s = min(LEAST_SECTION_S, (section.end_s - section.start_s) / 2)
        for part in through.parts(section.start_s, section.end_s, again=True):
            if part.old_end_s - part.old_start_s < least_s:
                continue  # a sliver at the edge of what was cut
            moved = replace(section, start_s=part.new_start_s, end_s=part.new_end_s)
            placed.append((moved, part.old_start_s, part.old_end_s))
    for low, high in through.new():
        if high - low < LEAST_SECTION_S:
            continue
        inside = [one for one in found if min(one.end_s, high) - max(one.start_s, low) >= LEAST_SECTION_S]
        for one in inside or [Section("", "", low, high)]:
            start_s, end_s = max(low, one.start_s), min(high, one.end_s)
            made = replace(one, id="", start_s=start_s, end_s=end_s, family="")
            placed.append((made, float("-inf"), float("-inf")))
    placed.sort(key=lambda one: one[0].start_s)
    joined: list[tuple[Section, float]] = []
    for section, old_start_s, old_end_s in placed:
        before, before_s = joined[-1] if joined else (None, 0.0)
        # Two parts of one section on either side of a cut are one; where it begins anew it is another.
        goes_on = before is not None and before.id == section.id and bool(section.id)
        goes_on = goes_on and old_start_s >= before_s - SLACK_S
        if before is not None and goes_on and section.start_s - before.end_s < LEAST_SECTION_S:
            joined[-1] = replace(before, end_s=section.end_s), old_end_s
        else:
            joined.append((section, old_end_s))
    return _closed(_named([section for section, _ in joined], old), through.new_end_s)


def _named(sections: Sequence[Section], old: Sequence[Section]) -> list[Section]:
    """One section an id: the first that has it keeps it, and its letter; further ones are new, and so are
    theirs."""
    taken = [section.id for section in old]
    used: set[str] = set()
    letters = {one.letter for one in old}
    out = []
    for section in sections:
        if not section.id or section.id in used:
            own = fresh_id("section", taken)
            taken.append(own)
            section = replace(section, id=own, letter=_free_letter(letters))
            letters.add(section.letter)
        used.add(section.id)
        out.append(section)
    return out


def _free_letter(taken: set[str]) -> str:
    return next(
        letter
        for number in range(1, 1000)
        for letter in (f"{chr(65 + (number - 1) % 26)}{'' if number <= 26 else (number - 1) // 26 + 1}",)
        if letter not in taken
    )


def _closed(sections: Sequence[Section], end_s: float) -> tuple[Section, ...]:
    """Without gaps, from 0 to the end."""
    if not sections:
        return (Section("A", "", 0.0, end_s, id="section-1"),)
    starts = [0.0, *(section.start_s for section in sections[1:]), end_s]
    return tuple(
        replace(section, start_s=start, end_s=after)
        for section, start, after in zip(sections, starts, starts[1:], strict=False)
        if after > start
    )
