"""The shoot as OpenTimelineIO objects: the song, a track for every angle or take, every take in its place.

A take's source range starts, at the clip's own rate, with the first frame used, counted from the clip's
start timecode. Where a take runs at another speed than the song (rates mixed up, playback sped up for slow
motion), a linear time warp carries the ratio. The source range is then as long as the take is on the
timeline: in this format a clip's trimmed range tells how long it is in its track, and a warp does not change
that (OpenTimelineIO documentation, "Time Ranges", on ``Clip.trimmed_range()``). The media used is the source
range times the warp's scalar; it is told in frames of the clip beside it (``media_frames``).

Drift of clocks is not corrected by a warp; it is told, like the rest below a frame, in
``metadata["anglebook"]`` of every clip. Doubtful takes lie on tracks of their own that are switched off.
"""

from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

import opentimelineio as otio

from app.handoff.event_list.source_ids import source_ids
from app.handoff.laying import Laid, Lane, Laying, clip_frames, start_frame, take_name
from app.handoff.outcome import plain
from app.handoff.report import rivals_told
from app.handoff.timeline.otio_markers import bar_markers, shoot_markers
from app.model.document.media import MediaRef
from app.model.document.song import Song
from app.model.document.verdict import Verdict
from app.model.on_song import SongView
from app.model.reasons import sentence
from app.model.timebase import rate_text

KEY = "anglebook"
"""Our key in the metadata of the timeline and its clips."""
Where = Callable[[MediaRef], str | None]
"""The address under which a timeline tells a file; None for one that is not there."""


def in_place(media: MediaRef) -> str:
    """The file where it lies."""
    return Path(media.path).absolute().as_uri()


def to_timeline(
    shoot: SongView, song: Song, laying: Laying, where: Where = in_place
) -> "otio.schema.Timeline":
    """The timeline as the library's object, nothing written."""
    rate = laying.rate
    timeline = otio.schema.Timeline(plain(shoot.name) or "Shoot", global_start_time=_time(laying.start, rate))
    timeline.metadata[KEY] = {
        "handoff_version": 1,
        "rate": rate_text(rate),
        "start_timecode": laying.choices.start,
        "song": plain(song.media.path),
        "song_digest": song.media.digest,
    }
    ids = source_ids(shoot)
    for lane in laying.lanes:
        timeline.tracks.append(_track(lane, rate, ids, where))
    timeline.tracks.append(_song_track(song, rate, where))
    timeline.tracks.markers.extend(shoot_markers(shoot, song, rate))
    return timeline


def _track(lane: Lane, rate: Fraction, ids: dict[str, str], where: Where) -> "otio.schema.Track":
    kind = otio.schema.TrackKind.Audio if lane.sound else otio.schema.TrackKind.Video
    track = otio.schema.Track(plain(lane.name), kind=kind)
    track.enabled = not lane.doubtful
    track.metadata[KEY] = {"angle": plain(lane.angle)}
    at = 0
    for one in lane.takes:
        if one.position > at:
            track.append(otio.schema.Gap(duration=_time(one.position - at, rate)))
        track.append(_clip(one, rate, ids[one.clip.id], where))
        at = one.end
    return track


def _clip(one: Laid, rate: Fraction, source_id: str, where: Where) -> "otio.schema.Clip":
    begins = start_frame(one.clip) or 0
    clip = otio.schema.Clip(
        plain(take_name(one.clip, one.take)),
        media_reference=_reference(
            one.clip.media, _range(begins, clip_frames(one.clip, one.rate), one.rate), where
        ),
        source_range=_range(begins + one.first_frame, one.length * one.rate / rate, one.rate),
    )
    clip.enabled = one.take.verdict is not Verdict.DOUBTFUL
    if one.nominal != 1:
        clip.effects.append(otio.schema.LinearTimeWarp("Speed", time_scalar=float(1 / one.nominal)))
    clip.metadata[KEY] = {
        "clip_id": one.clip.id,
        "take_id": one.take.id,
        "piece": one.piece,
        "pieces": one.pieces,
        "reel": source_id,
        "frame_rate": None if one.clip.frame_rate is None else rate_text(one.clip.frame_rate),
        "start_timecode": one.clip.start_timecode and plain(one.clip.start_timecode),
        "media_start_frame": one.first_frame,
        "media_frames": float(one.source_frames),
        "verdict": one.take.verdict.value,
        "decision": one.take.decision.value,
        "deed": None if one.take.decided is None else one.take.decided.action.value,
        "reason": plain(sentence(one.take.reason)),
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
        "residual_s": one.residual_s,
        "note": plain(one.clip.note),
        "rivals": rivals_told(one.take),
    }
    return clip


def _song_track(song: Song, rate: Fraction, where: Where) -> "otio.schema.Track":
    track = otio.schema.Track("Song", kind=otio.schema.TrackKind.Audio)
    length = Fraction(song.duration_s) * rate
    track.append(
        otio.schema.Clip(
            plain(Path(song.media.path).name),
            media_reference=_reference(song.media, _range(0, length, rate), where),
            source_range=_range(0, length.numerator // length.denominator, rate),
        )
    )
    track.markers.extend(bar_markers(song, rate))
    return track


def _reference(
    media: MediaRef, available: "otio.opentime.TimeRange", where: Where
) -> "otio.schema.MediaReference":
    url, name = where(media), plain(Path(media.path).name)
    if url is None:
        return otio.schema.MissingReference(name=name, available_range=available)
    reference = otio.schema.ExternalReference(url, available)
    reference.name = name
    return reference


def _time(frames: int | Fraction, rate: Fraction) -> "otio.opentime.RationalTime":
    return otio.opentime.RationalTime(float(frames), float(rate))


def _range(start: int, length: int | Fraction, rate: Fraction) -> "otio.opentime.TimeRange":
    return otio.opentime.TimeRange(_time(start, rate), _time(length, rate))
