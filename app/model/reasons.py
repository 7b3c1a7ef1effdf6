"""Why a clip or a take has its verdict: a code with figures in the document, a sentence where it is shown."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

Figure = float | str


@dataclass(frozen=True, slots=True)
class Reason:
    """A code and the figures that go with it; no code where there is nothing to say."""

    code: str = ""
    figures: tuple[tuple[str, Figure], ...] = ()
    """Names and values, in the order in which they were told; seconds where a name ends in ``_s``."""
    takes: tuple[int, int] | None = None
    """Of a clip: how many of its takes are in doubt (this is the first one's doubt), and how many it has."""

    def of(self, doubtful: int, takes: int) -> "Reason":
        """The reason as that of a clip of which so many takes are in doubt, of so many."""
        return replace(self, takes=(doubtful, takes)) if self else self

    def __bool__(self) -> bool:
        return bool(self.code)


NO_REASON = Reason()


def in_words(words: str) -> Reason:
    """The reason of which nothing but its sentence is known: what the reader of a file said, or an old shoot.

    >>> sentence(in_words("The file is damaged."))
    'The file is damaged.'
    """
    return Reason("words", (("words", words),)) if words else NO_REASON


def _fits_elsewhere(figures: Mapping[str, Figure]) -> str:
    count = figures.get("places")
    places = "other places" if count is None else f"{count} other places"
    return (
        f"It fits {'another place' if count == 1 else places} in the song about as well: "
        "the song repeats itself there."
    )


def _contradicted(figures: Mapping[str, Figure]) -> str:
    off_s = float(figures["off_s"])
    way = "later" if off_s > 0 else "earlier"
    return (
        f"It contradicts {figures['clip']}: by the live sound that both heard, it lies "
        f"{abs(off_s):.2f} s {way} in the song. Check both against the picture."
    )


def _some_takes(figures: Mapping[str, Figure]) -> str:
    """The reason of the first doubtful take, after how many are doubtful."""
    first = Reason(str(figures["reason"]), tuple(figures.items()))
    return f"{figures['doubtful']} of {figures['takes']} takes: {sentence(first)}"


SENTENCES: Mapping[str, str | Callable[[Mapping[str, Figure]], str]] = {
    "words": "{words}",
    "other song": "Decided on another song file; check that it still fits.",
    "nothing here": "Nothing in this file is the song.",
    "reader broke": "Reading this file stopped the reader itself: the file is damaged. "
    "Copy it again from the card.",
    "unexpected": "Something unexpected went wrong with this file ({error}).",
    "said no song": "A person said that the song does not run here.",
    # What the engine says (audio/placement/reason_codes.py).
    "song not found": "Nothing in this clip is the song.",
    "fits elsewhere": _fits_elsewhere,
    "loud echo": "An echo is as loud as the song itself: check it against the picture.",
    "clock unclear": "Its clock cannot be made out: check its end against the picture.",
    "faint": "The song is only faintly there: listen and decide.",
    "leap": "The song leaps here without a rest: it may be bits of another recording.",
    "mostly doubtful": "Most of this clip is in doubt: listen to it.",
    "near song tempo": "It may be the band playing the song again: nearly its tempo, but not its sound.",
    "unsteady tempo": "It keeps no steady tempo: it may be the band playing the song again.",
    "blurred": "The player has blurred the song: check it against the picture.",
    "corroborated": "Decided by another clip of the same moment: {clip}.",
    "contradicted": _contradicted,
    "some takes": _some_takes,
}
"""For each code its sentence, with figures in braces, or what makes it of the figures."""


def sentence(reason: Reason) -> str:
    """The reason as a person reads it; empty where there is none.

    A code that is not known here (a newer engine's) is told as it is, with its figures.

    >>> sentence(Reason("other song"))
    'Decided on another song file; check that it still fits.'
    >>> sentence(Reason("moon phase", (("degrees", 90.0),)))
    'moon phase (degrees 90.0)'
    >>> sentence(Reason("other song").of(1, 2))
    '1 of 2 takes: Decided on another song file; check that it still fits.'
    """
    if not reason:
        return ""
    head = "" if reason.takes is None else "{} of {} takes: ".format(*reason.takes)
    return head + _sentence(reason.code, dict(reason.figures))


def _sentence(code: str, figures: Mapping[str, Figure]) -> str:
    told = SENTENCES.get(code)
    if told is None:
        listed = ", ".join(f"{name} {value}" for name, value in figures.items())
        return f"{code} ({listed})" if listed else code
    return told.format(**figures) if isinstance(told, str) else told(figures)
