"""The timeline layout: every take on a track, in whole frames. Song time is rounded here, for
sequences in `app.handoff.sequences`, and nowhere else.

Song time 0 is frame 0 of the timeline. A take starts with the first whole frame of its clip. The song time
of that frame is rounded to the timeline once; the difference is kept as the sub-frame offset. To correct
drift, a take with pictures is cut at section starts. Each piece after the first starts on the timeline frame
nearest to the section start, with the nearest frame of the clip.
"""

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import PurePath

from app.handoff.choices import DEFAULT, Choices, Doubtful, Drift, Scheme, start_number
from app.handoff.outcome import HandoffError
from app.model.document.angle import Angle
from app.model.document.song import Song
from app.model.document.verdict import Verdict
from app.model.on_song import Clip, SongView, Take
from app.model.set_advice.camera_rates import known_timeline_rate
from app.model.song_map.bar_spans import song_sections
from app.model.speeds import late_frames, nominal_speed
from app.model.timebase import TIMECODE_RATES, frame_number, nearest_frame, timecode

FALLBACK_RATE = Fraction(25)
"""Timeline rate of a shoot without pictures."""
DRIFT_MATTERS_FRAMES = 0.25
"""Drift from a quarter of a frame on is reported and can be corrected: one perforation of film (common
practice)."""
LEFT_OUT_DOUBTFUL = "it is in doubt, and takes in doubt are left out"
_TOLERANCE = Fraction(1, 1000)
"""Part of a frame by which sums of floats may miss a frame boundary."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Segment:
    """A take, or one piece of a take, on the timeline in whole frames."""

    clip: Clip
    take: Take
    timeline_rate: Fraction
    """Frames per second of the timeline."""
    rate: Fraction
    """Frames per second of the source: the clip's own rate, or the timeline's for a sound-only clip."""
    first_frame: int
    """First source frame used, counted from the clip's first frame."""
    position: int
    """Timeline frame it starts on."""
    length: int
    """Length in timeline frames."""
    nominal: Fraction
    """Nominal speed: seconds of song per second of clip, without drift."""
    drift_ppm: float
    """Drift of the clip's clock against the song's, parts per million."""
    sub_frame_offset_s: float
    """Exact song time of the first source frame, minus the time of the timeline frame under it; seconds."""
    piece: int = 1
    """Number of this piece within its take, from 1."""
    pieces: int = 1
    """Number of pieces the take was cut into."""

    @property
    def end(self) -> int:
        """First timeline frame after it."""
        return self.position + self.length

    @property
    def clip_s(self) -> Fraction:
        """Seconds of the clip used."""
        return self.length / (self.timeline_rate * self.nominal)

    @property
    def source_frames(self) -> Fraction:
        """Source frames used, at the source's rate; not a whole number where speeds or rates differ."""
        return self.clip_s * self.rate

    @property
    def late_frames(self) -> float:
        """How much later the picture is at the end than at the start because of drift, in source frames."""
        return late_frames(self.take.speed, float(self.clip_s), self.rate)

    @property
    def end_sub_frame_offset_s(self) -> float:
        """Exact song time at its end, minus the time of the timeline frame there; seconds."""
        off = Fraction(self.take.speed) / self.nominal - 1
        return self.sub_frame_offset_s + float(self.length / self.timeline_rate * off)

    @property
    def residual_s(self) -> float:
        """Largest distance between where it is and where it belongs, from start to end; seconds."""
        return max(abs(self.sub_frame_offset_s), abs(self.end_sub_frame_offset_s))


