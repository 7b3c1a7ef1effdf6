"""Takes laid on a timeline of whole frames: the one place where song time is rounded.

The song's time 0 is frame 0 of the timeline. A take begins with its first whole frame of the clip; the song
time of exactly that frame is rounded to the timeline once, and what is left over is kept as the remainder.
Where drift is to be met, a take of pictures is cut where sections begin: each further piece begins on the
timeline frame nearest to the section's start, with the frame of the clip that is nearest to that.
"""

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import PurePath

from app.handoff.choices import DEFAULT, Choices, Doubtful, Drift, Scheme, start_number
from app.model.document.angle import Angle
from app.model.document.verdict import Verdict
from app.model.on_song import Clip, SongView, Take
from app.model.song_map.spans import song_sections
from app.model.speeds import late_frames, nominal_speed
from app.model.timebase import TIMECODE_RATES, frame_number, nearest_frame, timecode

FALLBACK_RATE = Fraction(25)
"""Timeline rate of a shoot without pictures."""
TOLD_FRAMES = 0.25
"""Drift matters from a quarter of a frame on, one perforation of film (common practice)."""
LEFT_OUT_DOUBTFUL = "it is in doubt, and takes in doubt were to be left out"
_WHISKER = Fraction(1, 1000)
"""Part of a frame by which float sums may miss a frame's border."""


@dataclass(frozen=True, slots=True)
class Laid:
    """One take, or one piece of it, in whole frames."""

    clip: Clip
    take: Take
    timeline: Fraction
    """Frames per second of the timeline."""
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
    piece: int = 1
    pieces: int = 1
    """Which piece of the take this is, and of how many."""

    @property
    def end(self) -> int:
        """First timeline frame after it."""
        return self.position + self.length

    @property
    def clip_s(self) -> Fraction:
        """Seconds of the clip that are used."""
        return self.length / (self.timeline * self.nominal)

    @property
    def source_frames(self) -> Fraction:
        """Frames of the clip that are used, at its own rate; not whole where speeds or rates differ."""
        return self.clip_s * self.rate

    @property
    def late_frames(self) -> float:
        """Frames of the clip by which the picture is later at the end than at the start, for its drift."""
        return late_frames(self.take.speed, float(self.clip_s), self.rate)

    @property
    def end_remainder_s(self) -> float:
        """Exact song time of the moment at which it ends, minus the time of the timeline frame there."""
        off = Fraction(self.take.speed) / self.nominal - 1
        return self.remainder_s + float(self.length / self.timeline * off)

    @property
    def residual_s(self) -> float:
        """Largest distance, seconds, between where it lies and where it belongs, from start to end."""
        return max(abs(self.remainder_s), abs(self.end_remainder_s))


@dataclass(frozen=True, slots=True)
class Lane:
    """A track: takes that do not overlap."""

    name: str
    sound: bool
    doubtful: bool
    takes: tuple[Laid, ...]
    angle: str = ""
    """Name of the angle they belong to."""


@dataclass(frozen=True, slots=True)
class Laying:
    """The whole timeline; safeties come first, so that they lie lowest, then the angles in stave order."""

    rate: Fraction
    lanes: tuple[Lane, ...]
    left_out: tuple[tuple[Clip, Take, str], ...]
    """Takes that cannot be laid, or are not to be, with the reason."""
    start: int = 0
    """Frame number of the song's start timecode."""
    choices: Choices = DEFAULT

    @property
    def laid(self) -> tuple[Laid, ...]:
        """All pieces of all takes of all lanes."""
        return tuple(one for lane in self.lanes for one in lane.takes)

    @property
    def over_midnight(self) -> bool:
        """Whether labels begin again at 00:00:00:00 before the last take has ended."""
        if self.rate not in TIMECODE_RATES:
            return False
        mark = ";" if self.choices.drop_frame else ":"
        last = frame_number(f"23:59:59{mark}{round(self.rate) - 1:02}", self.rate)
        return self.start + max((one.end for one in self.laid), default=0) > last + 1

    @property
    def residuals(self) -> tuple[tuple[Laid, float], ...]:
        """For each take its first piece, and the largest distance from its place in seconds."""
        worst: dict[str, tuple[Laid, float]] = {}
        for one in self.laid:
            first, before = worst.get(one.take.id, (one, 0.0))
            worst[one.take.id] = (first, max(before, one.residual_s))
        return tuple(worst.values())


