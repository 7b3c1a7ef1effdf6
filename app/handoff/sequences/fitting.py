"""The frames of a take that show a stretch of the song, and never one that may not be shown."""

import math
from fractions import Fraction

from app.handoff.layout import Segment, clip_frames
from app.model.coverage.time_spans import Span
from app.model.on_song import Clip, Take
from app.model.speeds import nominal_speed
from app.model.timebase import nearest_frame

_TOLERANCE = Fraction(1, 1000)
"""Part of a frame by which sums of floats may miss a frame boundary."""


def fitted(
    clip: Clip, take: Take, usable: Span, start: int, end: int, rate: Fraction, *, whole: bool
) -> Segment | None:
    """The piece of a take that shows the song from one of its frames to another; None where none fits.

    ``start`` and ``end`` are frames of the song at ``rate``, the end exclusive; ``usable`` is the stretch of
    the take, in song time, outside of which nothing may be shown. Each piece begins with the nearest frame of
    its clip. Where that is not usable, the piece begins or ends a frame of the song later or earlier. A
    ``whole`` piece keeps its frames of the song: its pictures are moved by a frame or two of its clip, which
    its sub-frame offset tells, and where even so it does not fit there is none.
    """
    own = clip.frame_rate or rate
    nominal, drift_ppm = (speed := nominal_speed(take.speed)).nominal, speed.drift_ppm
    low = max(0, math.ceil(_clip_time(take, Fraction(usable[0])) * own - _TOLERANCE))
    high = math.floor(_clip_time(take, Fraction(usable[1])) * own + _TOLERANCE)
    high = min(high, clip_frames(clip, own))
    frames = own / (rate * nominal)
    """Frames of the clip to a frame of the song."""
    if whole:
        latest = math.floor(high - (end - start) * frames + _TOLERANCE)
        first = max(low, min(nearest_frame(_clip_time(take, start / rate), own), latest))
        if first > latest:
            return None
        length = end - start
    else:
        while start < end and nearest_frame(_clip_time(take, start / rate), own) < low:
            start += 1
        first = nearest_frame(_clip_time(take, start / rate), own)
        length = min(end - start, math.floor((high - first) / frames + _TOLERANCE))
    if length < 1:
        return None
    exact_s = Fraction(take.song_start_s) + (first / own - Fraction(take.clip_start_s)) * Fraction(take.speed)
    return Segment(
        clip=clip,
        take=take,
        timeline_rate=rate,
        rate=own,
        first_frame=first,
        position=start,
        length=length,
        nominal=nominal,
        drift_ppm=drift_ppm,
        sub_frame_offset_s=float(exact_s - start / rate),
    )


def with_edges(clip: Clip, take: Take, usable: Span, song_end_s: float) -> Span:
    """A usable stretch with the frames in which its take begins and ends, if it reaches so far.

    What lies beyond a take is no fault, and a shot that begins with it may need that frame. Song time.
    """
    if clip.frame_rate is None:
        return usable
    frame_s = float(1 / clip.frame_rate) * take.speed
    start_s, end_s = usable
    if start_s <= max(0.0, take.song_start_s):
        start_s -= frame_s
    if end_s >= min(song_end_s, take.song_end_s):
        end_s += frame_s
    return start_s, end_s


def _clip_time(take: Take, song_s: Fraction) -> Fraction:
    """Moment of the clip at a song time, exact."""
    return Fraction(take.clip_start_s) + (song_s - Fraction(take.song_start_s)) / Fraction(take.speed)
