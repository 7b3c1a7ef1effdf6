"""Timecode labels of a clip's frames, converted to the time base of an event list."""

from fractions import Fraction

from app.handoff.layout import start_frame
from app.model.on_song import Clip
from app.model.timebase import DROP_FRAME_RATES, TIMECODE_RATES, timecode


def counts_dropped(clip: Clip, list_dropped: bool) -> bool:
    """Whether the clip's own timecode is drop-frame; a clip without timecode counts as the list does.

    Sound has no frame rate and counts at the list's.
    """
    if clip.frame_rate is None:
        return list_dropped
    if clip.start_timecode is not None and start_frame(clip) is not None:
        return ";" in clip.start_timecode
    return list_dropped and clip.frame_rate in DROP_FRAME_RATES


def source_label(
    clip: Clip, rate: Fraction, at: Fraction, list_rate: Fraction, list_dropped: bool
) -> tuple[str, Fraction]:
    """The timecode label in a list of a moment of a clip, and the part of a list frame that is left over.

    ``at`` counts frames of the clip (at ``rate``) from its first. Hours, minutes and seconds are those of the
    clip's own timecode; its frames are converted to the list's time base and rounded down.

    >>> from app.model.document.media_ref import MediaRef
    >>> clip = Clip("c", MediaRef("/c.mov", 0, ""), "", frame_rate=Fraction(50), start_timecode="10:00:00:00")
    >>> source_label(clip, Fraction(50), Fraction(127), Fraction(25), False)
    ('10:00:02:13', Fraction(1, 2))
    """
    number = (start_frame(clip) or 0) + at
    whole, part = divmod(number, 1)
    dropped = counts_dropped(clip, list_dropped)
    base, list_base = round(rate), round(list_rate)
    if rate in TIMECODE_RATES:
        own = timecode(whole, rate, drop_frame=dropped)
        until_second, frames = own[:8], int(own[9:])
    else:
        seconds, frames = divmod(whole, base)
        until_second = timecode(seconds * 24, Fraction(24))[:8]
    exact = (frames + part) * list_base / base
    frame, left_over = divmod(exact, 1)
    mark = ";" if dropped and list_rate in DROP_FRAME_RATES else ":"
    return f"{until_second}{mark}{frame:02}", left_over
