"""Compares a sequence, as the OpenTimelineIO library reads it from disk, with the shoot it was made from.

It works from placements, marks and what is heard below each picture, not from planned frames.
"""

from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from app.handoff.layout import song_frames
from app.handoff.outcome import HandoffError
from app.handoff.sequences.fitting import with_edges
from app.handoff.sequences.sequence import Sequence
from app.handoff.timeline.otio_check import items_of, used_s
from app.handoff.timeline.otio_timeline import in_place
from app.model.coverage.usable import UsableTake, usable_takes
from app.model.document.song import Song
from app.model.on_song import SongView
from app.model.speeds import LARGEST_DRIFT_PPM
from app.model.storage.own_bundle import KEY

_SAME_S = 1e-9


def check(timeline: Any, shoot: SongView, song: Song, sequence: Sequence, name: str) -> None:
    """Compare the place, range and file of every piece. Raises HandoffError."""
    for complaint in _complaints(timeline, shoot, song, sequence):
        raise HandoffError(
            f"{name} was not written, because it does not match the shoot: {complaint}. Please report this."
        )


def _complaints(timeline: Any, shoot: SongView, song: Song, sequence: Sequence) -> Iterable[str]:
    if timeline.global_start_time.value != sequence.start:
        yield f"it does not start at {sequence.choices.start}"
    *others, picture, sound = timeline.tracks
    under = list(items_of(sound))
    if sequence.whole_song and not _is_whole(under, song, sequence):
        yield "it does not play the whole song"
    for item, _ in under:
        if item.media_reference.target_url != in_place(song.media):
            yield "another file than the song is heard"
    bare = replace(shoot, plan=replace(shoot.plan, handle_frames=0))
    takes = {one.take.id: one for one in usable_takes(bare) if not one.doubtful}
    for track in (*others, picture):
        if track.enabled is not (track is picture):
            yield f"the track {track.name} is switched the wrong way"
        for item, start_s in items_of(track):
            own = takes.get(item.metadata[KEY]["take_id"])
            if own is None:
                yield f"{item.name} is in doubt, or not of the shoot"
            elif not item.enabled:
                yield f"{item.name} is switched off"
            else:
                yield from _about_item(
                    item, own, _song_s(under, start_s), 1 / float(sequence.rate), song.duration_s
                )
    if len(list(items_of(picture))) != len(sequence.items):
        yield f"it holds {len(list(items_of(picture)))} pieces instead of {len(sequence.items)}"
    if len(timeline.tracks.markers) != len(sequence.notes):
        yield f"it holds {len(timeline.tracks.markers)} markers instead of {len(sequence.notes)}"


def _is_whole(under: list[tuple[Any, float]], song: Song, sequence: Sequence) -> bool:
    if len(under) != 1 or under[0][1] != 0:
        return False
    span = under[0][0].source_range
    return bool(span.start_time.value == 0 and span.duration.value == song_frames(song, sequence.rate))


def _song_s(under: list[tuple[Any, float]], at_s: float) -> float | None:
    """The moment of the song that is heard at a moment of the timeline; None where nothing is."""
    for item, start_s in under:
        if start_s - _SAME_S <= at_s < start_s + item.source_range.duration.to_seconds() - _SAME_S:
            return float(item.source_range.start_time.to_seconds()) + at_s - start_s
    return None


def _about_item(
    item: Any, own: UsableTake, song_s: float | None, frame_s: float, song_end_s: float
) -> Iterable[str]:
    if song_s is None:
        yield f"nothing is heard under {item.name}"
        return
    told, take = item.metadata[KEY], own.take
    first_s, last_s = used_s(item)
    length_s = item.source_range.duration.to_seconds()
    clip_frame_s = 1 / item.media_reference.available_range.duration.rate
    if abs(song_s + told["remainder_s"] - take.song_time(first_s)) > _SAME_S:
        yield f"{item.name} is {song_s + told['remainder_s'] - take.song_time(first_s):.9f} s off"
    most_s = frame_s / 2 + 2 * clip_frame_s * take.speed
    if abs(told["remainder_s"]) > most_s + _SAME_S:
        yield f"{item.name} is more than two frames off"
    if abs(song_s + length_s - take.song_time(last_s)) > most_s + length_s * LARGEST_DRIFT_PPM / 1e6:
        yield f"{item.name} ends {song_s + length_s - take.song_time(last_s):.3f} s off"
    spare_s = 2e-3 * clip_frame_s
    inside = (
        take.clip_time(start_s) - spare_s <= first_s and last_s <= take.clip_time(end_s) + spare_s
        for start_s, end_s in (with_edges(own.clip, take, span, song_end_s) for span in own.usable)
    )
    if not any(inside):
        yield f"{item.name} shows a fault, or more than its take"
    if item.media_reference.target_url != in_place(own.clip.media):
        yield f"{item.name} names another file"
