"""Takes laid on a timeline of whole frames: the one place where song time is rounded.

The song's time 0 is frame 0 of the timeline. A take begins with its first whole frame of the clip; the song
time of exactly that frame is rounded to the timeline once, and what is left over is kept as the remainder.
"""

import math
from collections import Counter
from dataclasses import dataclass
from fractions import Fraction
from pathlib import PurePath

from app.model.shoot import Angle, Clip, Shoot, Take, Verdict
from app.model.speeds import late_frames, nominal_speed
from app.model.timebase import frame_number, nearest_frame

FALLBACK_RATE = Fraction(25)
"""Timeline rate of a shoot without pictures."""
_WHISKER = Fraction(1, 1000)
"""Part of a frame by which float sums may miss a frame's border."""


@dataclass(frozen=True, slots=True)
class Laid:
    """One take in whole frames."""

    clip: Clip
    take: Take
    rate: Fraction
    """Frames per second in which the clip is counted: its own, or the timeline's for a sound-only clip."""
    first_frame: int
    """First frame used, counted from the clip's first."""
    position: int
    """Timeline frame on which it lies."""
    length: int
    """Timeline frames."""
    nominal: Fraction
    """Seconds of song to a second of clip, drift left out."""
    drift_ppm: float
    remainder_s: float
    """Exact song time of the first frame used, minus the time of the timeline frame it lies on."""

    @property
    def end(self) -> int:
        """First timeline frame after it."""
        return self.position + self.length

    @property
    def late_frames(self) -> float:
        """Frames of the clip by which the picture is late at its end, because drift is not corrected."""
        return late_frames(self.take.speed, self.take.clip_end_s - self.take.clip_start_s, self.rate)


@dataclass(frozen=True, slots=True)
class Lane:
    """A track: takes of one angle that do not overlap."""

    name: str
    sound: bool
    doubtful: bool
    takes: tuple[Laid, ...]


@dataclass(frozen=True, slots=True)
class Laying:
    """The whole timeline; safeties come first, so that they lie lowest, then the angles in stave order."""

    rate: Fraction
    lanes: tuple[Lane, ...]
    left_out: tuple[tuple[Clip, Take, str], ...]
    """Takes that cannot be laid, with the reason."""

    @property
    def laid(self) -> tuple[Laid, ...]:
        """All takes of all lanes."""
        return tuple(one for lane in self.lanes for one in lane.takes)


def timeline_rate(shoot: Shoot) -> Fraction:
    """The rate that most clips with takes have; among equals, that of the first clip."""
    rates = [clip.frame_rate for clip in shoot.clips if clip.frame_rate is not None and clip.takes]
    return Counter(rates).most_common(1)[0][0] if rates else FALLBACK_RATE


def clip_frames(clip: Clip, rate: Fraction) -> int:
    """How many frames the clip holds."""
    return max(0, math.floor(Fraction(clip.duration_s) * rate + _WHISKER))


def start_frame(clip: Clip) -> int | None:
    """Frame number of the clip's start timecode; 0 where it has none, None where its rate does not fit."""
    if clip.start_timecode is None or clip.frame_rate is None:
        return 0
    try:
        return frame_number(clip.start_timecode, clip.frame_rate)
    except ValueError:
        return None


def lay(shoot: Shoot, rate: Fraction | None = None) -> Laying:
    """Lay every take, at the rate given or the one most clips have."""
    rate = rate or timeline_rate(shoot)
    left_out: list[tuple[Clip, Take, str]] = []
    lanes: list[Lane] = []
    names: set[str] = set()
    known = {angle.id for angle in shoot.angles}
    rows: dict[tuple[bool, str, bool], list[Laid]] = {}
    for clip in shoot.clips:
        for take in clip.takes:
            one = _lay_take(clip, take, rate)
            if isinstance(one, str):
                left_out.append((clip, take, one))
                continue
            angle_id = clip.angle_id if clip.angle_id in known else ""
            key = (take.verdict is Verdict.DOUBTFUL, angle_id, clip.frame_rate is None)
            rows.setdefault(key, []).append(one)
    for doubtful in (False, True):
        for angle in (*sorted(shoot.angles, key=lambda angle: not angle.safety), Angle("", "No angle")):
            for sound in (False, True):
                name = ("doubtful: " if doubtful else "") + angle.name + (" sound" if sound else "")
                lanes += _in_lanes(rows.get((doubtful, angle.id, sound), []), name, sound, doubtful, names)
    return Laying(rate, tuple(lanes), tuple(left_out))


def take_name(clip: Clip, take: Take) -> str:
    """How a take is called outside: file name, and its number where the clip holds several."""
    name = PurePath(clip.media.path).name
    if len(clip.takes) < 2:
        return name
    return f"{name}, take {[other.id for other in clip.takes].index(take.id) + 1}"


def _lay_take(clip: Clip, take: Take, timeline: Fraction) -> Laid | str:
    """The take in whole frames, or why that cannot be."""
    rate = clip.frame_rate or timeline
    speed = nominal_speed(take.speed)
    song_begins_s = Fraction(take.clip_start_s) - Fraction(take.song_start_s) / Fraction(take.speed)
    from_s = max(Fraction(take.clip_start_s), song_begins_s, Fraction(0))
    first = math.ceil(from_s * rate - _WHISKER)
    end = min(math.floor(Fraction(take.clip_end_s) * rate + _WHISKER), clip_frames(clip, rate))
    length = math.floor((end - first) / rate * speed.nominal * timeline)
    if Fraction(take.clip_end_s) <= song_begins_s:
        return "it ends before the song begins"
    if end <= first or length < 1:
        return "it is shorter than a frame"
    exact_s = Fraction(take.song_start_s) + (first / rate - Fraction(take.clip_start_s)) * Fraction(
        take.speed
    )
    position = max(0, nearest_frame(exact_s, timeline))
    return Laid(
        clip,
        take,
        rate,
        first,
        position,
        length,
        speed.nominal,
        speed.drift_ppm,
        float(exact_s - position / timeline),
    )


def _in_lanes(taken: list[Laid], name: str, sound: bool, doubtful: bool, names: set[str]) -> list[Lane]:
    """Takes of one angle in as few lanes as hold them without overlap, the earliest lane first."""
    rows: list[list[Laid]] = []
    for one in sorted(taken, key=lambda laid: (laid.position, laid.end)):
        row = next((row for row in rows if row[-1].end <= one.position), None)
        if row is None:
            rows.append([one])
        else:
            row.append(one)
    return [Lane(_free_name(name, names), sound, doubtful, tuple(row)) for row in rows]


def _free_name(name: str, names: set[str]) -> str:
    free, number = name, 1
    while free in names:
        number += 1
        free = f"{name} {number}"
    names.add(free)
    return free
