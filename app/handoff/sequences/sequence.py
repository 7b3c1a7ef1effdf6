"""A sequence: pieces of takes one after another on one picture track, with the song's sound below.

Frames of the sequence count from its start; a piece lies on the song's own frames as well, which are others
where the sequence does not play the song from beginning to end.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from app.handoff.choices import Choices
from app.handoff.layout import Segment, passes_midnight


class Kind(StrEnum):
    """What a sequence is; the value is its name in files."""

    STRING_OUT = "string-out"
    FIRST_PASS = "first pass"


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """A piece of a take in the sequence."""

    at: int
    """Frame of the sequence on which it starts."""
    segment: Segment
    """Its frames; its position counts in frames of the song."""
    name: str
    """Name of its marker; empty where it has none."""
    words: str
    """What else its marker says."""
    told: Mapping[str, object]
    """What its metadata tells beside the take's."""

    @property
    def end(self) -> int:
        """First frame of the sequence after it."""
        return self.at + self.segment.length


@dataclass(frozen=True, slots=True)
class Row:
    """A track that is switched off."""

    name: str
    items: tuple[Item, ...]
    """In order, without overlap."""


@dataclass(frozen=True, slots=True)
class SongPiece:
    """A piece of the song's sound."""

    at: int
    """Frame of the sequence on which it starts."""
    first: int
    """The frame of the song that it starts with."""
    length: int
    """In frames."""


@dataclass(frozen=True, slots=True)
class Note:
    """A marker over the whole sequence."""

    at: int
    length: int
    """In frames of the sequence."""
    kind: str
    name: str
    words: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sequence:
    """What is written as a timeline and as an event list."""

    kind: Kind
    title: str
    rate: Fraction
    """Frames per second."""
    start: int
    """Frame number of its start timecode."""
    choices: Choices
    items: tuple[Item, ...]
    """The picture track: in order, without overlap."""
    song: tuple[SongPiece, ...]
    """The song's sound, in the order of the sequence."""
    others: tuple[Row, ...] = ()
    """Switched-off tracks below the picture track, the lowest first."""
    notes: tuple[Note, ...] = ()
    told: Mapping[str, object]
    """What the sequence's metadata tells."""
    lines: tuple[str, ...]
    """What the person is told of it, one sentence each."""

    @property
    def end(self) -> int:
        """First frame after its sound and its pictures."""
        ends = (*(one.end for one in self.items), *(one.at + one.length for one in self.song))
        return max(ends, default=0)

    @property
    def whole_song(self) -> bool:
        """Whether it plays the song from beginning to end."""
        return self.kind is Kind.FIRST_PASS

    @property
    def over_midnight(self) -> bool:
        """Whether timecode passes midnight within it."""
        return passes_midnight(self.start + self.end, self.rate, drop_frame=self.choices.drop_frame)
