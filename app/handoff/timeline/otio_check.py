"""Compares a timeline, as the OpenTimelineIO library reads it from disk, with the shoot it was made from.

It works from the placements of the shoot (song time of a moment of the clip), not from the planned frames.
"""

import math
from collections.abc import Iterable
from itertools import pairwise
from typing import Any

from app.handoff.layout import LEFT_OUT_DOUBTFUL, Layout
from app.handoff.outcome import HandoffError
from app.handoff.timeline.otio_timeline import Where, in_place, match_noted
from app.model.coverage.coverage import coverage
from app.model.coverage.needs import need_results
from app.model.coverage.ranges import runs
from app.model.document.marks import Mark, MarkState
from app.model.document.verdict import Verdict, verdict_word
from app.model.on_song import Clip, SongView, Take
from app.model.song_map.bar_spans import bar_spans, song_sections
from app.model.speeds import LARGEST_DRIFT_PPM

_SAME_S = 1e-9


def check(timeline: Any, shoot: SongView, layout: Layout, name: str, where: Where = in_place) -> None:
    """Compare every take's place, range, state and file, and the number of things. Raises HandoffError."""
    for complaint in _complaints(timeline, shoot, layout, where):
        raise HandoffError(
            f"{name} was not written, because it does not match the shoot: {complaint}. Please report this."
        )


def _complaints(timeline: Any, shoot: SongView, layout: Layout, where: Where) -> Iterable[str]:
    frame_s = 1 / float(layout.rate)
    if timeline.global_start_time.value != layout.start:
        yield f"it does not start at {layout.choices.start}"
    takes = {take.id: (clip, take) for clip in shoot.clips for take in clip.takes}
    found: dict[str, list[Any]] = {}
    songs = 0
    for track in timeline.tracks:
        for item, start_s in items_of(track):
            own = item.metadata.get("anglebook")
            if own is None:
                songs += 1
                if start_s != 0 or item.media_reference.available_range.start_time.value != 0:
                    yield "the song does not start at its beginning"
                continue
            if own["take_id"] not in takes:
                yield f"it holds {item.name}, which the shoot does not"
                continue
            found.setdefault(own["take_id"], []).append(item)
            clip, take = takes[own["take_id"]]
            yield from _about_item(item, clip, take, start_s, frame_s)
            if getattr(item.media_reference, "target_url", None) != where(clip.media):
                yield f"{item.name} names another file"
            if not _same(own["match"], match_noted(take)):
                yield f"{item.name} has another match"
            sure = take.verdict is Verdict.PLACED
            if item.enabled is not sure or track.enabled is not sure:
                yield f"{item.name} is {verdict_word(take.verdict)}, but its track says otherwise"
    if songs != 1:
        yield "the song does not appear exactly once"
    absent = [take.id for _, take, _ in layout.left_out]
    if sorted([*found, *absent]) != sorted(takes):
        yield f"it holds {len(found)} takes instead of {len(takes) - len(absent)}"
    for take_id, items in found.items():
        yield from _about_take(items, *takes[take_id], frame_s)
    for clip, take, why in layout.left_out:
        usable_s = min(take.song_end_s, take.song_time(clip.duration_s)) - max(0.0, take.song_start_s)
        short = usable_s <= 2 * frame_s + 2 * take.speed / float(clip.frame_rate or layout.rate)
        if not short and (why != LEFT_OUT_DOUBTFUL or take.verdict is not Verdict.DOUBTFUL):
            yield f"{take.id} was left out although it fits"
    yield from _about_markers(timeline, shoot)
    yield from _about_marks(found, takes, frame_s)


def _same(noted: Any, meant: object) -> bool:
    """Whether metadata are what was meant; the library may read a number back one bit off."""
    if isinstance(meant, dict):
        return (
            noted is not None and set(noted) == set(meant) and all(_same(noted[k], meant[k]) for k in meant)
        )
    if isinstance(meant, list):
        return len(noted) == len(meant) and all(map(_same, noted, meant))
    if isinstance(meant, float):
        return math.isclose(noted, meant, rel_tol=1e-12)
    return bool(noted == meant)


def items_of(track: Any) -> Iterable[tuple[Any, float]]:
    """The clips of a track and the moment each begins at, seconds; asking each for it takes ever longer."""
    spans = track.range_of_all_children().items()
    for item, span in sorted(spans, key=lambda found: found[1].start_time):
        if item.schema_name() == "Clip":
            yield item, span.start_time.to_seconds()


def _about_markers(timeline: Any, shoot: SongView) -> Iterable[str]:
    if shoot.song is None:
        return
    markers = len(song_sections(shoot.song)) + sum(len(part.thin) for part in coverage(shoot))
    markers += sum(len(runs(result.missing_bars)) for result in need_results(shoot))
    bars = len(bar_spans(shoot.song)) if shoot.song.map.bars_s else 0
    if len(timeline.tracks.markers) != markers:
        yield f"it holds {len(timeline.tracks.markers)} markers instead of {markers}"
    if len(timeline.tracks[-1].markers) != bars:
        yield f"it holds {len(timeline.tracks[-1].markers)} bars instead of {bars}"


