"""The choices for a hand-off as text, so that they are there again next time."""

import json
from enum import StrEnum
from typing import TypeVar

from app.handoff.choices import DEFAULT, Choices, FilmWish, is_timecode
from app.handoff.registry import known
from app.model.timebase import parse_rate, rate_text

_Word = TypeVar("_Word", bound=StrEnum)


def to_text(choices: Choices) -> str:
    """The choices as a line of JSON; `from_text` reads it back.

    The film's angle and bars are not saved: they may be others by then.
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
    """Choices from saved text; what is missing or unknown is as in `DEFAULT`. Never raises.

    >>> from_text(to_text(DEFAULT)) == DEFAULT, from_text("rubbish") == DEFAULT
    (True, True)
    """
    try:
        saved = json.loads(text)
    except (ValueError, RecursionError):
        return DEFAULT
    if not isinstance(saved, dict):
        return DEFAULT

    def one(key: str, default: _Word) -> _Word:
        value = saved.get(key)
        return type(default)(value) if value in list(type(default)) else default

    try:
        rate = parse_rate(str(saved["rate"]))
    except (KeyError, ValueError):
        rate = None
    what, start = saved.get("what"), saved.get("start")
    return Choices(
        what=known(what) if isinstance(what, list) else DEFAULT.what,
        form=one("form", DEFAULT.form),
        rate=rate,
        start=start if isinstance(start, str) and is_timecode(start) else DEFAULT.start,
        scheme=one("scheme", DEFAULT.scheme),
        doubtful=one("doubtful", DEFAULT.doubtful),
        drift=one("drift", DEFAULT.drift),
        film=_film(saved.get("film")),
    )


def _film(saved: object) -> FilmWish:
    match saved:
        case [int(width), int(height)] if 2 <= width <= 9999 and 2 <= height <= 9999:
            return FilmWish(width=width, height=height)
    return FilmWish()