def timeline_rate(shoot: SongView) -> Fraction:
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


def song_label(shoot: SongView, choices: Choices, song_s: float) -> str:
    """Timecode of the timeline frame nearest to a moment of the song; empty where there is none.

    Raises HandoffError for a start timecode that does not fit.
    """
    rate = choices.rate or timeline_rate(shoot)
    number = start_number(choices.start, rate) + nearest_frame(song_s, rate)
    if rate not in TIMECODE_RATES or number < 0:
        return ""
    return timecode(number, rate, drop_frame=choices.drop_frame)


def lay(shoot: SongView, choices: Choices = DEFAULT) -> Laying:
    """Lay every take as it was chosen. Raises HandoffError for a start timecode that does not fit."""
    rate = choices.rate or timeline_rate(shoot)
    start = start_number(choices.start, rate)
    left_out: list[tuple[Clip, Take, str]] = []
    known = {angle.id for angle in shoot.angles}
    cuts = _section_frames(shoot, rate) if choices.drift is Drift.RESEAT else ()
    rows: dict[tuple[bool, str, bool], list[tuple[Laid, ...]]] = {}
    for clip in shoot.clips:
        for take in clip.takes:
            doubtful = take.verdict is Verdict.DOUBTFUL
            if doubtful and choices.doubtful is Doubtful.NONE:
                left_out.append((clip, take, LEFT_OUT_DOUBTFUL))
                continue
            whole = _lay_take(clip, take, rate)
            if isinstance(whole, str):
                left_out.append((clip, take, whole))
                continue
            angle_id = clip.angle_id if clip.angle_id in known else ""
            rows.setdefault((doubtful, angle_id, clip.frame_rate is None), []).append(_pieces(whole, cuts))
    lanes: list[Lane] = []
    names: set[str] = set()
    for doubtful in (False, True):
        for angle in (*sorted(shoot.angles, key=lambda angle: not angle.safety), Angle("", "No angle")):
            for sound in (False, True):
                taken = rows.get((doubtful, angle.id, sound), [])
                mark = "doubtful: " if doubtful else ""
                name = mark + angle.name + (" sound" if sound else "")
                for row in _in_rows(taken, choices.scheme):
                    named = name
                    if choices.scheme is Scheme.TAKE:
                        named = f"{name}: {take_name(row[0].clip, row[0].take)}"
                    free = _free_name(named, names)
                    lanes.append(Lane(free, sound, doubtful, row, angle.name))
    return Laying(rate, tuple(lanes), tuple(left_out), start, choices)


def clip_names(clips: Iterable[Clip]) -> dict[str, str]:
    """File names by clip id; with as many of their folders as tell them apart, where several clips share one.

    >>> from app.model.document.media import MediaRef
    >>> paths = ("/a/1.mov", "/b/1.mov", "/c/2.mov", "/x/100/3.mov", "/y/100/3.mov")
    >>> list(clip_names(Clip(path, MediaRef(path, 0, ""), "") for path in paths).values())
    ['a/1.mov', 'b/1.mov', '2.mov', 'x/100/3.mov', 'y/100/3.mov']
    """
    paths = {clip.id: PurePath(clip.media.path) for clip in clips}
    names = {clip_id: path.name for clip_id, path in paths.items()}
    for parts in range(2, max((len(path.parts) for path in paths.values()), default=0) + 1):
        often = Counter(name.casefold() for name in names.values())
        shared = [clip_id for clip_id in paths if often[names[clip_id].casefold()] > 1]
        if not shared:
            break
        names |= {clip_id: str(PurePath(*paths[clip_id].parts[-parts:])) for clip_id in shared}
    return names


