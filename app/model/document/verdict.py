"""What became of a clip or a take."""

from enum import StrEnum


class Verdict(StrEnum):
    """What became of a clip or a take."""

    WAITING = "waiting"
    """Not looked at yet."""
    PLACED = "placed"
    DOUBTFUL = "doubtful"
    NO_SONG = "no song"
    UNREADABLE = "unreadable"


GLYPHS = {
    Verdict.WAITING: "○",
    Verdict.PLACED: "●",
    Verdict.DOUBTFUL: "?",
    Verdict.NO_SONG: "–",
    Verdict.UNREADABLE: "✕",
}
"""A verdict is told by its glyph and its word together, on screen and on paper."""


def verdict_word(verdict: Verdict) -> str:
    """The verdict as people read it; files keep its value.

    >>> verdict_word(Verdict.DOUBTFUL), verdict_word(Verdict.NO_SONG)
    ('in doubt', 'no song')
    """
    return "in doubt" if verdict is Verdict.DOUBTFUL else verdict.value
