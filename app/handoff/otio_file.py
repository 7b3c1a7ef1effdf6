"""The shoot as an OpenTimelineIO file: the song, a track for every angle, every take in its place.

The song lies at 01:00:00:00. A take's source range starts, at the clip's own rate, with the first frame
used, counted from the clip's start timecode; its length is a whole number of timeline frames. Where a take
runs at another speed than the song (rates mixed up, playback sped up for slow motion), a linear time warp
carries the ratio. Drift of clocks is not corrected; it is told, like the rest below a frame, in
``metadata["anglebook"]`` of every clip. Doubtful takes lie on tracks of their own that are switched off.
"""

from collections.abc import Iterable
from fractions import Fraction
from pathlib import Path

import opentimelineio as otio

from app.handoff.laying import Laid, Lane, Laying, clip_frames, lay, start_frame, take_name
from app.handoff.otio_check import check
from app.handoff.outcome import HandoffError, HandoffReport, plain
from app.model.coverage import coverage, song_sections
from app.model.files import write_whole
from app.model.shoot import Shoot, Song, Verdict
from app.model.timebase import nearest_frame, rate_text, rate_words

KEY = "anglebook"
"""Our key in the metadata of the timeline and its clips."""
TOLD_FRAMES = 0.25
"""Drift is told in the lines from a quarter of a frame on, one perforation of film (common practice)."""


def write(shoot: Shoot, path: Path, *, rate: Fraction | None = None) -> HandoffReport:
    """Write the timeline, read it back with the library and compare. Raises HandoffError.

    ``rate`` is the timeline's; where it is None, the one that most clips have.
    """
    if shoot.song is None:
        raise HandoffError(
            "There is no song yet, so there is nothing to lay the takes on. Open the song first."
        )
    laying = lay(shoot, rate)
    timeline = to_timeline(shoot, shoot.song, laying)

    def read_back(written: Path) -> None:
        try:
            again = otio.adapters.read_from_file(str(written), "otio_json")
        except (otio.exceptions.OTIOError, ValueError) as error:
            raise HandoffError(f"{path.name} does not read back ({error}). It was not written.") from error
        check(again, shoot, laying, path.name)

    try:
        write_whole(path, otio.adapters.write_to_string(timeline, "otio_json").encode("utf-8"), read_back)
    except OSError as error:
        why = error.strerror or error
        raise HandoffError(f"{path.name} could not be written: {why}. Choose another folder.") from error
    worst_s = max((abs(one.remainder_s) for one in laying.laid), default=0.0)
    return HandoffReport(path, tuple(_lines(shoot, laying, worst_s)), len(laying.laid), worst_s)


def to_timeline(shoot: Shoot, song: Song, laying: Laying) -> "otio.schema.Timeline":
    """The timeline as the library's object, nothing written."""
    rate = laying.rate
    timeline = otio.schema.Timeline(
        plain(shoot.name) or "Shoot", global_start_time=_time(3600 * round(rate), rate)
    )
    timeline.metadata[KEY] = {
        "handoff_version": 1,
        "rate": rate_text(rate),
        "song": plain(song.media.path),
        "song_digest": song.media.digest,
    }
    for lane in laying.lanes:
        timeline.tracks.append(_track(lane, rate))
    timeline.tracks.append(_song_track(song, rate))
    timeline.tracks.markers.extend(_markers(shoot, song, rate))
    return timeline


def _track(lane: Lane, rate: Fraction) -> "otio.schema.Track":
    kind = otio.schema.TrackKind.Audio if lane.sound else otio.schema.TrackKind.Video
    track = otio.schema.Track(plain(lane.name), kind=kind)
    track.enabled = not lane.doubtful
    at = 0
    for one in lane.takes:
        if one.position > at:
            track.append(otio.schema.Gap(duration=_time(one.position - at, rate)))
        track.append(_clip(one, rate))
        at = one.end
    return track


