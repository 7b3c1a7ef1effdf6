"""The start timecode that puts a clip's take in its place in the song.

Each clip counts at its own rate, and the song's start has the same timecode at every rate. At 24000/1001 and
30000/1001 a second of timecode lasts 1.001 s, so it drifts from the timecode of clips at whole rates.
Drop-frame timecode follows the clock to within 3.6 ms an hour (SMPTE ST 12-1).
"""

import math
from dataclasses import dataclass
from fractions import Fraction

from app.handoff.outcome import HandoffError
from app.model.on_song import Clip, Take
from app.model.speeds import late_frames, nominal_speed
from app.model.timebase import DROP_FRAME_RATES, TIMECODE_RATES, frame_number, nearest_frame, timecode

OTHER_DAY = (
    "midnight is between it and the song's start, so by timecode it is a day away. Choose another start "
    "for the song, such as 01:00:00:00."
)
"""The note on a copy whose timecode passes midnight."""
_TOLERANCE = Fraction(1, 1000)
"""Part of a frame by which sums of floats may miss a frame boundary."""


@dataclass(frozen=True, slots=True)
class Begin:
    """The song's start timecode at one rate."""

    frame: int
    """Counted from 00:00:00:00."""
    rate: Fraction
    """Frames per second."""
    drop_frame: bool

    @property
    def day(self) -> int:
        """Frames in 24 hours of timecode."""
        last = f"23:59:59{';' if self.drop_frame else ':'}{round(self.rate) - 1:02}"
        return frame_number(last, self.rate) + 1

    @property
    def second_s(self) -> Fraction:
        """Seconds from midnight: its frame number divided by the rate."""
        return self.frame / self.rate

    def label(self, frame: int) -> str:
        """The timecode of a frame counted from 00:00:00:00, modulo 24 hours."""
        return timecode(frame % self.day, self.rate, drop_frame=self.drop_frame)


@dataclass(frozen=True, slots=True, kw_only=True)
class PictureStamp:
    """The timecode of a clip's first picture that puts one of its takes in place."""

    begin: Begin
    frame: int
    """Of the first picture, counted from 00:00:00:00; within the day."""
    sub_frame_offset_s: float
    """Exact song time of the take's first whole frame, minus the time of that frame by timecode; seconds."""
    late_frames: float
    """How late the picture is by the take's end because drift is not corrected, in frames of the clip."""
    nominal: Fraction
    """Nominal speed: seconds of song per second of clip, without drift."""
    other_day: bool
    """Whether timecode passes midnight between the song's start and the first picture."""

    @property
    def label(self) -> str:
        """The timecode as it is written."""
        return self.begin.label(self.frame)


def begin_at(start: str, rate: Fraction) -> Begin:
    """The song's start at a rate: ``01:00:00:00``, or ``01:00:00;00`` for drop-frame where a rate has it.

    Raises HandoffError for text that is no timecode of that rate.

    >>> begin_at("01:00:00;00", Fraction(30000, 1001)).frame, begin_at("01:00:00;00", Fraction(25)).frame
    (107892, 90000)
    """
    drop = ";" in start and rate in DROP_FRAME_RATES
    text = start if drop else start.replace(";", ":")
    try:
        return Begin(frame_number(text, rate), rate, drop)
    except ValueError as error:
        raise HandoffError(f"The start timecode does not fit: {error} Choose another.") from error


def picture_stamp(clip: Clip, take: Take, start: str) -> PictureStamp | str:
    """The timecode that puts a take in its place, or the reason why there is none.

    As on the timeline, the take's first whole frame in the song goes to the nearest frame.
    Raises HandoffError for a start that does not fit.
    """
    rate = clip.frame_rate
    if rate is None:
        return "it has no picture"
    if rate not in TIMECODE_RATES:
        return f"there is no timecode for {float(rate):.6g} fps"
    speed = nominal_speed(take.speed)
    begins_s = Fraction(take.clip_start_s) - Fraction(take.song_start_s) / Fraction(take.speed)
    first = math.ceil(max(Fraction(take.clip_start_s), begins_s, Fraction(0)) * rate - _TOLERANCE)
    exact_s = Fraction(take.song_start_s) + (first / rate - Fraction(take.clip_start_s)) * Fraction(
        take.speed
    )
    position = nearest_frame(exact_s, rate)
    begin = begin_at(start, rate)
    frame = begin.frame + position - first
    return PictureStamp(
        begin=begin,
        frame=frame % begin.day,
        sub_frame_offset_s=float(exact_s - position / rate),
        late_frames=late_frames(take.speed, take.clip_end_s - take.clip_start_s, rate),
        nominal=speed.nominal,
        other_day=not 0 <= frame < begin.day,
    )


def sound_stamp(song_s: float | Fraction, sound_rate: int, start: str, timeline: Fraction) -> int:
    """The time reference, in samples from midnight, of a sound whose first sample is at a song time.

    The song's start timecode counts at the timeline's rate. Raises HandoffError.

    >>> sound_stamp(0, 48000, "10:00:00:00", Fraction(24000, 1001))
    1729728000
    """
    begin = _sound_begin(start, timeline)
    samples = round((begin.second_s + Fraction(song_s)) * sound_rate)
    return samples % round(begin.day / begin.rate * sound_rate)


def sound_on_other_day(song_s: float | Fraction, start: str, timeline: Fraction) -> bool:
    """Whether timecode passes midnight between the song's start and a sound that starts at a song time.

    >>> [sound_on_other_day(-3, start, Fraction(25)) for start in ("00:00:00:00", "01:00:00:00")]
    [True, False]
    """
    begin = _sound_begin(start, timeline)
    return not 0 <= begin.second_s + Fraction(song_s) < begin.day / begin.rate


def _sound_begin(start: str, timeline: Fraction) -> Begin:
    return begin_at(start, timeline if timeline in TIMECODE_RATES else Fraction(25))
