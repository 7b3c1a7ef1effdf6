"""The songs made by rule and what the project says of them, worked out once for all tests."""

from functools import cache

from audio.song.beats import Beats, find_beats
from audio.song.sections import Span, find_sections
from tests.audio import map_songs
from tests.audio.map_songs import RATE, STYLES, MapSong

_BY_NAME = {style.name: style for style in STYLES}


@cache
def song(name: str) -> MapSong:
    """The song of that style."""
    return map_songs.make(_BY_NAME[name])


@cache
def beats(name: str) -> Beats:
    """Its beats as found."""
    return find_beats(song(name).samples, RATE)


@cache
def sections(name: str) -> tuple[Span, ...]:
    """Its sections as found."""
    return find_sections(song(name).samples, RATE, beats(name))
