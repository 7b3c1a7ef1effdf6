"""The shoot as an OpenTimelineIO file (``.otio``); `otio_timeline` describes what is in it."""

from collections.abc import Iterable
from pathlib import Path

import opentimelineio as otio

from app.handoff.choices import DEFAULT, Choices
from app.handoff.layout import Layout, clip_names, layout_on_song
from app.handoff.notes import clip_lines, head_lines, media_lines, take_lines, worst_sub_frame_offset_s
from app.handoff.outcome import HandoffError, HandoffReport, Planned
from app.handoff.timeline.otio_check import check
from app.handoff.timeline.otio_timeline import to_timeline
from app.model.guarding import guard_of
from app.model.on_song import SongView
from app.model.storage.files import write_whole
from app.model.storage.own_bundle import KEY

__all__ = ["KEY", "lines", "plan", "to_text", "to_timeline", "write"]


def write(shoot: SongView, path: Path, choices: Choices = DEFAULT) -> HandoffReport:
    """Write the timeline, read it back with the library and compare. Raises HandoffError."""
    song, layout = layout_on_song(shoot, choices)
    text = to_text(to_timeline(shoot, song, layout))

    def read_back(written: Path) -> None:
        try:
            again = otio.adapters.read_from_file(str(written), "otio_json")
        except (otio.exceptions.OTIOError, ValueError) as error:
            raise HandoffError(f"{path.name} does not read back ({error}). It was not written.") from error
        check(again, shoot, layout, path.name)

    try:
        write_whole(path, text, guard_of(shoot), read_back)
    except OSError as error:
        why = error.strerror or error
        raise HandoffError(f"{path.name} could not be written: {why}. Choose another folder.") from error
    takes = len(layout.residuals)
    notes = (*lines(shoot, layout), *media_lines(shoot))
    return HandoffReport(
        path=path, lines=notes, takes=takes, worst_sub_frame_offset_s=worst_sub_frame_offset_s(layout)
    )


def plan(shoot: SongView, name: str, choices: Choices = DEFAULT) -> Planned:
    """What `write` would write under that name. Raises HandoffError."""
    song, layout = layout_on_song(shoot, choices)
    notes = (*lines(shoot, layout), *media_lines(shoot))
    return Planned(name, len(to_text(to_timeline(shoot, song, layout))), notes)


def to_text(timeline: "otio.schema.Timeline") -> bytes:
    """The timeline in the library's own JSON."""
    text: str = otio.adapters.write_to_string(timeline, "otio_json")
    return text.encode("utf-8")


def lines(shoot: SongView, layout: Layout) -> Iterable[str]:
    """Notes for the person about a timeline."""
    yield from head_lines(layout)
    yield from take_lines(clip_names(shoot.clips), layout)
    yield from clip_lines(shoot, layout)
