"""Bars of a first pass in words; of a song without bars, its sections."""

from collections.abc import Iterable

from app.model.coverage.missing_words import ranges_words
from app.model.document.song import Song
from app.model.first_pass.cut_points import BAR
from app.model.song_map.bar_spans import section_words, song_sections


def place_words(song: Song, bars: Iterable[int]) -> str:
    """Where bars (by their indices, rising) are."""
    own = tuple(bars)
    if song.map.bars_s:
        return ranges_words(tuple(n + 1 for n in own))
    # Without bars each section counts as one.
    sections = song_sections(song)
    return ", ".join(section_words(sections[n]) for n in own if n < len(sections)) or "the whole song"


def length_words(ticks: int) -> str:
    """A length in bars.

    >>> length_words(24), length_words(96), length_words(36)
    ('1 bar', '4 bars', '1.5 bars')
    """
    return "1 bar" if ticks == BAR else f"{round(ticks / BAR, 1):g} bars"
