"""The timeline with copies of its media, as a folder."""

from collections.abc import Iterator
from pathlib import Path

from app.handoff.choices import Choices
from app.handoff.format import Format, Group
from app.handoff.names import safe_name
from app.handoff.outcome import HandoffReport, Planned, Progress, Stop
from app.model.on_song import SongView

SUFFIX = ".otiod"


def _plan(shoot: SongView, choices: Choices) -> Iterator[Planned]:
    from app.handoff.timeline import otio_bundle

    yield otio_bundle.plan(shoot, _name(shoot), choices)


def _write(
    shoot: SongView, folder: Path, choices: Choices, stop: Stop, progress: Progress
) -> Iterator[HandoffReport]:
    from app.handoff.timeline import otio_bundle

    yield otio_bundle.write(shoot, folder / _name(shoot), choices, stop=stop, progress=progress)


def _is_ours(path: Path) -> bool:
    if path.suffix != SUFFIX:
        return False
    from app.handoff.timeline import otio_bundle

    return otio_bundle.is_ours(path)


def _name(shoot: SongView) -> str:
    return f"{safe_name(shoot.name)}{SUFFIX}"


FORMAT = Format(
    word="otiod",
    help="timeline with media, a folder",
    group=Group.EDIT,
    label="Timeline and media, f&older",
    tooltip="With copies of all clips, as a folder",
    reads_clips=True,
    plan=_plan,
    write=_write,
    is_ours=_is_ours,
)
