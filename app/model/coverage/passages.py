"""Passages of a song as bars, and what they are called."""

from collections.abc import Sequence
from dataclasses import dataclass

from app.model.document.plan import Passage
from app.model.document.song import Section, Song
from app.model.song_map.bar_spans import BarSpan, bars_of_sections, section_words, song_sections


@dataclass(frozen=True, slots=True)
class PassagePart:
    """One of the places that a passage means: a section, or a run of bars."""

    section: Section | None
    """None where bars were told."""
    bars: tuple[int, ...]
    """Indices of its bars in the song's order; never empty."""


def passage_parts(passage: Passage, song: Song, bars: Sequence[BarSpan]) -> tuple[PassagePart, ...]:
    """What a passage means on the song's map of today; empty where nothing of it is there any more.

    Every section of a family is a part of its own, so that a wish for all choruses is a wish for each. Bars
    beyond the song's last are left out.
    """
    if passage.first_bar or passage.last_bar:
        first = passage.first_bar or 1
        last = passage.last_bar or first
        low, high = min(first, last), max(first, last)
        inside = tuple(n for n, bar in enumerate(bars) if low <= bar.number <= high)
        return (PassagePart(None, inside),) if inside else ()
    sections = song_sections(song)
    if passage.section_id:
        wanted = [section for section in sections if section.id == passage.section_id]
    elif passage.family:
        wanted = [section for section in sections if section.family == passage.family]
    else:
        return (PassagePart(None, tuple(range(len(bars)))),) if bars else ()
    of_section = bars_of_sections(sections, bars)
    return tuple(
        PassagePart(section, own)
        for n, section in enumerate(sections)
        if section in wanted and (own := of_section[n])
    )


def bars_words(first: int, last: int) -> str:
    """A range of bars in words.

    >>> bars_words(3, 3), bars_words(3, 9)
    ('bar 3', 'bars 3–9')
    """
    return f"bar {first}" if first == last else f"bars {first}–{last}"


def passage_words(passage: Passage, song: Song) -> str:
    """A passage in words; of a section that is no longer there, that it is gone."""
    if passage.first_bar or passage.last_bar:
        first = passage.first_bar or 1
        return bars_words(first, passage.last_bar or first)
    if passage.section_id:
        wanted = [one for one in song_sections(song) if one.id == passage.section_id]
        return section_words(wanted[0]) if wanted else "a section that no longer exists"
    if passage.family:
        letters = [one.letter for one in song_sections(song) if one.family == passage.family]
        return (
            f"sections like {passage.family} ({', '.join(letters)})"
            if letters
            else "sections that no longer exist"
        )
    return "whole song"
