"""A sequence as an event list: the picture, and the song's sound.

In a string-out every piece is two events, the picture and the song under it. A first pass numbers its shots:
event 7 is shot 7; the song comes last, as one event. The song has no timecode of its own and counts from
00:00:00:00. What a list cannot say is in notes, as in the lists of takes (`app.handoff.event_list.edl_text`).
"""

from collections.abc import Iterator, Mapping
from pathlib import Path, PurePath

from app.handoff.event_list.edl_check import about_event, day_frames, read_events
from app.handoff.event_list.edl_text import (
    END,
    as_event,
    ascii_words,
    event_line,
    event_notes,
    head_lines,
    no_timecode,
    source_lines,
)
from app.handoff.outcome import HandoffError
from app.handoff.sequences.sequence import Item, Kind, Sequence, SongPiece
from app.handoff.source_ids import LENGTH
from app.model.document.song import Song
from app.model.on_song import SongView
from app.model.storage.plain_file import MOST_LOOKED_AT, read_plain
from app.model.timebase import TIMECODE_RATES, timecode

_SONG = "SONG"
_UNDER = "THAT OF THE SONG UNDER IT"


def ours(kind: Kind) -> str:
    """The third line of every list of that kind."""
    return f"* {kind.value.upper()} WRITTEN BY ANGLEBOOK"


def is_ours(path: Path, kind: Kind) -> bool:
    """Whether a file is an event list of a sequence of that kind."""
    try:
        return read_plain(path, MOST_LOOKED_AT).split(END.encode())[2] == ours(kind).encode()
    except (OSError, IndexError):
        return False


def to_text(song: Song, sequence: Sequence, ids: Mapping[str, str]) -> str:
    """The list; ``ids`` are the source ids by clip id. Raises HandoffError where its rate has no timecode."""
    if sequence.rate not in TIMECODE_RATES:
        raise HandoffError(no_timecode(sequence.rate))
    return END.join([*_lines(song, sequence, ids), ""])


def _lines(song: Song, sequence: Sequence, ids: Mapping[str, str]) -> Iterator[str]:
    drop, song_id = sequence.choices.drop_frame, _song_id(ids)
    yield from head_lines(sequence.title, ours(sequence.kind), sequence.rate, drop)
    yield f"* STARTS AT {sequence.choices.start}; OUTS ARE EXCLUSIVE"
    yield f"* SOURCE {song_id} IS {ascii_words(PurePath(song.media.path).name)}, THE SONG, FROM 00:00:00:00"
    yield from source_lines((one.segment.clip for one in sequence.items), ids)
    number = 0
    under = {} if sequence.whole_song else {piece.at: piece for piece in sequence.song}
    for one in sequence.items:
        number += 1
        segment = one.segment
        yield event_line(number, segment, ids[segment.clip.id], "V", sequence.start + one.at, drop)
        yield from _notes(one, sequence)
        if one.at in under:
            number += 1
            yield _song_event(number, song_id, under[one.at], sequence)
    for piece in sequence.song if sequence.whole_song else ():
        number += 1
        yield _song_event(number, song_id, piece, sequence)


def _notes(one: Item, sequence: Sequence) -> Iterator[str]:
    yield f"* {_read_out(one.name)}"
    if one.words:
        yield f"* {_read_out(one.words)}"
    yield from event_notes(one.segment, sequence.choices.drop_frame, _UNDER)


def _song_event(number: int, song_id: str, piece: SongPiece, sequence: Sequence) -> str:
    rate, drop = sequence.rate, sequence.choices.drop_frame
    source = [timecode(frame, rate, drop_frame=drop) for frame in (piece.first, piece.first + piece.length)]
    return as_event(number, song_id, "A", source, sequence.start + piece.at, piece.length, rate, drop)


def _song_id(ids: Mapping[str, str]) -> str:
    """The source id of the song: one that no clip has."""
    used, number, name = set(ids.values()), 1, _SONG
    while name in used:
        number += 1
        name = f"{_SONG}{number:02}"[:LENGTH]
    return name


def check(data: bytes, shoot: SongView, sequence: Sequence, ids: Mapping[str, str], name: str) -> None:
    """Compare a list with the shoot it was made from. Raises HandoffError."""
    try:
        complaints = list(_complaints(data.decode("ascii"), shoot, sequence, ids))
    except ValueError as error:
        complaints = [str(error)]
    if complaints:
        raise HandoffError(
            f"{name} was not written, because it does not match the shoot: {complaints[0]}. "
            "Please report this."
        )


def _complaints(text: str, shoot: SongView, sequence: Sequence, ids: Mapping[str, str]) -> Iterator[str]:
    events = read_events(text, sequence.rate, ours(sequence.kind))
    drop, song_id = sequence.choices.drop_frame, _song_id(ids)
    clips = {ids[clip.id]: clip for clip in shoot.clips}
    takes = {take.id: take for clip in shoot.clips for take in clip.takes}
    sound = [event for event in events if event.source == song_id]
    pictures = [event for event in events if event.source != song_id]
    if len(pictures) != len(sequence.items) or len(sound) != len(sequence.song):
        yield f"it holds {len(events)} events"
        return
    day = day_frames(sequence.choices.start, sequence.rate)
    end = 0
    for event, one in zip(pictures, sequence.items, strict=True):
        where = f"event {event.number}"
        clip = clips.get(event.source)
        at = (event.record_in - sequence.start) % day
        under = [
            piece.source_in + at - begins
            for piece in sound
            if 0 <= at - (begins := (piece.record_in - sequence.start) % day) < piece.record_length
        ]
        if clip is None or clip.id != one.segment.clip.id or event.channel != "V":
            yield f"{where} names another source"
        elif at < end:
            yield f"{where} overlaps the one before it"
        elif len(under) != 1:
            yield f"{where} has no song under it"
        else:
            take = takes[one.segment.take.id]
            yield from about_event(event, where, clip, take, sequence.rate, under[0], list_dropped=drop)
        end = at + event.record_length


def _read_out(words: str) -> str:
    """Words that somebody reads, as ASCII: the dash between two bars is a hyphen, not a number."""
    return ascii_words(words.replace("\N{EN DASH}", "-"))
