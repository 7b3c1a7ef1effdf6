"""The song and its map: beats, bars and sections."""

from dataclasses import dataclass, field
from pathlib import PurePath

from app.model.document.media_ref import MediaRef

FIRST_SONG = "song-1"
"""Id of the first song of a shoot."""
LEVEL_STEP_S = 0.25
"""Length of the stretches that the song's level is known for (s)."""


@dataclass(frozen=True, slots=True)
class Section:
    """A stretch of the song with a boxed rehearsal letter."""

    letter: str
    name: str
    start_s: float
    end_s: float
    family: str = ""
    """Sections that sound alike share it, such as ``B`` for all choruses; empty where nobody knows."""
    suggested: bool = False
    """The name is a guess from how the section sounds."""
    by_hand: bool = False
    """A person named or joined it: it stays whole, with its name, when the song is mapped again."""
    own_letter: bool = False
    """A person gave the letter: it stays when other sections are lettered anew."""
    id: str = ""
    """Lives as long as the section, whatever it is called and wherever its edges are moved; see
    `app.model.song_map.section_ids`. Empty until the section is part of a shoot."""


@dataclass(frozen=True, slots=True)
class Metre:
    """From here on a person counts so many beats to a bar."""

    from_s: float
    """Start of the first bar counted so."""
    beats: int


@dataclass(frozen=True, slots=True)
class SongMap:
    """Tempo, beats, bars and sections of the song (song clock, seconds, rising)."""

    tempo_bpm: float | None = None
    beats_s: tuple[float, ...] = ()
    bars_s: tuple[float, ...] = ()
    """Start of bar 1, 2, 3 …; the last bar ends one bar length later or with the song. An upbeat or a
    count-in comes before bar 1 and has no number."""
    sections: tuple[Section, ...] = ()
    """Without gaps, from 0 to the song's end; at least one."""
    other_tempo_bpm: float | None = None
    """How fast it would be counted the other way, twice or half as fast; None where only one way makes
    sense."""
    levels_db: tuple[float, ...] = ()
    """RMS level of each stretch of `LEVEL_STEP_S` from the song's start, in dBFS; empty where not known."""
    downbeats_s: tuple[float, ...] = ()
    """Beats that a person said are the first of a bar."""
    metres: tuple[Metre, ...] = ()
    """Where a person said how bars are counted; elsewhere the beats between bar lines tell."""
    edges_s: tuple[float, ...] = ()
    """Edges between sections that a person put there."""
    tempo_by_hand: bool = False
    """A person tapped, halved or doubled the tempo."""


@dataclass(frozen=True, slots=True)
class LyricLine:
    """A line of the words that are sung."""

    text: str
    start_s: float | None = None
    """When it is sung; None where only its section is known."""
    end_s: float | None = None
    """Until when; None where nobody said."""
    section_id: str = ""
    """Of the section that it belongs to where no time is known; empty beside a time."""


@dataclass(frozen=True, slots=True)
class Song:
    """The master everybody performed to."""

    media: MediaRef
    duration_s: float
    map: SongMap = field(default_factory=SongMap)
    id: str = FIRST_SONG
    lyrics: tuple[LyricLine, ...] = ()
    """In the song's order."""
    title: str = ""
    """What people call it; empty where nobody said."""

    @property
    def called(self) -> str:
        """Its title, or the name of its file where it has none."""
        return self.title or PurePath(self.media.path).stem
