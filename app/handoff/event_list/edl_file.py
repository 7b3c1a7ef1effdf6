"""The shoot as event lists (``.edl``), one per track of an angle, and a table with the full names of their
sources."""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from fractions import Fraction
from pathlib import Path, PurePath

from app.handoff.choices import DEFAULT, Choices, Scheme
from app.handoff.event_list.edl_check import check
from app.handoff.event_list.edl_text import END, OURS, to_text
from app.handoff.layout import Layout, Track, clip_names, layout_on_song
from app.handoff.names import FreeNames, safe_name
from app.handoff.notes import clip_lines, media_lines, midnight_lines, take_lines, worst_sub_frame_offset_s
from app.handoff.outcome import HandoffError, HandoffReport, Planned, count, plain
from app.handoff.source_ids import source_ids
from app.handoff.tables import table_text
from app.handoff.tables.table_text import Table
from app.model.guarding import guard_of
from app.model.on_song import SongView
from app.model.storage.files import write_whole
from app.model.storage.plain_file import MOST_LOOKED_AT, read_plain
from app.model.timebase import rate_text, rate_words

SUFFIX = ".edl"
SOURCES = ("source", "file", "path", "angle", "frame_rate", "start_timecode")
_LONGEST_BYTES = 90
"""Of the shoot's name and of the track's each, so that neither is lost."""


def write(shoot: SongView, folder: Path, name: str, choices: Choices = DEFAULT) -> Iterator[HandoffReport]:
    """Write the lists and the table of sources, each read back and compared. Raises HandoffError."""
    layout = _layout(shoot, choices)
    ids, names, guard = source_ids(shoot), clip_names(shoot.clips), guard_of(shoot)
    for track, file_name in _named(layout, name):
        path = folder / file_name

        def read_back(written: Path, track: Track = track, file_name: str = file_name) -> None:
            check(written.read_bytes(), shoot, layout, track, ids, file_name)

        try:
            write_whole(path, to_text(shoot, layout, track, ids).encode("ascii"), guard, read_back)
        except OSError as error:
            why = error.strerror or error
            raise HandoffError(f"{path.name} could not be written: {why}. Choose another folder.") from error
        worst_s = max(abs(one.sub_frame_offset_s) for one in track.segments)
        yield HandoffReport(
            path=path,
            lines=tuple(_track_lines(names, track, layout)),
            takes=_takes(track),
            worst_sub_frame_offset_s=worst_s,
        )
    table = folder / _sources_name(name, choices)
    table_text.write(table, sources(shoot, layout), choices.form, guard)
    lines = ("Full name and path of every source in the lists.", *_shoot_lines(shoot, layout))
    yield HandoffReport(
        path=table,
        lines=lines,
        takes=len(layout.residuals),
        worst_sub_frame_offset_s=worst_sub_frame_offset_s(layout),
    )


def plan(shoot: SongView, name: str, choices: Choices = DEFAULT) -> tuple[Planned, ...]:
    """What `write` would write. Raises HandoffError."""
    layout = _layout(shoot, choices)
    ids, names = source_ids(shoot), clip_names(shoot.clips)
    planned = [
        Planned(file_name, len(to_text(shoot, layout, track, ids)), tuple(_track_lines(names, track, layout)))
        for track, file_name in _named(layout, name)
    ]
    size = len(table_text.to_text(sources(shoot, layout), choices.form))
    return (*planned, Planned(_sources_name(name, choices), size, tuple(_shoot_lines(shoot, layout))))


def sources(shoot: SongView, layout: Layout) -> Table:
    """Source id, file name, whole path, angle, rate and start timecode of every clip in the lists."""
    ids = source_ids(shoot)
    angle = {one.clip.id: track.angle for track in layout.tracks for one in track.segments}
    rows = [
        {
            "source": ids[clip.id],
            "file": PurePath(clip.media.path).name,
            "path": clip.media.path,
            "angle": angle[clip.id],
            "frame_rate": rate_text(clip.frame_rate) if clip.frame_rate else "",
            "start_timecode": clip.start_timecode or "",
        }
        for clip in shoot.clips
        if clip.id in angle
    ]
    return Table(SOURCES, tuple(rows))


def is_ours(path: Path) -> bool:
    """Whether a file is an event list of ours."""
    try:
        return read_plain(path, MOST_LOOKED_AT).split(END.encode())[2] == OURS.encode()
    except (OSError, IndexError):
        return False


def _layout(shoot: SongView, choices: Choices) -> Layout:
    """Always one track per angle, because a list holds one angle."""
    return layout_on_song(shoot, replace(choices, scheme=Scheme.ANGLE))[1]


def _named(layout: Layout, name: str) -> Iterator[tuple[Track, str]]:
    names = FreeNames()
    for track in layout.tracks:
        stem = (
            f"{safe_name(name, _LONGEST_BYTES)} - {safe_name(track.name, _LONGEST_BYTES, otherwise='angle')}"
        )
        yield track, names.free(stem, SUFFIX)


def _sources_name(name: str, choices: Choices) -> str:
    return f"{safe_name(name, _LONGEST_BYTES)} - sources.{choices.form}"


def _takes(track: Track) -> int:
    return len({one.take.id for one in track.segments})


def _track_lines(names: Mapping[str, str], track: Track, layout: Layout) -> Iterator[str]:
    yield f"{count(_takes(track), 'take')} as {count(len(track.segments), 'event')}: {plain(track.name)}."
    if track.doubtful:
        yield "These takes are in doubt, which an event list can only say in a note: check them first."
    own = replace(layout, tracks=(track,))
    bent = {one.clip.id: one for one in track.segments if one.nominal != 1}
    other: set[Fraction] = {one.rate for one in track.segments if one.rate != layout.rate}
    for one in bent.values():
        name = plain(PurePath(one.clip.media.path).name)
        yield f"{name}: plays at speed {rate_text(one.nominal)}, which the list can only say in a note."
    for rate in sorted(other):
        yield (
            f"Clips at {rate_words(rate)} fps are counted at {round(layout.rate)} in the list; "
            "their exact first frames are in notes."
        )
    yield from take_lines(names, own, warps=False)


def _shoot_lines(shoot: SongView, layout: Layout) -> Iterator[str]:
    yield (
        f"Event lists at {rate_words(layout.rate)} fps; the song starts at "
        f"{layout.choices.start}. Sub-frame offset, drift and speed are in notes below each event."
    )
    yield from midnight_lines(layout)
    yield from clip_lines(shoot, layout)
    yield from media_lines(shoot)
