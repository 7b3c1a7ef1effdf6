"""The choices for a hand-off as text, so that they are there again next time."""

import json
from enum import StrEnum
from typing import TypeVar

from app.handoff.choices import DEFAULT, Choices, FilmWish, FirstPassWish, StringOutWish, is_timecode
from app.handoff.registry import known
from app.model.document.cut import Setting
from app.model.first_pass.rules import RulesError, rules_of
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
            "conform": choices.conform,
            "film": [choices.film.width, choices.film.height],
            "all_songs": choices.all_songs,
            "film_first_pass": choices.film.first_pass,
            "string_out": {
                "about": choices.string_out.about,
                "subject": choices.string_out.subject,
                "order": choices.string_out.order,
            },
            "first_pass": {
                "version": choices.first_pass.version,
                "rules": {one.name: one.value for one in choices.first_pass.settings},
            },
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
        return _word(saved.get(key), default)

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
        conform=one("conform", DEFAULT.conform),
        film=_film(saved.get("film"), saved.get("film_first_pass")),
        string_out=_string_out(saved.get("string_out")),
        first_pass=_first_pass(saved.get("first_pass")),
        all_songs=saved.get("all_songs") is True,
    )


def _word(value: object, default: _Word) -> _Word:
    return type(default)(str(value)) if value in list(type(default)) else default


def _film(saved: object, first_pass: object) -> FilmWish:
    match saved:
        case [int(width), int(height)] if 2 <= width <= 9999 and 2 <= height <= 9999:
            return FilmWish(width=width, height=height, first_pass=first_pass is True)
    return FilmWish()


def _string_out(saved: object) -> StringOutWish:
    if not isinstance(saved, dict):
        return StringOutWish()
    usual, subject = StringOutWish(), saved.get("subject")
    return StringOutWish(
        about=_word(saved.get("about"), usual.about),
        subject=subject if isinstance(subject, str) else "",
        order=_word(saved.get("order"), usual.order),
    )


def _first_pass(saved: object) -> FirstPassWish:
    if not isinstance(saved, dict):
        return FirstPassWish()
    version, rules = saved.get("version"), saved.get("rules")
    settings = (
        [Setting(str(name), str(value)) for name, value in rules.items()] if isinstance(rules, dict) else []
    )
    try:
        rules_of(settings)
    except RulesError:
        settings = []
    return FirstPassWish(version=version if isinstance(version, str) else "", settings=tuple(settings))
