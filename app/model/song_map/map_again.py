"""A new look at the rest of a song joined to what is there: what a person fixed stays as it is."""

from bisect import bisect_left
from dataclasses import replace

from app.model.document.song import Section, SongMap
from app.model.song_map.map_beats import NEAR, put_back
from app.model.song_map.map_grid import SAME_S, bar_start, grid_of, tempo_of
from app.model.song_map.map_reach import AROUND
from app.model.song_map.map_sections import SHORTEST_S, in_order


def spot(song_map: SongMap, song_s: float) -> float:
    """Where a new look begins: at the start of the bar a moment lies in, or at the nearest beat."""
    start_s = bar_start(song_map, song_s)
    if start_s is not None:
        return start_s
    grid = grid_of(song_map)
    return grid.beats[grid.nearest(song_s)] if grid.beats else max(0.0, song_s)


def held_edges(song_map: SongMap) -> tuple[float, ...]:
    """Edges that a new look must keep: those a person put there, and those of sections a person made."""
    held = {*song_map.edges_s}
    for before, section in zip(song_map.sections, song_map.sections[1:], strict=False):
        if before.by_hand or section.by_hand:
            held.add(section.start_s)
    return tuple(sorted(held))


def held_tempo(song_map: SongMap, from_s: float) -> float | None:
    """The tempo that a new look should keep to: that of the beats before the spot, which are right; where a
    person said how fast it is, that of the beats after it."""
    beats = grid_of(song_map).beats
    at = bisect_left(beats, from_s - SAME_S)
    before, after = tempo_of(beats[max(0, at - AROUND) : at + 1]), tempo_of(beats[at : at + AROUND + 1])
    return (after or before) if song_map.tempo_by_hand else (before or after)


def held_metre(song_map: SongMap, song_s: float) -> int | None:
    """Beats of a bar that a new look should keep to from here on: where a person said so before."""
    counts = [metre.beats for metre in song_map.metres if metre.from_s <= song_s + SAME_S]
    return counts[-1] if counts else None


def with_rest(song_map: SongMap, found: SongMap, from_s: float) -> SongMap:
    """The map with beats, bars and sections as found from a moment on.

    What is before the moment stays. Of what is after it, bar lines, metres and section edges that a person
    fixed stay where they are, and sections that a person named or joined stay whole.
    """
    grid, new = grid_of(song_map), grid_of(found)
    here = grid.nearest(from_s) if grid.beats else 0
    begun = bool(grid.beats) and abs(grid.beats[here] - from_s) <= SAME_S
    old_s = from_s + SAME_S if begun else from_s - SAME_S
    new_s = from_s + NEAR * grid.step(here) if begun else old_s
    beats = [b for b in grid.beats if b < old_s] + [b for b in new.beats if b >= new_s]
    bars = [b for b in song_map.bars_s if b < old_s] + [b for b in found.bars_s if b >= new_s]
    made = replace(
        song_map,
        beats_s=tuple(beats),
        bars_s=tuple(bars),
        downbeats_s=tuple(one for one in song_map.downbeats_s if one < old_s),
        metres=tuple(metre for metre in song_map.metres if metre.from_s < old_s),
        tempo_bpm=tempo_of(beats),
        other_tempo_bpm=found.other_tempo_bpm,
        levels_db=found.levels_db or song_map.levels_db,
        sections=_sections(song_map, found, from_s),
    )
    return put_back(made, song_map, old_s)


def _sections(song_map: SongMap, found: SongMap, from_s: float) -> tuple[Section, ...]:
    """Sections before the moment as they were, those after it as found, those a person made in between."""
    old = song_map.sections
    if not old:
        return found.sections
    end_s = old[-1].end_s
    whole = [section for section in old if section.by_hand and section.end_s > from_s]
    held = [edge for edge in held_edges(song_map) if edge > from_s]

    def free(edge: float) -> bool:
        inside = any(s.start_s - SHORTEST_S < edge < s.end_s + SHORTEST_S for s in whole)
        return not inside and all(abs(edge - other) > SHORTEST_S for other in held)

    edges = {section.start_s for section in old if section.start_s <= from_s + SAME_S}
    edges |= set(held)
    edges |= {
        s.start_s
        for s in found.sections
        if from_s + SHORTEST_S < s.start_s < end_s - SHORTEST_S and free(s.start_s)
    }
    marks = sorted(edges | {0.0})
    out = []
    for start, end in zip(marks, [*marks[1:], end_s], strict=True):
        out.append(_section(old, found.sections, from_s, start, end))
    return in_order(tuple(out))


def _section(
    old: tuple[Section, ...], found: tuple[Section, ...], from_s: float, start: float, end: float
) -> Section:
    before = next((s for s in old if abs(s.start_s - start) <= SAME_S), None)
    middle = (start + end) / 2
    like = next((s for s in found if s.start_s <= middle < s.end_s), Section("", "", start, end))
    if before is None or not (before.by_hand or start <= from_s + SAME_S):
        return replace(like, start_s=start, end_s=end)
    # Likeness is a matter of the whole song: it is told anew all along.
    return replace(before, start_s=start, end_s=end, family=like.family or before.family)