@dataclass(frozen=True, slots=True, kw_only=True)
class Track:
    """A track of the timeline; its segments are in order and do not overlap."""

    name: str
    sound: bool
    """Whether it is an audio track; otherwise it is a video track."""
    doubtful: bool
    """Whether it holds doubtful takes and is switched off."""
    segments: tuple[Segment, ...]
    angle: str = ""
    """Name of the angle its takes belong to."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """The whole timeline. Safeties come first, so that they are the lowest tracks; then the angles in stave
    order."""

    rate: Fraction
    """Frames per second of the timeline."""
    tracks: tuple[Track, ...]
    left_out: tuple[tuple[Clip, Take, str], ...]
    """Takes that are not on the timeline, each with the reason."""
    start: int = 0
    """Frame number of the song's start timecode."""
    choices: Choices = DEFAULT

    @property
    def segments(self) -> tuple[Segment, ...]:
        """All segments of all tracks."""
        return tuple(segment for track in self.tracks for segment in track.segments)

    @property
    def over_midnight(self) -> bool:
        """Whether timecode passes midnight and starts again at 00:00:00:00 before the last take ends."""
        end = self.start + max((one.end for one in self.segments), default=0)
        return passes_midnight(end, self.rate, drop_frame=self.choices.drop_frame)

    @property
    def residuals(self) -> tuple[tuple[Segment, float], ...]:
        """For each take its first segment, and the largest distance of any piece from its place; seconds."""
        worst: dict[str, tuple[Segment, float]] = {}
        for one in self.segments:
            first, before = worst.get(one.take.id, (one, 0.0))
            worst[one.take.id] = (first, max(before, one.residual_s))
        return tuple(worst.values())


def timeline_rate(shoot: SongView) -> Fraction:
    """The rate that most clips with takes have; among equals, that of the first clip."""
    return known_timeline_rate(shoot) or FALLBACK_RATE


def passes_midnight(end: int, rate: Fraction, *, drop_frame: bool) -> bool:
    """Whether timecode starts again at 00:00:00:00 before frame ``end``, counted from 00:00:00:00."""
    if rate not in TIMECODE_RATES:
        return False
    mark = ";" if drop_frame else ":"
    return end > frame_number(f"23:59:59{mark}{round(rate) - 1:02}", rate) + 1


def song_frames(song: Song, rate: Fraction) -> int:
    """How many whole frames the song is long."""
    return math.floor(Fraction(song.duration_s) * rate)


def clip_frames(clip: Clip, rate: Fraction) -> int:
    """How many frames the clip holds."""
    return max(0, math.floor(Fraction(clip.duration_s) * rate + _TOLERANCE))


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


def layout_on_song(shoot: SongView, choices: Choices) -> tuple[Song, Layout]:
    """The song and the timeline layout under it. Raises HandoffError where there is no song."""
    if shoot.song is None:
        raise HandoffError("There is no song yet, so takes cannot be laid out. Choose the song first.")
    return shoot.song, lay_out(shoot, choices)


def lay_out(shoot: SongView, choices: Choices = DEFAULT) -> Layout:
    """Put every take on the timeline. Raises HandoffError for a start timecode that does not fit."""
    rate = choices.rate or timeline_rate(shoot)
    start = start_number(choices.start, rate)
    left_out: list[tuple[Clip, Take, str]] = []
    known = {angle.id for angle in shoot.angles}
    cuts = _section_frames(shoot, rate) if choices.drift is Drift.RESEAT else ()
    rows: dict[tuple[bool, str, bool], list[tuple[Segment, ...]]] = {}
    for clip in shoot.clips:
        for take in clip.takes:
            doubtful = take.verdict is Verdict.DOUBTFUL
            if doubtful and choices.doubtful is Doubtful.NONE:
                left_out.append((clip, take, LEFT_OUT_DOUBTFUL))
                continue
            whole = _whole_take(clip, take, rate)
            if isinstance(whole, str):
                left_out.append((clip, take, whole))
                continue
            angle_id = clip.angle_id if clip.angle_id in known else ""
            rows.setdefault((doubtful, angle_id, clip.frame_rate is None), []).append(_pieces(whole, cuts))
    tracks: list[Track] = []
    names: set[str] = set()
    for doubtful in (False, True):
        for angle in (
            *sorted(shoot.angles, key=lambda angle: not angle.safety),
            Angle(id="", name="No angle"),
        ):
            for sound in (False, True):
                taken = rows.get((doubtful, angle.id, sound), [])
                mark = "in doubt: " if doubtful else ""
                name = mark + angle.name + (" sound" if sound else "")
                for row in _in_rows(taken, choices.scheme):
                    named = name
                    if choices.scheme is Scheme.TAKE:
                        named = f"{name}: {take_name(row[0].clip, row[0].take)}"
                    free = _free_name(named, names)
                    tracks.append(
                        Track(name=free, sound=sound, doubtful=doubtful, segments=row, angle=angle.name)
                    )
    return Layout(rate=rate, tracks=tuple(tracks), left_out=tuple(left_out), start=start, choices=choices)


