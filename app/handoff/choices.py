"""What a person chooses about a hand-off: the formats, the rate, the start timecode, the layout of tracks."""

import re
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from app.handoff.outcome import HandoffError
from app.model.document.cut import Setting
from app.model.string_out.string_out import About, Order
from app.model.timebase import TIMECODE_RATES, frame_number, rate_words

_LABEL = re.compile(r"\d{2}:\d{2}:\d{2}[:;]\d{2}", re.ASCII)


class Form(StrEnum):
    """How tables are written; the value is the suffix of the file."""

    CSV = "csv"
    """Commas and quotes, RFC 4180."""
    TSV = "tsv"
    """Tabs and no quotes, as IANA registers text/tab-separated-values."""


class Scheme(StrEnum):
    """How takes are laid out on tracks."""

    ANGLE = "angle"
    """One track per angle; takes of the angle that overlap go to further tracks."""
    TAKE = "take"
    """One track per take."""


class Doubtful(StrEnum):
    """What happens to doubtful takes."""

    APART = "apart"
    """They go on tracks of their own, which are switched off."""
    NONE = "none"
    """They are left out."""


class Drift(StrEnum):
    """What happens to a take that drifts by more than a quarter of a frame."""

    LEAVE = "leave"
    """It stays whole, in place at its start; its drift is reported."""
    RESEAT = "reseat"
    """It is cut at section starts, and each piece goes to its nearest frame; sound-only takes stay whole."""


class Conform(StrEnum):
    """What conformed sound follows."""

    LINE = "line"
    """The take's line: speed and drift."""
    LAG = "lag"
    """Its smooth lag too, where that sways: a moving camera comes out as if it had stood still."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmWish:
    """What the proof film shows."""

    width: int = 1280
    """Pixels."""
    height: int = 720
    """Pixels."""
    angle_id: str = ""
    """One angle, with the song on the left channel and its takes on the right; empty for all angles with the
    song."""
    bars: tuple[int, int] | None = None
    """First and last bar; None for the whole song."""
    first_pass: bool = False
    """The first pass in one picture, instead of angles side by side."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StringOutWish:
    """What the string-out shows."""

    about: About = About.SECTION
    subject: str = ""
    """Who or what it is about, where it is about a subject."""
    order: Order = Order.KEEPERS


@dataclass(frozen=True, slots=True, kw_only=True)
class FirstPassWish:
    """By which rules the first pass is cut."""

    version: str = ""
    """Name of one of the shoot's versions; empty for its first one, or the usual rules where it has none."""
    settings: tuple[Setting, ...] = ()
    """Rules that are set for this hand-off alone, over those of the version."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Choices:
    """The choices for one hand-off."""

    what: frozenset[str] = frozenset(("otio", "takes"))
    """Words of the formats to write; `app.handoff.registry` knows them."""
    form: Form = Form.CSV
    """The form of all tables."""
    rate: Fraction | None = None
    """Frames per second of the timeline; None for the rate that most clips have."""
    start: str = "01:00:00:00"
    """Timecode of the song's first sample; with a semicolon before the frames for drop-frame counting."""
    scheme: Scheme = Scheme.ANGLE
    doubtful: Doubtful = Doubtful.APART
    drift: Drift = Drift.LEAVE
    conform: Conform = Conform.LINE
    film: FilmWish = FilmWish()
    string_out: StringOutWish = StringOutWish()
    first_pass: FirstPassWish = FirstPassWish()
    all_songs: bool = False
    """All songs of the shoot, each into a folder of its own (see `app.handoff.each_song`), instead of one."""

    @property
    def drop_frame(self) -> bool:
        """Whether timecode is drop-frame."""
        return ";" in self.start


DEFAULT = Choices()
"""A timeline and the table of takes; takes left as they are."""


def is_timecode(text: str) -> bool:
    """Whether text has the shape of a timecode.

    >>> is_timecode("01:00:00;00"), is_timecode("1:00")
    (True, False)
    """
    return _LABEL.fullmatch(text) is not None


def start_number(start: str, rate: Fraction) -> int:
    """Frame number of the song's start timecode at a rate. Raises HandoffError for text that is no timecode.

    A rate without timecode counts at the nearest whole rate.

    >>> start_number("01:00:00:00", Fraction(24000, 1001)), start_number("01:00:00;00", Fraction(30000, 1001))
    (86400, 107892)
    >>> start_number("00:00:01:00", Fraction(100))
    100
    """
    if not is_timecode(start):
        raise HandoffError(
            f"{start!r} is not a start timecode. Write it as 01:00:00:00, or 01:00:00;00 for drop-frame."
        )
    base, frames = round(rate), int(start[-2:])
    try:
        if rate in TIMECODE_RATES:
            return frame_number(start, rate)
        seconds = frame_number(f"{start[:8]}:00", Fraction(25)) // 25
    except ValueError as error:
        raise HandoffError(f"The start timecode does not fit: {error} Choose another.") from error
    if ";" in start or frames >= base:
        raise HandoffError(f"The start timecode {start} does not fit {rate_words(rate)} fps. Choose another.")
    return seconds * base + frames