def _about_marks(
    found: dict[str, list[Any]], takes: dict[str, tuple[Clip, Take]], frame_s: float
) -> Iterable[str]:
    """Every fault and keeper that somebody set is marked where its take shows it, to a frame."""
    for take_id, items in found.items():
        clip, take = takes[take_id]
        for mark in clip.marks:
            clip_s = min(mark.clip_end_s, take.clip_end_s) - max(mark.clip_start_s, take.clip_start_s)
            if mark.state is not MarkState.SET or clip_s <= 2 * frame_s:
                continue
            of_it = [
                marker
                for item in items
                for marker in item.markers
                if marker.metadata["anglebook"]["mark_id"] == mark.id
            ]
            marked_s = sum(marker.marked_range.duration.to_seconds() for marker in of_it)
            shown_s = _shown_s(items, mark) * take.speed
            if abs(marked_s - shown_s) > (2 * len(items) + 2) * frame_s * max(1.0, take.speed):
                yield f"{clip.media.path} is marked {marked_s:.3f} s long instead of {shown_s:.3f} s"


def _shown_s(items: list[Any], mark: Mark) -> float:
    """How much of a mark the pieces show, seconds of the clip."""
    used = [used_s(item) for item in items]
    return sum(max(0.0, min(end, mark.clip_end_s) - max(start, mark.clip_start_s)) for start, end in used)


def _about_item(item: Any, clip: Clip, take: Take, start_s: float, frame_s: float) -> Iterable[str]:
    own = item.metadata["anglebook"]
    offset_s = own["remainder_s"]
    first_s, last_s = used_s(item)
    length_s = item.source_range.duration.to_seconds()
    clip_frame_s = 1 / item.media_reference.available_range.duration.rate
    # Start timecodes put the ranges up to a day along, where a float holds a time to about 1e-11 s.
    if abs(start_s + offset_s - take.song_time(first_s)) > _SAME_S:
        yield f"{item.name} is {start_s + offset_s - take.song_time(first_s):.9f} s off"
    nearest_s = frame_s / 2 if own["piece"] == 1 else max(frame_s, clip_frame_s * take.speed) / 2
    if abs(offset_s) > nearest_s + _SAME_S:
        yield f"{item.name} is more than half a frame off"
    allowed_s = nearest_s + length_s * LARGEST_DRIFT_PPM / 1e6 + _SAME_S
    end_off_s = start_s + length_s - take.song_time(last_s)
    if abs(end_off_s) > allowed_s:
        yield f"{item.name} ends {end_off_s:.3f} s off"
    if abs(max(abs(offset_s), abs(end_off_s)) - own["residual_s"]) > _SAME_S:
        yield f"{item.name} is {abs(end_off_s):.6f} s off and says {own['residual_s']:.6f} s"
    if first_s < -_SAME_S or last_s > item.media_reference.available_range.duration.to_seconds() + 1e-6:
        yield f"{item.name} uses more than its file holds"
    if first_s < take.clip_start_s - clip_frame_s or last_s > take.clip_end_s + clip_frame_s:
        yield f"{item.name} uses more than its take"
    if abs(item.media_reference.available_range.duration.to_seconds() - clip.duration_s) > clip_frame_s:
        yield f"{item.name} gives the wrong length of its file"


def _about_take(items: list[Any], clip: Clip, take: Take, frame_s: float) -> Iterable[str]:
    """All of the take is there, in pieces that follow one another."""
    clip_frame_s = 1 / items[0].media_reference.available_range.duration.rate
    own = [item.metadata["anglebook"] for item in items]
    if [one["piece"] for one in own] != list(range(1, own[0]["pieces"] + 1)):
        yield f"{items[0].name} lacks some of its pieces"
    usable_s = max(0.0, take.clip_start_s, take.clip_time(0.0)), min(take.clip_end_s, clip.duration_s)
    spare_s = 2 * clip_frame_s + frame_s / take.speed
    if used_s(items[0])[0] > usable_s[0] + spare_s or used_s(items[-1])[1] < usable_s[1] - spare_s:
        yield f"{items[0].name} leaves out a part of its take"
    for before, after in pairwise(items):
        if abs(used_s(after)[0] - used_s(before)[1]) > spare_s:
            yield f"{before.name} leaves out a part of its take between pieces"


def used_s(item: Any) -> tuple[float, float]:
    """First and last moment of the clip that an item uses, seconds from the clip's first frame."""
    scalars = [effect.time_scalar for effect in item.effects]
    begins = item.media_reference.available_range.start_time.to_seconds()
    first_s = item.source_range.start_time.to_seconds() - begins
    return first_s, first_s + item.source_range.duration.to_seconds() * (scalars[0] if scalars else 1.0)
