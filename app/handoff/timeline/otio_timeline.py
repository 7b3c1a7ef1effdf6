"""The shoot as OpenTimelineIO objects: the song, a track for every angle or take, every take in its place.

A take's source range is at the clip's own rate. It starts with the first frame used, counted from the clip's
start timecode. Where a take runs at another speed than the song (mixed-up rates, playback sped up for slow
motion), a linear time warp carries the ratio. The source range is then as long as the take is on the
timeline: in this format a clip's trimmed range is its length in the track, and a warp does not change that
(OpenTimelineIO documentation, "Time Ranges", on ``Clip.trimmed_range()``). The media used is the source range
times the warp's scalar; ``media_frames`` gives it in frames of the clip.

No warp corrects clock drift. Drift and the sub-frame offset (``remainder_s``) are in
``metadata["anglebook"]`` of every clip. Doubtful takes are on tracks of their own that are switched off.
"""

from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

import opentimelineio as otio

from app.handoff.layout import Layout, Segment, Track, clip_frames, song_frames, start_frame, take_name
from app.handoff.outcome import plain
from app.handoff.report import rivals_told
from app.handoff.source_ids import source_ids
from app.handoff.timeline.otio_markers import bar_markers, mark_markers, shoot_markers
from app.model.document.media_ref import MediaRef
from app.model.document.song import Song
from app.model.document.verdict import Verdict
from app.model.on_song import SongView, Take
from app.model.reasons import sentence
from app.model.storage.own_bundle import KEY
from app.model.timebase import rate_text

Where = Callable[[MediaRef], str | None]
"""The URL a timeline gives for a file; None for a file that is missing."""


def in_place(media: MediaRef) -> str:
    """The URL of the file where it is."""
    return Path(media.path).absolute().as_uri()


def to_timeline(
    shoot: SongView, song: Song, layout: Layout, where: Where = in_place
) -> "otio.schema.Timeline":
    """The timeline as the library's object; writes nothing."""
    rate = layout.rate
    timeline = otio.schema.Timeline(
        plain(shoot.name) or "Shoot", global_start_time=to_time(layout.start, rate)
    )
    timeline.metadata[KEY] = {
        "handoff_version": 1,
        "rate": rate_text(rate),
        "start_timecode": layout.choices.start,
        "song": plain(song.media.path),
        "song_digest": song.media.digest,
    }
    ids = source_ids(shoot)
    for track in layout.tracks:
        timeline.tracks.append(_take_track(track, rate, ids, where))
    timeline.tracks.append(_song_track(song, rate, where))
    timeline.tracks.markers.extend(shoot_markers(shoot, song, rate))
    return timeline


def _take_track(track: Track, rate: Fraction, ids: dict[str, str], where: Where) -> "otio.schema.Track":
    kind = otio.schema.TrackKind.Audio if track.sound else otio.schema.TrackKind.Video
    made = otio.schema.Track(plain(track.name), kind=kind)
    made.enabled = not track.doubtful
    made.metadata[KEY] = {"angle": plain(track.angle)}
    at = 0
    for one in track.segments:
        if one.position > at:
            made.append(otio.schema.Gap(duration=to_time(one.position - at, rate)))
        made.append(take_clip(one, rate, ids[one.clip.id], where))
        at = one.end
    return made


def take_clip(one: Segment, rate: Fraction, source_id: str, where: Where) -> "otio.schema.Clip":
    """A take, or a piece of one, as a clip of a track whose rate is ``rate``."""
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
    clip.markers.extend(mark_markers(one))
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
        "remainder_s": one.sub_frame_offset_s,
        "remainder_frames": one.sub_frame_offset_s * float(rate),
        "residual_s": one.residual_s,
        "note": plain(one.clip.note),
        "match": match_noted(one.take),
        "rivals": rivals_told(one.take),
    }
    return clip


def match_noted(take: Take) -> dict[str, object] | None:
    """The ASC CDL that brings a take near the reference take, in the terms of that standard; None without."""
    match = take.match
    if match is None:
        return None
    return {
        "slope": list(match.slope),
        "offset": list(match.offset),
        "power": list(match.power),
        "saturation": match.saturation,
        "stops": match.stops,
        "warm": match.warm,
        "green": match.green,
        "doubts": list(match.doubts),
    }


def _song_track(song: Song, rate: Fraction, where: Where) -> "otio.schema.Track":
    track = otio.schema.Track("Song", kind=otio.schema.TrackKind.Audio)
    track.append(song_clip(song, rate, 0, song_frames(song, rate), where))
    track.markers.extend(bar_markers(song, rate))
    return track


def song_clip(song: Song, rate: Fraction, first: int, length: int, where: Where) -> "otio.schema.Clip":
    """The song's sound from one of its frames on, so many frames long."""
    available = _range(0, Fraction(song.duration_s) * rate, rate)
    return otio.schema.Clip(
        plain(Path(song.media.path).name),
        media_reference=_reference(song.media, available, where),
        source_range=_range(first, length, rate),
    )


def _reference(
    media: MediaRef, available: "otio.opentime.TimeRange", where: Where
) -> "otio.schema.MediaReference":
    url, name = where(media), plain(Path(media.path).name)
    if url is None:
        return otio.schema.MissingReference(name=name, available_range=available)
    reference = otio.schema.ExternalReference(url, available)
    reference.name = name
    return reference


def to_time(frames: int | Fraction, rate: Fraction) -> "otio.opentime.RationalTime":
    """So many frames of a rate."""
    return otio.opentime.RationalTime(float(frames), float(rate))


def _range(start: int, length: int | Fraction, rate: Fraction) -> "otio.opentime.TimeRange":
    return otio.opentime.TimeRange(to_time(start, rate), to_time(length, rate))
