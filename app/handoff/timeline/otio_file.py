"""The shoot as an OpenTimelineIO file (``.otio``); what is in it is told in `otio_timeline`, beside it."""

from collections.abc import Iterable
from pathlib import Path

import opentimelineio as otio

from app.handoff.choices import DEFAULT, Choices
from app.handoff.laying import Laying, clip_names, lay
from app.handoff.notes import clip_lines, head_lines, media_lines, take_lines, worst_remainder_s
from app.handoff.outcome import HandoffError, HandoffReport, Planned
from app.handoff.timeline.otio_check import check
from app.handoff.timeline.otio_timeline import KEY, to_timeline
from app.model.document.song import Song
from app.model.on_song import SongView
from app.model.storage.files import write_whole

__all__ = ["KEY", "plan", "to_text", "to_timeline", "write"]


def write(shoot: SongView, path: Path, choices: Choices = DEFAULT) -> HandoffReport:
    """Write the timeline, read it back with the library and compare. Raises HandoffError."""
    song, laying = laid_on_song(shoot, choices)
    text = to_text(to_timeline(shoot, song, laying))

    def read_back(written: Path) -> None:
        try:
            again = otio.adapters.read_from_file(str(written), "otio_json")
        except (otio.exceptions.OTIOError, ValueError) as error:
            raise HandoffError(f"{path.name} does not read back ({error}). It was not written.") from error
        check(again, shoot, laying, path.name)

    try:
        write_whole(path, text, read_back)
    except OSError as error:
        why = error.strerror or error
        raise HandoffError(f"{path.name} could not be written: {why}. Choose another folder.") from error
    takes = len(laying.residuals)
    told = (*lines(shoot, laying), *media_lines(shoot))
    return HandoffReport(path, told, takes, worst_remainder_s(laying))


def plan(shoot: SongView, name: str, choices: Choices = DEFAULT) -> Planned:
    """What `write` would write under that name. Raises HandoffError."""
    song, laying = laid_on_song(shoot, choices)
    told = (*lines(shoot, laying), *media_lines(shoot))
    return Planned(name, len(to_text(to_timeline(shoot, song, laying))), told)


def laid_on_song(shoot: SongView, choices: Choices) -> tuple[Song, Laying]:
    """The song, and the takes laid on it. Raises HandoffError where there is no song."""
    if shoot.song is None:
        raise HandoffError(
            "There is no song yet, so there is nothing to lay the takes on. Open the song first."
        )
    return shoot.song, lay(shoot, choices)


def to_text(timeline: "otio.schema.Timeline") -> bytes:
    """The timeline in the library's own JSON."""
    text: str = otio.adapters.write_to_string(timeline, "otio_json")
    return text.encode("utf-8")


def lines(shoot: SongView, laying: Laying) -> Iterable[str]:
    """What the person should know about a timeline."""
    yield from head_lines(laying)
    yield from take_lines(clip_names(shoot.clips), laying)
    yield from clip_lines(shoot, laying)
