"""The shoot as event lists (``.edl``), one for every angle, and a table of their sources' full names."""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from fractions import Fraction
from pathlib import Path, PurePath

from app.handoff.choices import DEFAULT, Choices, Scheme
from app.handoff.event_list.edl_check import check
from app.handoff.event_list.edl_text import END, OURS, to_text
from app.handoff.event_list.source_ids import source_ids
from app.handoff.laying import Lane, Laying, clip_names
from app.handoff.names import FreeNames, safe_name
from app.handoff.notes import clip_lines, media_lines, midnight_lines, take_lines, worst_remainder_s
from app.handoff.outcome import HandoffError, HandoffReport, Planned, count, plain
from app.handoff.tables import table_text
from app.handoff.tables.table_text import Table
from app.handoff.timeline.otio_file import laid_on_song
from app.model.on_song import SongView
from app.model.storage.files import write_whole
from app.model.timebase import rate_text, rate_words

SOURCES = ("source", "file", "path", "angle", "frame_rate", "start_timecode")
_LONGEST_BYTES = 90
"""Of the shoot's name and of the lane's, so that neither is lost."""


def write(shoot: SongView, folder: Path, name: str, choices: Choices = DEFAULT) -> Iterator[HandoffReport]:
    """Write the lists and the table of sources, each read back and compared. Raises HandoffError."""
    laying = _laying(shoot, choices)
    ids, names = source_ids(shoot), clip_names(shoot.clips)
    for lane, file_name in _named(laying, name):
        path = folder / file_name

        def read_back(written: Path, lane: Lane = lane, file_name: str = file_name) -> None:
            check(written.read_bytes(), shoot, laying, lane, ids, file_name)

        try:
            write_whole(path, to_text(shoot, laying, lane, ids).encode("ascii"), read_back)
        except OSError as error:
            why = error.strerror or error
            raise HandoffError(f"{path.name} could not be written: {why}. Choose another folder.") from error
        worst_s = max(abs(one.remainder_s) for one in lane.takes)
        yield HandoffReport(path, tuple(_lane_lines(names, lane, laying)), _takes(lane), worst_s)
    table = folder / _sources_name(name, choices)
    table_text.write(table, sources(shoot, laying), choices.form)
    lines = ("Full name and place of every source of the lists.", *_shoot_lines(shoot, laying))
    left = tuple(_left(folder, name, {file_name for _, file_name in _named(laying, name)}))
    yield HandoffReport(table, lines, len(laying.residuals), worst_remainder_s(laying), left)


def plan(shoot: SongView, name: str, choices: Choices = DEFAULT) -> tuple[Planned, ...]:
    """What `write` would write. Raises HandoffError."""
    laying = _laying(shoot, choices)
    ids, names = source_ids(shoot), clip_names(shoot.clips)
    planned = [
        Planned(file_name, len(to_text(shoot, laying, lane, ids)), tuple(_lane_lines(names, lane, laying)))
        for lane, file_name in _named(laying, name)
    ]
    size = len(table_text.to_text(sources(shoot, laying), choices.form))
    return (*planned, Planned(_sources_name(name, choices), size, tuple(_shoot_lines(shoot, laying))))


def sources(shoot: SongView, laying: Laying) -> Table:
    """Source id, file name, whole path, angle, rate and start timecode of every clip in the lists."""
    ids = source_ids(shoot)
    angle = {one.clip.id: lane.angle for lane in laying.lanes for one in lane.takes}
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
    """Whether a file is a list of ours."""
    try:
        return path.read_bytes().split(END.encode())[2] == OURS.encode()
    except (OSError, IndexError):
        return False


def _left(folder: Path, name: str, written: set[str]) -> Iterator[str]:
    """Lists of an earlier hand-off: of an angle that has another name now, of takes that are decided."""
    head = f"{safe_name(name, _LONGEST_BYTES)} - "
    for path in sorted(folder.glob("*.edl")):
        if path.name.startswith(head) and path.name not in written and is_ours(path):
            yield path.name


def _laying(shoot: SongView, choices: Choices) -> Laying:
    """Always a lane an angle: a list holds one angle."""
    return laid_on_song(shoot, replace(choices, scheme=Scheme.ANGLE))[1]


def _named(laying: Laying, name: str) -> Iterator[tuple[Lane, str]]:
    names = FreeNames()
    for lane in laying.lanes:
        stem = (
            f"{safe_name(name, _LONGEST_BYTES)} - {safe_name(lane.name, _LONGEST_BYTES, otherwise='angle')}"
        )
        yield lane, names.free(stem, ".edl")


def _sources_name(name: str, choices: Choices) -> str:
    return f"{safe_name(name, _LONGEST_BYTES)} - sources.{choices.form}"


def _takes(lane: Lane) -> int:
    return len({one.take.id for one in lane.takes})


def _lane_lines(names: Mapping[str, str], lane: Lane, laying: Laying) -> Iterator[str]:
    yield f"{count(_takes(lane), 'take')} as {count(len(lane.takes), 'event')}, {plain(lane.name)}."
    if lane.doubtful:
        yield "These takes are in doubt, which an event list can only say in a note: decide them first."
    own = replace(laying, lanes=(lane,))
    bent = {one.clip.id: one for one in lane.takes if one.nominal != 1}
    other: set[Fraction] = {one.rate for one in lane.takes if one.rate != laying.rate}
    for one in bent.values():
        name = plain(PurePath(one.clip.media.path).name)
        yield f"{name}: runs at speed {rate_text(one.nominal)}, which the list says in a note only."
    for rate in sorted(other):
        yield (
            f"Clips at {rate_words(rate)} a second are told in the list's count of {round(laying.rate)}; "
            "their exact first frames stand in notes."
        )
    yield from take_lines(names, own, warps=False)


def _shoot_lines(shoot: SongView, laying: Laying) -> Iterator[str]:
    yield (
        f"Event lists at {rate_words(laying.rate)} frames per second; the song starts at "
        f"{laying.choices.start}. Rests below a frame, drift and speed stand in notes below each event."
    )
    yield from midnight_lines(laying)
    yield from clip_lines(shoot, laying)
    yield from media_lines(shoot)
