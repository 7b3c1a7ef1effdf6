"""The timeline as an OpenTimelineIO file."""

from collections.abc import Iterator
from pathlib import Path

from app.handoff.choices import Choices
from app.handoff.format import Format, Group
from app.handoff.names import safe_name
from app.handoff.outcome import HandoffReport, Planned, Progress, Stop
from app.handoff.saved_json import has_keys
from app.model.on_song import SongView

SUFFIX = ".otio"


def _plan(shoot: SongView, choices: Choices) -> Iterator[Planned]:
    from app.handoff.timeline import otio_file

    yield otio_file.plan(shoot, _name(shoot), choices)


def _write(
    shoot: SongView, folder: Path, choices: Choices, stop: Stop, progress: Progress
) -> Iterator[HandoffReport]:
    from app.handoff.timeline import otio_file

    yield otio_file.write(shoot, folder / _name(shoot), choices)


def _is_ours(path: Path) -> bool:
    if path.suffix != SUFFIX:
        return False
    from app.model.storage.own_bundle import KEY

    return has_keys(path, "metadata", KEY, "handoff_version")


def _name(shoot: SongView) -> str:
    return f"{safe_name(shoot.name)}{SUFFIX}"


FORMAT = Format(
    word="otio",
    help="timeline, OpenTimelineIO",
    group=Group.EDIT,
    label="&Timeline",
    needs="Your editing program imports OpenTimelineIO (.otio)",
    gives="The song, with one track per angle and every take in place. Markers show sections, bars and thin "
    "places.",
    plan=_plan,
    write=_write,
    is_ours=_is_ours,
)
