"""Ids of sections: a section keeps its id as long as it lives, so that a plan can hold on to it.

It lives on when it is renamed, lettered anew, or its edges are moved. Of a section that is split the first
part keeps the id, the second is new. Of two that are joined the id of the first stays, with its letter and
name. When the song is mapped again, or labels are read, a section found takes over the id of the old section
that it shares most time with, if that is half of the shorter one and more.
"""

from collections.abc import Collection, Sequence
from dataclasses import replace

from app.model.document.ids import fresh_id
from app.model.document.song import Section, SongMap


def with_ids(song_map: SongMap, before: SongMap, named: Collection[str] = ()) -> SongMap:
    """The map with an id for each of its sections, as the map before it had them.

    No section is given an id anew that is ``named`` elsewhere: a plan may hold on to a section
    that no longer exists.

    >>> old = SongMap(sections=(Section("A", "", 0.0, 8.0, id="section-1"), Section("B", "", 8.0, 16.0)))
    >>> new = SongMap(sections=(Section("A", "", 0.0, 7.5), Section("B", "", 7.5, 16.0)))
    >>> [section.id for section in with_ids(new, old).sections]
    ['section-1', 'section-2']
    """
    taken = [section.id for section in (*before.sections, *song_map.sections) if section.id]
    taken += named
    kept = _first_of_each(song_map.sections)
    free = [section for section in before.sections if section.id and section.id not in kept]
    sections = []
    for section, own in zip(song_map.sections, kept, strict=True):
        if not own:
            heir = max(free, key=lambda old: _shared_s(old, section), default=None)
            if heir is not None and _mostly(heir, section):
                free.remove(heir)
                own = heir.id
            else:
                own = fresh_id("section", taken)
                taken.append(own)
        sections.append(section if section.id == own else replace(section, id=own))
    return song_map if tuple(sections) == song_map.sections else replace(song_map, sections=tuple(sections))


def _first_of_each(sections: Sequence[Section]) -> list[str]:
    """The ids that sections have; of several with one id the first keeps it."""
    kept: list[str] = []
    for section in sections:
        kept.append("" if section.id in kept else section.id)
    return kept


def _shared_s(one: Section, other: Section) -> float:
    return min(one.end_s, other.end_s) - max(one.start_s, other.start_s)


def _mostly(one: Section, other: Section) -> bool:
    return _shared_s(one, other) >= 0.5 * min(one.end_s - one.start_s, other.end_s - other.start_s)
