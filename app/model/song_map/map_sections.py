"""How a person corrects sections: edges, splitting, joining, names and letters.

All functions take a map and give a new one; sections count from 0. Wishes that cannot be met raise ValueError
with a sentence.
"""

from dataclasses import replace
from enum import StrEnum

from app.model.document.song import Section, SongMap
from app.model.song_map.map_grid import SAME_S, grid_of

SHORTEST_S = 0.1
MOST_LETTERS = 2
NO_EDGE = "The first section starts with the song, so this edge stays. Choose a later section."


class Snap(StrEnum):
    """What an edge is drawn to."""

    BAR = "bar"
    BEAT = "beat"
    FREE = "free"


def letter(index: int) -> str:
    """Rehearsal letter of section ``index``.

    >>> [letter(i) for i in (0, 25, 26, 27, 52)]
    ['A', 'Z', 'AA', 'AB', 'BA']
    """
    text = ""
    index += 1
    while index:
        index, digit = divmod(index - 1, 26)
        text = chr(ord("A") + digit) + text
    return text


def snapped(song_map: SongMap, song_s: float, snap: Snap) -> float:
    """The bar line or beat nearest to a moment; the moment itself where nothing draws it."""
    moments = song_map.bars_s if snap is Snap.BAR else grid_of(song_map).beats if snap is Snap.BEAT else ()
    return min(moments, key=lambda moment: abs(moment - song_s), default=song_s)


def stepped(song_map: SongMap, song_s: float, snap: Snap, by: int) -> float:
    """The next bar line or beat after a moment (``by`` 1) or before it (-1); itself where there is none."""
    moments = song_map.bars_s if snap is Snap.BAR else grid_of(song_map).beats
    if by > 0:
        return min((moment for moment in moments if moment > song_s + SAME_S), default=song_s)
    return max((moment for moment in moments if moment < song_s - SAME_S), default=song_s)


def section_index(song_map: SongMap, song_s: float) -> int:
    """The section a moment lies in."""
    begun = [n for n, section in enumerate(song_map.sections) if section.start_s <= song_s + SAME_S / 10]
    return begun[-1] if begun else 0


def edge_moved(song_map: SongMap, index: int, song_s: float) -> SongMap:
    """A section begins at another moment, at least a tenth of a second from its neighbours' other ends."""
    before, section = _pair(song_map, index)
    song_s = min(max(song_s, before.start_s + SHORTEST_S), section.end_s - SHORTEST_S)
    sections = list(song_map.sections)
    sections[index - 1 : index + 1] = [replace(before, end_s=song_s), replace(section, start_s=song_s)]
    edges = {*_other_edges(song_map, section.start_s), song_s}
    return replace(song_map, sections=tuple(sections), edges_s=tuple(sorted(edges)))


def split(song_map: SongMap, song_s: float) -> SongMap:
    """Two sections in place of the one a moment lies in; the second has no name yet."""
    index = section_index(song_map, song_s)
    if not song_map.sections:
        raise ValueError("There are no sections yet.")
    old = song_map.sections[index]
    if not old.start_s + SHORTEST_S <= song_s <= old.end_s - SHORTEST_S:
        raise ValueError("A section already starts here. Go to where the music changes and split there.")
    new = Section("", "", song_s, old.end_s, family=old.family)
    sections = list(song_map.sections)
    sections[index : index + 1] = [replace(old, end_s=song_s, by_hand=False), new]
    edges = tuple(sorted({*song_map.edges_s, song_s}))
    return replace(song_map, sections=in_order(tuple(sections)), edges_s=edges)


def joined(song_map: SongMap, index: int) -> SongMap:
    """A section and the one before it are one, with the letter and name of the one before."""
    before, section = _pair(song_map, index)
    one = replace(before, end_s=section.end_s, by_hand=True)
    sections = (*song_map.sections[: index - 1], one, *song_map.sections[index + 1 :])
    edges = _other_edges(song_map, section.start_s)
    return replace(song_map, sections=in_order(sections), edges_s=tuple(sorted(edges)))


def renamed(song_map: SongMap, index: int, name: str) -> SongMap:
    """A section's name as a person gives it; no guess any more."""
    return _with(
        song_map, index, replace(song_map.sections[index], name=name.strip(), suggested=False, by_hand=True)
    )


def lettered(song_map: SongMap, index: int, text: str) -> SongMap:
    """A section's letter as a person gives it; an empty one gives it back to the order of the alphabet."""
    text = text.strip().upper()
    if len(text) > MOST_LETTERS or any(char.isspace() for char in text):
        raise ValueError(f"A rehearsal letter has {MOST_LETTERS} characters at most, such as C or C2.")
    section = replace(song_map.sections[index], letter=text, own_letter=bool(text))
    changed = _with(song_map, index, section)
    return changed if text else replace(changed, sections=in_order(changed.sections))


def lettered_again(song_map: SongMap) -> SongMap:
    """All sections lettered in the order of the song."""
    return replace(
        song_map,
        sections=tuple(
            replace(section, letter=letter(n), own_letter=False)
            for n, section in enumerate(song_map.sections)
        ),
    )


def in_order(sections: tuple[Section, ...]) -> tuple[Section, ...]:
    """Letters in the order of the alphabet; those a person gave stay, and no other section gets them.

    >>> parts = (Section("A", "", 0, 1), Section("C", "", 1, 2, own_letter=True), Section("", "", 2, 3))
    >>> [section.letter for section in in_order(parts)]
    ['A', 'C', 'B']
    """
    own = {section.letter for section in sections if section.own_letter}
    free = (one for one in map(letter, range(len(sections) + len(own))) if one not in own)
    return tuple(s if s.own_letter else replace(s, letter=next(free)) for s in sections)


def _pair(song_map: SongMap, index: int) -> tuple[Section, Section]:
    if not 0 < index < len(song_map.sections):
        raise ValueError(NO_EDGE)
    return song_map.sections[index - 1], song_map.sections[index]


def _other_edges(song_map: SongMap, edge_s: float) -> set[float]:
    return {one for one in song_map.edges_s if abs(one - edge_s) > SAME_S / 10}


def _with(song_map: SongMap, index: int, section: Section) -> SongMap:
    sections = song_map.sections
    return replace(song_map, sections=(*sections[:index], section, *sections[index + 1 :]))
