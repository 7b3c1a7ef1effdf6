"""Why a clip or a take has its verdict: a code with figures in the document, a sentence where it is shown."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

Figure = float | str


@dataclass(frozen=True, slots=True)
class Reason:
    """A code and the figures that go with it; no code where there is nothing to say."""

    code: str = ""
    figures: tuple[tuple[str, Figure], ...] = ()
    """Names and values, in the order in which they were told; seconds where a name ends in ``_s``."""

    def __bool__(self) -> bool:
        return bool(self.code)


NO_REASON = Reason()


def in_words(words: str) -> Reason:
    """The reason of which nothing but its sentence is known: what the reader of a file said, or an old shoot.

    >>> sentence(in_words("The file is damaged."))
    'The file is damaged.'
    """
    return Reason("words", (("words", words),)) if words else NO_REASON


SENTENCES: Mapping[str, str | Callable[[Mapping[str, Figure]], str]] = {
    "words": "{words}",
    "other song": "Decided on another song file; check that it still fits.",
    "said no song": "A person said that the song does not run here.",
    "taken back": "That it is not this song was taken back. Place the clip again to have it looked for.",
}
"""For each code its sentence, with figures in braces, or what makes it of the figures."""


def sentence(reason: Reason) -> str:
    """The reason as a person reads it; empty where there is none.

    A code that is not known here (a newer engine's) is told as it is, with its figures.

    >>> sentence(Reason("other song"))
    'Decided on another song file; check that it still fits.'
    >>> sentence(Reason("moon phase", (("degrees", 90.0),)))
    'moon phase (degrees 90.0)'
    """
    if not reason:
        return ""
    figures = dict(reason.figures)
    told = SENTENCES.get(reason.code)
    if told is None:
        listed = ", ".join(f"{name} {value}" for name, value in figures.items())
        return f"{reason.code} ({listed})" if listed else reason.code
    return told.format(**figures) if isinstance(told, str) else told(figures)
