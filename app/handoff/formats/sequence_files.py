"""Writes a sequence as a timeline and as an event list, each read back and compared with the shoot."""

from collections.abc import Iterator
from pathlib import Path

import opentimelineio as otio

from app.handoff.event_list import sequence_list
from app.handoff.event_list.edl_text import no_timecode
from app.handoff.formats.sequence_names import LIST, TIMELINE
from app.handoff.layout import DRIFT_MATTERS_FRAMES, clip_names, take_name
from app.handoff.notes import media_lines
from app.handoff.outcome import HandoffError, HandoffReport, Planned, plain
from app.handoff.sequences.sequence import Sequence
from app.handoff.source_ids import source_ids
from app.handoff.timeline.otio_file import to_text
from app.handoff.timeline.sequence_check import check
from app.handoff.timeline.sequence_timeline import to_timeline
from app.model.document.song import Song
from app.model.guarding import guard_of
from app.model.on_song import SongView
from app.model.storage.files import write_whole
from app.model.timebase import TIMECODE_RATES, rate_text


def plan(shoot: SongView, song: Song, sequence: Sequence, stem: str) -> Iterator[Planned]:
    """What `write` would write under that name."""
    lines = tuple(_lines(shoot, sequence))
    yield Planned(f"{stem}{TIMELINE}", len(to_text(to_timeline(shoot, song, sequence))), lines)
    if sequence.rate in TIMECODE_RATES:
        text = sequence_list.to_text(song, sequence, source_ids(shoot))
        yield Planned(f"{stem}{LIST}", len(text), tuple(_list_lines(shoot, sequence)))


def write(
    shoot: SongView, song: Song, sequence: Sequence, folder: Path, stem: str
) -> Iterator[HandoffReport]:
    """Write the files into a folder. Raises HandoffError."""
    guard, ids = guard_of(shoot), source_ids(shoot)
    takes = len({one.segment.take.id for one in sequence.items})
    worst_s = max(abs(one.segment.sub_frame_offset_s) for one in sequence.items)

    def timeline_reads_back(written: Path) -> None:
        try:
            again = otio.adapters.read_from_file(str(written), "otio_json")
        except (otio.exceptions.OTIOError, ValueError) as error:
            raise HandoffError(f"{stem}{TIMELINE} does not read back ({error}).") from error
        check(again, shoot, song, sequence, f"{stem}{TIMELINE}")

    def list_reads_back(written: Path) -> None:
        sequence_list.check(written.read_bytes(), shoot, sequence, ids, f"{stem}{LIST}")

    files = [(TIMELINE, to_text(to_timeline(shoot, song, sequence)), timeline_reads_back, _lines)]
    if sequence.rate in TIMECODE_RATES:
        text = sequence_list.to_text(song, sequence, ids).encode("ascii")
        files.append((LIST, text, list_reads_back, _list_lines))
    for suffix, data, read_back, lines in files:
        path = folder / f"{stem}{suffix}"
        try:
            write_whole(path, data, guard, read_back)
        except OSError as error:
            why = error.strerror or error
            raise HandoffError(f"{path.name} could not be written: {why}. Choose another folder.") from error
        yield HandoffReport(
            path=path,
            lines=tuple(lines(shoot, sequence)),
            takes=takes,
            worst_sub_frame_offset_s=worst_s,
        )


def _lines(shoot: SongView, sequence: Sequence) -> Iterator[str]:
    yield from sequence.lines
    if sequence.rate not in TIMECODE_RATES:
        yield no_timecode(sequence.rate)
    yield from _take_lines(shoot, sequence, warps=True)
    yield from media_lines(shoot)


def _list_lines(shoot: SongView, sequence: Sequence) -> Iterator[str]:
    yield sequence.lines[0]
    if sequence.whole_song:
        yield "Events are numbered as the shots are; the song is the last one."
    else:
        yield "Two events for each piece: the picture, and the song under it."
    yield "Reasons, sub-frame offset, drift and speed are in notes below each event."
    yield from _take_lines(shoot, sequence, warps=False)


def _take_lines(shoot: SongView, sequence: Sequence, *, warps: bool) -> Iterator[str]:
    """What is to be known of midnight, speeds, rates, drift, and how far off pictures are."""
    if sequence.over_midnight:
        yield (
            f"Starting at {sequence.choices.start}, it runs past midnight, where timecode starts again from "
            "zero. Not every program copes with that. Choose another start, such as 01:00:00:00."
        )
    pieces = [one.segment for one in sequence.items]
    names = clip_names(shoot.clips)
    for one in {piece.take.id: piece for piece in pieces}.values():
        name = plain(take_name(one.clip, one.take, names[one.clip.id]))
        if one.nominal != 1:
            how = "through a time warp" if warps else "which the list can only say in a note"
            yield f"{name}: plays at speed {rate_text(one.nominal)}, {how}."
        if one.clip.variable_frame_rate:
            yield f"{name}: variable frame rate; positions assume its nominal rate and may be frames off."
    worst = max(pieces, key=lambda one: abs(one.sub_frame_offset_s))
    worst_s = abs(worst.sub_frame_offset_s)
    frames = worst_s * float(sequence.rate)
    yield f"Largest sub-frame offset: {worst_s * 1000:.1f} ms ({frames:.2f} frame); noted with each piece."
    late = max(pieces, key=lambda one: abs(one.late_frames))
    if abs(late.late_frames) >= DRIFT_MATTERS_FRAMES:
        name = plain(take_name(late.clip, late.take, names[late.clip.id]))
        yield f"{name}: drifts {abs(late.late_frames):.2f} frame by the end of a piece; not corrected."
