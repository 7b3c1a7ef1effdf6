"""A playback file that somebody wants: from where, how fast, with what before it."""

from dataclasses import dataclass
from fractions import Fraction

from app.model.timebase import parse_rate

SLOWEST, FASTEST = Fraction(1, 4), Fraction(4)
MOST_LETTERS = 40
"""Of a speed as it is typed."""
MOST_BARS = 32
"""Bars of count-in or lead-in at most: more is a slip of the finger."""


@dataclass(frozen=True, slots=True)
class Wish:
    """One playback file."""

    section_id: str = ""
    """It begins with this section; with the song where empty."""
    count_in_bars: int = 0
    """Bars of clicks before it, at the song's own tempo."""
    lead_in_bars: int = 0
    """Bars of the song before the section, so that the band is in it. Counts for sections only."""
    to_section_end: bool = False
    """It ends a bar after the section, not with the song."""
    speed: Fraction = Fraction(1)
    """Seconds of song to a second of playback."""
    pitch_kept: bool = False
    """The tempo changes and the pitch does not."""
    pop: bool = False
    """One frame of 1 kHz two seconds before the start."""
    frame_rate: Fraction = Fraction(25)
    """Of the timeline: how long a frame is, and what timecode counts."""
    timecode: bool = False
    """Linear timecode on a channel of its own."""


def checked(wish: Wish) -> Wish:
    """The wish, if it can be met. Raises ValueError with a sentence."""
    if not SLOWEST <= wish.speed <= FASTEST:
        raise ValueError("Playback speeds are between 0.25 and 4 times the song's.")
    if not (0 <= wish.count_in_bars <= MOST_BARS and 0 <= wish.lead_in_bars <= MOST_BARS):
        raise ValueError(f"A count-in and a lead-in have at most {MOST_BARS} bars.")
    if wish.pitch_kept and wish.speed == 1:
        raise ValueError("At the song's own speed the pitch is kept anyway.")
    return wish


def speed_for(camera: Fraction, timeline: Fraction) -> Fraction:
    """How fast to play for a camera that runs at another rate than the timeline, so that it looks in sync.

    >>> speed_for(Fraction(60), Fraction(24000, 1001)), speed_for(Fraction(50), Fraction(25))
    (Fraction(1001, 400), Fraction(2, 1))
    """
    return camera / timeline


def parse_speed(text: str) -> Fraction:
    """A speed as it is typed, also as the camera's rate and the timeline's. Raises ValueError.

    >>> parse_speed("1.25"), parse_speed("80%"), parse_speed("60:24000/1001")
    (Fraction(5, 4), Fraction(4, 5), Fraction(1001, 400))
    """
    try:
        if len(text) > MOST_LETTERS or "e" in text.casefold():  # 1e999999999 would be worked out
            raise ValueError
        if ":" in text:
            camera, _, timeline = text.partition(":")
            return speed_for(parse_rate(camera.strip()), parse_rate(timeline.strip()))
        if text.strip().endswith("%"):
            return Fraction(text.strip()[:-1]) / 100
        return Fraction(text)
    except (ValueError, ZeroDivisionError):
        raise ValueError(
            f"{text[:MOST_LETTERS]} is not a speed: write it as 1.25, 125% or 60:24000/1001."
        ) from None
