"""What must be seen where, and what is meant to be shot for it. Only people write here."""

from dataclasses import dataclass, field
from fractions import Fraction


@dataclass(frozen=True, slots=True)
class Passage:
    """A part of a song: a section, or bars; all of the song where neither is told."""

    section_id: str = ""
    family: str = ""
    """All sections of a family, such as ``B`` for all choruses."""
    first_bar: int = 0
    last_bar: int = 0
    """Numbers of bars, both included; 0 where sections tell."""


@dataclass(frozen=True, slots=True)
class Need:
    """A wish of the maker: in this passage this subject must be seen."""

    id: str
    song_id: str
    passage: Passage
    subject: str
    """Who or what must be seen, in the words that angles use for their subjects."""
    least_bars: int = 0
    """In so many of its bars at least; 0 for all of them."""
    least_angles: int = 1
    """By so many angles at least."""
    note: str = ""


@dataclass(frozen=True, slots=True)
class SetUp:
    """What is meant to be shot: an angle for a passage. Their order is the order of the day."""

    id: str
    song_id: str
    angle: str
    """Name of the angle; it need not be there before anything is shot."""
    subjects: tuple[str, ...] = ()
    passage: Passage = field(default_factory=Passage)
    speed: Fraction = Fraction(1)
    """Speed at which the song is played back on set."""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Plan:
    """All needs, and the set-ups meant to meet them."""

    needs: tuple[Need, ...] = ()
    set_ups: tuple[SetUp, ...] = ()
    handle_frames: int = 0
    """A cut needs so many frames more than the passage at either side, so that it can be moved."""
    lead_in_s: float = 10.0
    """Playback before the passage starts, so that the band is in it (s)."""
    reset_s: float = 120.0
    """From the end of one run-through to the start of the next (s)."""
