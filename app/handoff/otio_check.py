"""A timeline, as read from disk by the OpenTimelineIO library, against the shoot it was made from.

Works from the shoot's own lines (song time of a moment of the clip), not from the frames that were planned.
"""

from collections.abc import Iterable
from typing import Any

from app.handoff.laying import Laying
from app.handoff.outcome import HandoffError
from app.model.coverage import coverage, song_sections
from app.model.decisions import find_take
from app.model.shoot import Clip, Shoot, Take, Verdict
from app.model.speeds import LARGEST_DRIFT_PPM

_SAME_S = 1e-9


def check(timeline: Any, shoot: Shoot, laying: Laying, name: str) -> None:
    """Compare every take's place, range and state, and the number of things. Raises HandoffError."""
    for complaint in _complaints(timeline, shoot, laying):
        raise HandoffError(
            f"{name} was not written, because it does not say what the shoot says: {complaint}. "
            "Please report this."
        )


def _complaints(timeline: Any, shoot: Shoot, laying: Laying) -> Iterable[str]:
    frame_s = 1 / float(laying.rate)
    if timeline.global_start_time.value != 3600 * round(laying.rate):
        yield "it does not start at 01:00:00:00"
    found: list[str] = []
    songs = 0
    for track in timeline.tracks:
        for item in track.find_clips():
            start_s = item.range_in_parent().start_time.to_seconds()
            told = item.metadata.get("anglebook")
            if told is None:
                songs += 1
                if start_s != 0 or item.media_reference.available_range.start_time.value != 0:
                    yield "the song does not start at its beginning"
                continue
            found.append(told["take_id"])
            clip, take = find_take(shoot, told["take_id"])
            yield from _about_take(item, clip, take, start_s, told["remainder_s"], frame_s)
            sure = take.verdict is Verdict.PLACED
            if item.enabled is not sure or track.enabled is not sure:
                yield f"{item.name} is {take.verdict.value}, but its track says otherwise"
    if songs != 1:
        yield "the song is not there once"
    expected = [take.id for clip in shoot.clips for take in clip.takes]
    absent = [take.id for _, take, _ in laying.left_out]
    if sorted([*found, *absent]) != sorted(expected):
        yield f"it holds {len(found)} takes instead of {len(expected) - len(absent)}"
    for clip, take, _ in laying.left_out:
        usable_s = min(take.song_end_s, take.song_time(clip.duration_s)) - max(0.0, take.song_start_s)
        if usable_s > 2 * frame_s + 2 * take.speed / float(clip.frame_rate or laying.rate):
            yield f"{take.id} was left out although it could be laid"
    if shoot.song is not None:
        markers = len(song_sections(shoot.song)) + sum(len(part.thin) for part in coverage(shoot))
        if len(timeline.tracks.markers) != markers:
            yield f"it holds {len(timeline.tracks.markers)} markers instead of {markers}"


def _about_take(
    item: Any, clip: Clip, take: Take, start_s: float, remainder_s: float, frame_s: float
) -> Iterable[str]:
    available, used = item.media_reference.available_range, item.source_range
    scalars = [effect.time_scalar for effect in item.effects]
    scalar = scalars[0] if scalars else 1.0
    first_s = used.start_time.to_seconds() - available.start_time.to_seconds()
    length_s = used.duration.to_seconds()
    last_s = first_s + length_s * scalar
    # Start timecodes put the ranges up to a day along, where a float holds a time to about 1e-11 s.
    if abs(start_s + remainder_s - take.song_time(first_s)) > _SAME_S:
        yield f"{item.name} lies {start_s + remainder_s - take.song_time(first_s):.9f} s from its place"
    if abs(remainder_s) > frame_s / 2 + _SAME_S:
        yield f"{item.name} lies more than half a frame from its place"
    allowed_s = frame_s / 2 + length_s * LARGEST_DRIFT_PPM / 1e6 + _SAME_S
    if abs(start_s + length_s - take.song_time(last_s)) > allowed_s:
        yield f"{item.name} ends {start_s + length_s - take.song_time(last_s):.3f} s from its place"
    if first_s < -_SAME_S or last_s > available.duration.to_seconds() + 1e-6:
        yield f"{item.name} uses more than its file holds"
    clip_frame_s = 1 / available.duration.rate
    if first_s < take.clip_start_s - clip_frame_s or last_s > take.clip_end_s + clip_frame_s:
        yield f"{item.name} uses more than its take"
    usable_s = max(0.0, take.clip_start_s, take.clip_time(0.0)), min(take.clip_end_s, clip.duration_s)
    spare_s = 2 * clip_frame_s + frame_s / take.speed
    if first_s > usable_s[0] + spare_s or last_s < usable_s[1] - spare_s:
        yield f"{item.name} leaves out a part of its take"
    if abs(available.duration.to_seconds() - clip.duration_s) > clip_frame_s:
        yield f"{item.name} tells another length of its file"