def take_name(clip: Clip, take: Take, name: str = "") -> str:
    """How a take is called outside: file name, and its number where the clip holds several.

    ``name`` is another name for the clip.
    """
    name = name or PurePath(clip.media.path).name
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
    end = _end_frame(clip, take, rate)
    length = math.floor((end - first) / rate * speed.nominal * timeline)
    if Fraction(take.clip_end_s) <= song_begins_s:
        return "it ends before the song begins"
    if end <= first or length < 1:
        return (
            "less than a frame of it is in the song"
            if from_s > take.clip_start_s
            else "it is shorter than a frame"
        )
    exact_s = _song_time(take, first / rate)
    position = max(0, nearest_frame(exact_s, timeline))
    return Laid(
        clip,
        take,
        timeline,
        rate,
        first,
        position,
        length,
        speed.nominal,
        speed.drift_ppm,
        float(exact_s - position / timeline),
    )


def _pieces(whole: Laid, cuts: Sequence[int]) -> tuple[Laid, ...]:
    """The take cut at those timeline frames, if its drift matters; each piece on its nearest frame."""
    take, rate, timeline = whole.take, whole.rate, whole.timeline
    if whole.clip.frame_rate is None or abs(whole.late_frames) <= TOLD_FRAMES:
        return (whole,)
    end = _end_frame(whole.clip, take, rate)
    pieces = [whole]
    for cut in cuts:
        moment_s = Fraction(take.clip_start_s) + (cut / timeline - Fraction(take.song_start_s)) / Fraction(
            take.speed
        )
        first = nearest_frame(moment_s, rate)
        length = math.floor((end - first) / rate * whole.nominal * timeline)
        if cut <= pieces[-1].position or length < 1 or first <= pieces[-1].first_frame:
            continue
        pieces[-1] = replace(pieces[-1], length=min(pieces[-1].length, cut - pieces[-1].position))
        rest_s = float(_song_time(take, first / rate) - cut / timeline)
        pieces.append(replace(whole, first_frame=first, position=cut, length=length, remainder_s=rest_s))
    return tuple(replace(one, piece=n, pieces=len(pieces)) for n, one in enumerate(pieces, 1))


def _end_frame(clip: Clip, take: Take, rate: Fraction) -> int:
    """First frame of the clip after the take."""
    return min(math.floor(Fraction(take.clip_end_s) * rate + _WHISKER), clip_frames(clip, rate))


def _song_time(take: Take, clip_s: Fraction) -> Fraction:
    """Song time of a moment of the clip, exact."""
    return Fraction(take.song_start_s) + (clip_s - Fraction(take.clip_start_s)) * Fraction(take.speed)


def _section_frames(shoot: SongView, rate: Fraction) -> tuple[int, ...]:
    if shoot.song is None:
        return ()
    return tuple(sorted({nearest_frame(section.start_s, rate) for section in song_sections(shoot.song)}))


def _in_rows(taken: list[tuple[Laid, ...]], scheme: Scheme) -> list[tuple[Laid, ...]]:
    """Takes of one angle in as few rows as hold them without overlap, or a row each; the earliest first."""
    rows: list[list[Laid]] = []
    for pieces in sorted(taken, key=lambda pieces: (pieces[0].position, pieces[-1].end)):
        row = None
        if scheme is Scheme.ANGLE:
            row = next((row for row in rows if row[-1].end <= pieces[0].position), None)
        if row is None:
            rows.append(list(pieces))
        else:
            row.extend(pieces)
    return [tuple(row) for row in rows]


def _free_name(name: str, names: set[str]) -> str:
    free, number = name, 1
    while free in names:
        number += 1
        free = f"{name} {number}"
    names.add(free)
    return free
