"""Sections and bars of a song as spans of time, whatever its map knows of them."""

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from app.model.document.song import Section, Song


@dataclass(frozen=True, slots=True)
class BarSpan:
    """One bar on the song's clock."""

    number: int
    """From 1."""
    start_s: float
    end_s: float


def song_sections(song: Song) -> tuple[Section, ...]:
    """The sections of the song; a song without a map is one section."""
    if song.map.sections:
        return song.map.sections
    return (Section("A", "Whole song", 0.0, song.duration_s),) if song.duration_s > 0 else ()


def bar_spans(song: Song) -> tuple[BarSpan, ...]:
    """The bars of the song, numbered from 1; where the map has none, each section is one span.

    The last bar is as long as the one before it, but ends with the song at the latest; a lone bar ends
    with the song.

    >>> from app.model.document.media_ref import MediaRef
    >>> from app.model.document.song import SongMap
    >>> waltz = Song(MediaRef("/waltz.wav", 0, ""), 7.0, SongMap(bars_s=(1.0, 3.0, 5.0)))
    >>> [(bar.number, bar.start_s, bar.end_s) for bar in bar_spans(waltz)]
    [(1, 1.0, 3.0), (2, 3.0, 5.0), (3, 5.0, 7.0)]
    """
    bars = song.map.bars_s
    if not bars:
        return tuple(BarSpan(n, s.start_s, s.end_s) for n, s in enumerate(song_sections(song), 1))
    end_s = song.duration_s
    if len(bars) > 1:
        end_s = min(end_s, 2 * bars[-1] - bars[-2])
    starts = [start_s for start_s in bars if start_s < song.duration_s]
    edges = [*starts, end_s] if len(starts) == len(bars) else [*starts, song.duration_s]
    return tuple(BarSpan(n, a, b) for n, (a, b) in enumerate(pairwise(edges), 1))


def bars_of_sections(sections: Sequence[Section], bars: Sequence[BarSpan]) -> list[tuple[int, ...]]:
    """For each section the indices of its bars: those whose middle lies in it.

    A bar before all sections goes to the first: none is lost.
    """
    members: list[list[int]] = [[] for _ in sections]
    if not members:
        return []
    starts = [section.start_s for section in sections]
    for n, bar in enumerate(bars):
        begun = bisect_right(starts, (bar.start_s + bar.end_s) / 2)
        members[max(0, begun - 1)].append(n)
    return [tuple(own) for own in members]


def section_words(section: Section) -> str:
    """What a section is called: ``B Chorus``, or its letter alone.

    >>> section_words(Section("B", "Chorus", 0.0, 1.0))
    'B Chorus'
    """
    return f"{section.letter} {section.name}".strip()
