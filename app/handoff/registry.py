"""All formats of the hand-off, in the order in which they are offered and written: quick ones first.

To add a format, make its file in ``app/handoff/formats`` and add it here.
"""

from collections.abc import Iterable
from pathlib import Path

from app.handoff.choices import Choices
from app.handoff.format import Format
from app.handoff.formats import (
    conformed_format,
    coverage_format,
    edl_format,
    film_format,
    first_pass_format,
    match_format,
    moved_format,
    otio_format,
    otiod_format,
    otioz_format,
    report_format,
    sections_format,
    stamped_format,
    string_out_format,
    takes_format,
)
from audio.errors import AudioError

FORMATS: tuple[Format, ...] = (
    otio_format.FORMAT,
    otioz_format.FORMAT,
    otiod_format.FORMAT,
    edl_format.FORMAT,
    match_format.FORMAT,
    string_out_format.FORMAT,
    first_pass_format.FORMAT,
    takes_format.FORMAT,
    sections_format.FORMAT,
    coverage_format.FORMAT,
    report_format.FORMAT,
    moved_format.FORMAT,
    stamped_format.FORMAT,
    conformed_format.FORMAT,
    film_format.FORMAT,
)
BY_WORD = {one.word: one for one in FORMATS}
"""Each format by its word."""


def chosen(choices: Choices) -> tuple[Format, ...]:
    """The formats that were chosen, in their order; words that name no format count for nothing."""
    return tuple(one for one in FORMATS if one.word in choices.what)


def known(words: Iterable[object]) -> frozenset[str]:
    """Those of the words that name a format."""
    return frozenset(word for word in words if isinstance(word, str) and word in BY_WORD)


def is_ours(path: Path) -> bool:
    """Whether an earlier hand-off wrote what is at a path, so that it may be replaced."""
    for one in FORMATS:
        try:
            if one.is_ours(path):
                return True
        except (AudioError, OSError):
            continue
    return False