def _clip(one: Laid, rate: Fraction) -> "otio.schema.Clip":
    begins = start_frame(one.clip) or 0
    clip = otio.schema.Clip(
        plain(take_name(one.clip, one.take)),
        media_reference=otio.schema.ExternalReference(
            Path(one.clip.media.path).absolute().as_uri(),
            _range(begins, clip_frames(one.clip, one.rate), one.rate),
        ),
        # As long as it is on the timeline; the library does not stretch a clip by its time warp.
        source_range=_range(begins + one.first_frame, one.length * one.rate / rate, one.rate),
    )
    clip.enabled = one.take.verdict is not Verdict.DOUBTFUL
    if one.nominal != 1:
        clip.effects.append(otio.schema.LinearTimeWarp("Speed", time_scalar=float(1 / one.nominal)))
    clip.metadata[KEY] = {
        "clip_id": one.clip.id,
        "take_id": one.take.id,
        "verdict": one.take.verdict.value,
        "decision": one.take.decision.value,
        "reason": plain(one.take.reason),
        "clip_start_s": one.take.clip_start_s,
        "clip_end_s": one.take.clip_end_s,
        "song_start_s": one.take.song_start_s,
        "speed": one.take.speed,
        "nominal_speed": rate_text(one.nominal),
        "drift_ppm": one.drift_ppm,
        "late_frames_at_end": one.late_frames,
        "uncertainty_s": one.take.uncertainty_s,
        "remainder_s": one.remainder_s,
        "remainder_frames": one.remainder_s * float(rate),
        "rivals": [{"song_start_s": r.song_start_s, "strength": r.strength} for r in one.take.rivals],
    }
    return clip


def _song_track(song: Song, rate: Fraction) -> "otio.schema.Track":
    track = otio.schema.Track("Song", kind=otio.schema.TrackKind.Audio)
    length = Fraction(song.duration_s) * rate
    track.append(
        otio.schema.Clip(
            plain(Path(song.media.path).name),
            media_reference=otio.schema.ExternalReference(
                Path(song.media.path).absolute().as_uri(), _range(0, length, rate)
            ),
            source_range=_range(0, length.numerator // length.denominator, rate),
        )
    )
    return track


def _markers(shoot: Shoot, song: Song, rate: Fraction) -> "Iterable[otio.schema.Marker]":
    for section in song_sections(song):
        yield _marker(f"{section.letter} {section.name}", "", section.start_s, section.end_s, rate, "section")
    for part in coverage(shoot):
        spans = {bar.bar.number: bar.bar for bar in part.bars}
        for thin in part.thin:
            start_s, end_s = spans[thin.first_bar].start_s, spans[thin.last_bar].end_s
            yield _marker(thin.kind, thin.words, start_s, end_s, rate, "thin place")


def _marker(
    name: str, comment: str, start_s: float, end_s: float, rate: Fraction, kind: str
) -> "otio.schema.Marker":
    start, end = (nearest_frame(s, rate) for s in (start_s, end_s))
    colour = otio.schema.MarkerColor.BLUE if kind == "section" else otio.schema.MarkerColor.ORANGE
    marker = otio.schema.Marker(plain(name).strip(), _range(start, max(0, end - start), rate), colour)
    marker.comment = plain(comment)
    marker.metadata[KEY] = {"kind": kind}
    return marker


def _time(frames: int | Fraction, rate: Fraction) -> "otio.opentime.RationalTime":
    return otio.opentime.RationalTime(float(frames), float(rate))


def _range(start: int, length: int | Fraction, rate: Fraction) -> "otio.opentime.TimeRange":
    return otio.opentime.TimeRange(_time(start, rate), _time(length, rate))


def _lines(shoot: Shoot, laying: Laying, worst_s: float) -> Iterable[str]:
    sure = [lane for lane in laying.lanes if not lane.doubtful]
    unsure = [lane for lane in laying.lanes if lane.doubtful]
    words = rate_words(laying.rate)
    yield f"Timeline at {words} frames per second; the song starts at 01:00:00:00."
    yield f"{_count(sum(len(lane.takes) for lane in sure), 'take')} on {_count(len(sure), 'track')}."
    if unsure:
        count = _count(sum(len(lane.takes) for lane in unsure), "doubtful take")
        yield f"{count} on {_count(len(unsure), 'track')}, switched off; decide them first."
    frames = worst_s * float(laying.rate)
    yield f"Largest rest below a frame: {worst_s * 1000:.1f} ms ({frames:.2f} frame), noted beside each take."
    for one in laying.laid:
        name = plain(take_name(one.clip, one.take))
        if one.nominal != 1:
            yield f"{name}: laid at speed {rate_text(one.nominal)} by a time warp."
        if abs(one.late_frames) >= TOLD_FRAMES:
            which = "late" if one.late_frames > 0 else "early"
            yield f"{name}: runs {abs(one.late_frames):.1f} frame {which} by its end; drift is not corrected."
    for clip in shoot.clips:
        name = plain(Path(clip.media.path).name)
        if clip.takes and clip.variable_frame_rate:
            yield f"{name}: its frame rate varies; places count in its nominal rate and may miss by frames."
        if clip.takes and start_frame(clip) is None:
            yield f"{name}: its start timecode {clip.start_timecode} does not fit its rate; counted from 0."
        if not clip.takes:
            yield f"{name}: not on the timeline ({clip.verdict.value})."
    for clip, take, why in laying.left_out:
        yield f"{plain(take_name(clip, take))}: not on the timeline, because {why}."


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"
