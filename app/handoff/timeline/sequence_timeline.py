"""A sequence as OpenTimelineIO objects.

Pieces of takes are written as takes are (`app.handoff.timeline.otio_timeline`): ranges at the clip's own
rate, speeds as linear time warps, the sub-frame offset in metadata, here against the song under each. A
marker on each clip says what it is. Tracks below the picture track are switched off, but the clips on them
are not: one that is moved up is seen at once.
"""

from collections.abc import Iterable

import opentimelineio as otio

from app.handoff.outcome import plain
from app.handoff.sequences.sequence import Item, Sequence
from app.handoff.source_ids import source_ids
from app.handoff.timeline.otio_markers import bar_markers, spanned
from app.handoff.timeline.otio_timeline import Where, in_place, song_clip, take_clip, to_time
from app.model.document.song import Song
from app.model.on_song import SongView
from app.model.storage.own_bundle import KEY
from app.model.timebase import rate_text

_COLOURS = {
    "section": otio.schema.MarkerColor.BLUE,
    "unsatisfied": otio.schema.MarkerColor.ORANGE,
}


def to_timeline(
    shoot: SongView, song: Song, sequence: Sequence, where: Where = in_place
) -> "otio.schema.Timeline":
    """The sequence as the library's timeline; writes nothing."""
    rate, ids = sequence.rate, source_ids(shoot)
    timeline = otio.schema.Timeline(plain(sequence.title), global_start_time=to_time(sequence.start, rate))
    timeline.metadata[KEY] = {
        "sequence_version": 1,
        "sequence": sequence.kind.value,
        "rate": rate_text(rate),
        "start_timecode": sequence.choices.start,
        "song": plain(song.media.path),
        "song_digest": song.media.digest,
        **sequence.told,
    }
    video, audio = otio.schema.TrackKind.Video, otio.schema.TrackKind.Audio
    for row in sequence.others:
        off = otio.schema.Track(plain(row.name), kind=video)
        off.enabled = False
        _fill(off, row.items, sequence, ids, where)
        timeline.tracks.append(off)
    picture = otio.schema.Track(sequence.kind.value.capitalize(), kind=video)
    _fill(picture, sequence.items, sequence, ids, where)
    sound = otio.schema.Track("Song", kind=audio)
    for piece in sequence.song:
        sound.append(song_clip(song, rate, piece.first, piece.length, where))
    if sequence.whole_song:
        sound.markers.extend(bar_markers(song, rate))
    timeline.tracks.extend([picture, sound])
    for note in sequence.notes:
        colour = _COLOURS[note.kind]
        marker = spanned(note.name, note.words, note.at, note.at + note.length, rate, colour)
        marker.metadata[KEY] = {"kind": note.kind}
        timeline.tracks.markers.append(marker)
    return timeline


def _fill(
    track: "otio.schema.Track", items: Iterable[Item], sequence: Sequence, ids: dict[str, str], where: Where
) -> None:
    at = 0
    for one in items:
        if one.at > at:
            track.append(otio.schema.Gap(duration=to_time(one.at - at, sequence.rate)))
        clip = take_clip(one.segment, sequence.rate, ids[one.segment.clip.id], where)
        clip.metadata[KEY][sequence.kind.value.replace(" ", "_").replace("-", "_")] = dict(one.told)
        if one.name:
            span = clip.source_range
            first, end = span.start_time.value, span.end_time_exclusive().value
            colour = otio.schema.MarkerColor.CYAN
            marker = spanned(one.name, one.words, first, end, one.segment.rate, colour)
            marker.metadata[KEY] = {"kind": sequence.kind.value}
            clip.markers.insert(0, marker)
        track.append(clip)
        at = one.end