def clip_names(clips: Iterable[Clip]) -> dict[str, str]:
    """File names by clip id; where several clips share one, with as many folders as make them unique.

    >>> from app.model.document.media_ref import MediaRef
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
    """Name of a take in files and lists: the clip's file name, and the take's number where there are several.

    ``name``, where given, stands in for the file name.
    """
    name = name or PurePath(clip.media.path).name
    if len(clip.takes) < 2:
        return name
    return f"{name}, take {[other.id for other in clip.takes].index(take.id) + 1}"


def _whole_take(clip: Clip, take: Take, timeline_rate: Fraction) -> Segment | str:
    """The take as one segment, or the reason why it cannot be on the timeline."""
    rate = clip.frame_rate or timeline_rate
    speed = nominal_speed(take.speed)
    song_begins_s = Fraction(take.clip_start_s) - Fraction(take.song_start_s) / Fraction(take.speed)
    from_s = max(Fraction(take.clip_start_s), song_begins_s, Fraction(0))
    first = math.ceil(from_s * rate - _TOLERANCE)
    end = _end_frame(clip, take, rate)
    length = math.floor((end - first) / rate * speed.nominal * timeline_rate)
    if Fraction(take.clip_end_s) <= song_begins_s:
        return "it ends before the song begins"
    if end <= first or length < 1:
        return (
            "less than a frame of it is in the song"
            if from_s > take.clip_start_s
            else "it is shorter than a frame"
        )
    exact_s = _song_time(take, first / rate)
    position = max(0, nearest_frame(exact_s, timeline_rate))
    return Segment(
        clip=clip,
        take=take,
        timeline_rate=timeline_rate,
        rate=rate,
        first_frame=first,
        position=position,
        length=length,
        nominal=speed.nominal,
        drift_ppm=speed.drift_ppm,
        sub_frame_offset_s=float(exact_s - position / timeline_rate),
    )


def _pieces(whole: Segment, cuts: Sequence[int]) -> tuple[Segment, ...]:
    """The take cut at these timeline frames, if its drift matters; each piece on its nearest frame."""
    take, rate, timeline_rate = whole.take, whole.rate, whole.timeline_rate
    if whole.clip.frame_rate is None or abs(whole.late_frames) <= DRIFT_MATTERS_FRAMES:
        return (whole,)
    end = _end_frame(whole.clip, take, rate)
    pieces = [whole]
    for cut in cuts:
        moment_s = Fraction(take.clip_start_s) + (
            cut / timeline_rate - Fraction(take.song_start_s)
        ) / Fraction(take.speed)
        first = nearest_frame(moment_s, rate)
        length = math.floor((end - first) / rate * whole.nominal * timeline_rate)
        if cut <= pieces[-1].position or length < 1 or first <= pieces[-1].first_frame:
            continue
        pieces[-1] = replace(pieces[-1], length=min(pieces[-1].length, cut - pieces[-1].position))
        offset_s = float(_song_time(take, first / rate) - cut / timeline_rate)
        pieces.append(
            replace(whole, first_frame=first, position=cut, length=length, sub_frame_offset_s=offset_s)
        )
    return tuple(replace(one, piece=n, pieces=len(pieces)) for n, one in enumerate(pieces, 1))


def _end_frame(clip: Clip, take: Take, rate: Fraction) -> int:
    """First frame of the clip after the take."""
    return min(math.floor(Fraction(take.clip_end_s) * rate + _TOLERANCE), clip_frames(clip, rate))


def _song_time(take: Take, clip_s: Fraction) -> Fraction:
    """Song time of a moment of the clip, exact."""
    return Fraction(take.song_start_s) + (clip_s - Fraction(take.clip_start_s)) * Fraction(take.speed)


def _section_frames(shoot: SongView, rate: Fraction) -> tuple[int, ...]:
    if shoot.song is None:
        return ()
    return tuple(sorted({nearest_frame(section.start_s, rate) for section in song_sections(shoot.song)}))


def _in_rows(taken: list[tuple[Segment, ...]], scheme: Scheme) -> list[tuple[Segment, ...]]:
    """Takes of one angle on as few rows as hold them without overlap, or one row per take; earliest first."""
    rows: list[list[Segment]] = []
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
