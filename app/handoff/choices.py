"""What a person chooses about a hand-off: which files, at which rate, from which timecode, laid how."""

import json
import re
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from typing import TypeVar

from app.handoff.outcome import HandoffError
from app.model.timebase import TIMECODE_RATES, frame_number, parse_rate, rate_text, rate_words

_Word = TypeVar("_Word", bound=StrEnum)
_LABEL = re.compile(r"\d{2}:\d{2}:\d{2}[:;]\d{2}", re.ASCII)


class What(StrEnum):
    """What can be written; the value is the word the command line knows."""

    OTIO = "otio"
    OTIOZ = "otioz"
    OTIOD = "otiod"
    EDL = "edl"
    TAKES = "takes"
    SECTIONS = "sections"
    COVERAGE = "coverage"
    REPORT = "report"
    STAMPED = "stamped"
    CONFORMED = "conformed"
    FILM = "film"


LONG = frozenset((What.OTIOZ, What.OTIOD, What.STAMPED, What.CONFORMED, What.FILM))
"""What reads and writes whole clips, so that somebody waits."""


class Form(StrEnum):
    """How tables are written."""

    CSV = "csv"
    """Commas and quotes, RFC 4180."""
    TSV = "tsv"
    """Tabs and no quotes, as IANA registers text/tab-separated-values."""


class Scheme(StrEnum):
    """How takes are laid out on tracks."""

    ANGLE = "angle"
    """A track an angle; takes of it that overlap go to further tracks."""
    TAKE = "take"
    """A track a take."""


class Doubtful(StrEnum):
    """What becomes of takes in doubt."""

    APART = "apart"
    """On tracks of their own that are switched off."""
    NONE = "none"
    """Left out."""


class Drift(StrEnum):
    """What becomes of a take whose clock runs off by more than a quarter of a frame."""

    LEAVE = "leave"
    """Laid at its start, and told."""
    RESEAT = "reseat"
    """Cut where sections begin, and each piece set to its nearest frame; sound-only takes are left whole."""


@dataclass(frozen=True, slots=True)
class FilmWish:
    """What the proof film shows."""

    width: int = 1280
    height: int = 720
    angle_id: str = ""
    """One angle, with the song left and its takes' sound right; empty for all angles with the song."""
    bars: tuple[int, int] | None = None
    """First and last bar; None for the whole song."""


@dataclass(frozen=True, slots=True)
class Choices:
    """One hand-off as it was chosen."""

    what: frozenset[What] = frozenset((What.OTIO, What.TAKES))
    form: Form = Form.CSV
    rate: Fraction | None = None
    """Frames per second of the timeline; None for the rate that most clips have."""
    start: str = "01:00:00:00"
    """Timecode of the song's first sample; with a semicolon before the frames for drop-frame counting."""
    scheme: Scheme = Scheme.ANGLE
    doubtful: Doubtful = Doubtful.APART
    drift: Drift = Drift.LEAVE
    film: FilmWish = FilmWish()

    @property
    def drop_frame(self) -> bool:
        """Whether timecode is counted in drop-frame labels."""
        return ";" in self.start


DEFAULT = Choices()
"""A timeline and the table of takes, everything as it is found."""


def start_number(start: str, rate: Fraction) -> int:
    """Frame number of the song's start timecode at a rate. Raises HandoffError for one that is none.

    At a rate for which there is no timecode, labels are counted at the nearest whole rate.

    >>> start_number("01:00:00:00", Fraction(24000, 1001)), start_number("01:00:00;00", Fraction(30000, 1001))
    (86400, 107892)
    >>> start_number("00:00:01:00", Fraction(100))
    100
    """
    if not _LABEL.fullmatch(start):
        raise HandoffError(
            f"{start!r} is no start timecode. Write it as 01:00:00:00, or 01:00:00;00 for drop-frame."
        )
    base, frames = round(rate), int(start[-2:])
    try:
        if rate in TIMECODE_RATES:
            return frame_number(start, rate)
        seconds = frame_number(f"{start[:8]}:00", Fraction(25)) // 25
    except ValueError as error:
        raise HandoffError(f"The start timecode does not fit: {error} Choose another.") from error
    if ";" in start or frames >= base:
        raise HandoffError(
            f"The start timecode {start} does not fit {rate_words(rate)} frames per second. Choose another."
        )
    return seconds * base + frames


def to_text(choices: Choices) -> str:
    """The choices as a line of JSON, for keeping; `from_text` reads it back.

    What a film shows of one shoot is not kept, for angles and bars may be others by then.
    """
    return json.dumps(
        {
            "what": sorted(choices.what),
            "form": choices.form,
            "rate": None if choices.rate is None else rate_text(choices.rate),
            "start": choices.start,
            "scheme": choices.scheme,
            "doubtful": choices.doubtful,
            "drift": choices.drift,
            "film": [choices.film.width, choices.film.height],
        }
    )


def from_text(text: str) -> Choices:
    """Choices that were kept; what is missing or unknown is as in `DEFAULT`. Never raises.

    >>> from_text(to_text(DEFAULT)) == DEFAULT, from_text("rubbish") == DEFAULT
    (True, True)
    """
    try:
        kept = json.loads(text)
    except (ValueError, RecursionError):
        return DEFAULT
    if not isinstance(kept, dict):
        return DEFAULT

    def one(key: str, default: _Word) -> _Word:
        value = kept.get(key)
        return type(default)(value) if value in list(type(default)) else default

    try:
        rate = parse_rate(str(kept["rate"]))
    except (KeyError, ValueError):
        rate = None
    what, start = kept.get("what"), kept.get("start")
    return Choices(
        _known(what) if isinstance(what, list) else DEFAULT.what,
        one("form", DEFAULT.form),
        rate,
        start if isinstance(start, str) and _LABEL.fullmatch(start) else DEFAULT.start,
        one("scheme", DEFAULT.scheme),
        one("doubtful", DEFAULT.doubtful),
        one("drift", DEFAULT.drift),
        _film(kept.get("film")),
    )


def _film(kept: object) -> FilmWish:
    match kept:
        case [int(width), int(height)] if 2 <= width <= 9999 and 2 <= height <= 9999:
            return FilmWish(width, height)
    return FilmWish()


def _known(words: Iterable[object]) -> frozenset[What]:
    return frozenset(What(word) for word in words if isinstance(word, str) and word in list(What))
