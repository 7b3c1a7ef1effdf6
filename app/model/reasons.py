"""Why a clip or a take has its verdict: a code with figures in the document, a sentence where it is shown."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from app.model.lag_sway import LARGEST, TYPICAL, Sway, sway_in

Figure = float | str


@dataclass(frozen=True, slots=True)
class Reason:
    """A code and the figures that go with it; no code where there is nothing to say."""

    code: str = ""
    figures: tuple[tuple[str, Figure], ...] = ()
    """Names and values, in the order in which they were told; seconds where a name ends in ``_s``."""
    takes: tuple[int, int] | None = None
    """Of a clip: how many of its takes are in doubt (this is the first one's doubt), and how many it has."""

    @property
    def sway(self) -> Sway | None:
        """How the take's lag sways; None where it does not."""
        return sway_in(dict(self.figures))

    @property
    def settled(self) -> "Reason":
        """What stays of it once a person confirmed the place: a sway is no doubt.

        >>> Reason("faint").settled
        Reason(code='', figures=(), takes=None)
        """
        if self.sway is None:
            return NO_REASON
        return Reason("sways", tuple(one for one in self.figures if one[0] in (LARGEST, TYPICAL)))

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
    if count == 1:
        return "The song repeats itself: another place fits just as well."
    return f"The song repeats itself: {'' if count is None else f'{count} '}other places fit just as well."


def _contradicted(figures: Mapping[str, Figure]) -> str:
    off_s = float(figures["off_s"])
    way = "later" if off_s > 0 else "earlier"
    return (
        f"This contradicts {figures['clip']}: by the live sound that both recorded, it belongs "
        f"{abs(off_s):.2f} s {way} in the song. Check both against the picture."
    )


def _code_contradicts(figures: Mapping[str, Figure]) -> str:
    off_s = float(figures["off_s"])
    way = "later" if off_s > 0 else "earlier"
    return (
        f"The code on the slate puts this {abs(off_s):.2f} s {way} in the song than its sound does. "
        "Check it against the picture."
    )


def _timecode_contradicts(figures: Mapping[str, Figure]) -> str:
    if "song" in figures:
        return f"The playback's timecode in its sound is that of {figures['song']}. Listen and decide."
    off_s = float(figures["off_s"])
    way = "later" if off_s > 0 else "earlier"
    return (
        f"The playback's timecode puts this {abs(off_s):.2f} s {way} in the song than its sound does. "
        "Check it against the picture."
    )


def _playback_disagrees(figures: Mapping[str, Figure]) -> str:
    off_s = float(figures["off_s"])
    way = "later" if off_s > 0 else "earlier"
    return (
        f"{figures['with']} puts this {abs(off_s):.3f} s {way} in the song. "
        "Check the playback file's map, and the take against the picture."
    )


def _perhaps_stretched(figures: Mapping[str, Figure]) -> str:
    return (
        f"This may be the song at {100 * float(figures['speed']):.1f} % of its speed with its pitch kept. "
        "Add the file that you played under Playback Files in Plan to place it exactly."
    )


def _carried_and_heard(figures: Mapping[str, Figure]) -> str:
    off_ms = 1000 * abs(float(figures["off_s"]))
    return (
        "Carried over and heard here."
        if off_ms < 0.1
        else f"Carried over and heard here, {off_ms:.1f} ms off."
    )


def _carried_elsewhere(figures: Mapping[str, Figure]) -> str:
    off_s = float(figures["off_s"])
    way = "later" if off_s > 0 else "earlier"
    return (
        f"Carried over from the earlier master, but heard {abs(off_s):.3f} s {way} on this one. "
        "Choose the right place."
    )


def _some_takes(figures: Mapping[str, Figure]) -> str:
    """The reason of the first doubtful take, after how many are doubtful."""
    first = Reason(str(figures["reason"]), tuple(figures.items()))
    return f"{figures['doubtful']} of {figures['takes']} takes: {sentence(first)}"


SENTENCES: Mapping[str, str | Callable[[Mapping[str, Figure]], str]] = {
    "words": "{words}",
    "other song": "Decided for another song file. Check that it still fits.",
    "nothing here": "Song not found in this file.",
    "reader broke": "Reading this file crashed the reader: the file is damaged. Copy it again from the card.",
    "reader stuck": "Reading this file came to a halt: the file is damaged. Copy it again from the card.",
    "unexpected": "Something went wrong with this file ({error}).",
    "said no song": "You marked this as not this song.",
    # What the engine says (audio/placement/reason_codes.py).
    "song not found": "Song not found in this clip.",
    "fits elsewhere": _fits_elsewhere,
    "loud echo": "An echo is as loud as the direct sound. Check it against the picture.",
    "clock unclear": "The speed of its clock is unclear. Check the end against the picture.",
    "faint": "The song is only faintly audible. Listen and decide.",
    "leap": "The song jumps here without a pause. It may be parts of another recording.",
    "sways": "The lag sways: the camera moved, or several loudspeakers were heard in turn.",
    "sways far": "The lag sways too far for one place: the camera moved, or several loudspeakers were heard "
    "in turn. Check it against the picture.",
    "mostly doubtful": "Most of this clip is in doubt. Listen to it.",
    "near song tempo": "This may be the band playing the song again: nearly the same tempo, "
    "but not the same sound.",
    "perhaps stretched": _perhaps_stretched,
    "unsteady tempo": "The tempo is not steady. This may be the band playing the song again.",
    "blurred": "The playback blurred the song. Check it against the picture.",
    "damaged stamps": "Time stamps in this file are damaged. Check sound against picture.",
    "corroborated": "Decided by another clip of the same moment: {clip}.",
    "contradicted": _contradicted,
    "by timecode": "Placed by the playback's timecode in its sound: {frames:.0f} frames of it.",
    "timecode agrees": "The playback's timecode agrees.",
    "timecode decides": "Decided by the playback's timecode.",
    "timecode contradicts": _timecode_contradicts,
    "other song as well": "{song} fits here as well. Listen and decide which song it is.",
    "playback disagrees": _playback_disagrees,
    "some takes": _some_takes,
    "code agrees": "The code on the slate agrees.",
    "code decides": "Decided by the code on the slate.",
    "code contradicts": _code_contradicts,
    # What pictures say of clips whose sound tells nothing (app/engine/by_code.py, by_sight.py).
    "by code": "Placed by the code on the slate: {codes:.0f} codes agree.",
    "code by hand": "By the code on the slate, which was started by hand: the take may be off by some tenths "
    "of a second. Check its beginning.",
    "few codes": "By the code on the slate, but the codes read are too few, or do not agree. "
    "Check it against the picture.",
    "code speed": "By the code on the slate. Its speed is unclear: the take may be off by {off_s:.2f} s. "
    "Check its end against the picture.",
    "code not heard": "By the code on the slate, but the song is not heard here. "
    "Check it against the picture.",
    "carried over": "Carried over from the earlier master; not heard on this one yet.",
    "carried, heard": _carried_and_heard,
    "carried, heard elsewhere": _carried_elsewhere,
    "cut, heard here": "What this was played to was cut from the song, but it sounds like this place. "
    "Confirm it to use it here.",
    "carried, by code": "Carried over from the earlier master, by whose code on the slate it was placed.",
    "carried, not heard": "Carried over from the earlier master, but not heard on this one. "
    "Check it against the picture.",
    "code of another song": "The code on the slate is that of another song file.",
    "by light": "Placed by its light: {events:.0f} changes of light come as in other clips.",
    "light fits": "Its light changes as that of other clips does, but perhaps elsewhere too. "
    "Check it against the picture.",
    "by motion": "It has no usable sound. Its motion fits the listed places best. "
    "Check them against the picture.",
    "still slate": "The code on the slate does not change: the song did not play while it was filmed.",
}
"""For each code its sentence, with figures in braces, or what makes it of the figures."""


def sentence(reason: Reason) -> str:
    """The reason as a person reads it; empty where there is none.

    A code that is not known here (a newer engine's), or that has other figures than it should, is told as it
    is, with its figures.

    >>> sentence(Reason("other song"))
    'Decided for another song file. Check that it still fits.'
    >>> sentence(Reason("moon phase", (("degrees", 90.0),)))
    'moon phase (degrees 90.0)'
    >>> sentence(Reason("other song").of(1, 2))
    '1 of 2 takes: Decided for another song file. Check that it still fits.'
    """
    if not reason:
        return ""
    head = "" if reason.takes is None else "{} of {} takes: ".format(*reason.takes)
    tail = "" if reason.sway is None else f" It is {reason.sway.words}."
    return head + _sentence(reason.code, dict(reason.figures)) + tail


def _sentence(code: str, figures: Mapping[str, Figure]) -> str:
    told = SENTENCES.get(code)
    if told is not None:
        try:
            return told.format(**figures) if isinstance(told, str) else told(figures)
        except (KeyError, ValueError, TypeError):
            pass  # a file may hold other figures than the code has
    listed = ", ".join(f"{name} {value}" for name, value in figures.items())
    return f"{code} ({listed})" if listed else code
