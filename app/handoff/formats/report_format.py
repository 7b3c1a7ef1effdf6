"""The report of everything, as JSON."""

from collections.abc import Iterator
from pathlib import Path

from app.handoff.choices import Choices
from app.handoff.format import Format, Group
from app.handoff.names import safe_name
from app.handoff.outcome import HandoffReport, Planned, Progress, Stop
from app.handoff.saved_json import has_keys
from app.handoff.tables import report_file
from app.model.on_song import SongView

SUFFIX = ".json"


def _plan(shoot: SongView, choices: Choices) -> Iterator[Planned]:
    yield report_file.plan(shoot, _name(shoot))


def _write(
    shoot: SongView, folder: Path, choices: Choices, stop: Stop, progress: Progress
) -> Iterator[HandoffReport]:
    yield report_file.write(shoot, folder / _name(shoot))


def _is_ours(path: Path) -> bool:
    return path.suffix == SUFFIX and has_keys(path, "report_version")


def _name(shoot: SongView) -> str:
    return f"{safe_name(shoot.name)}{SUFFIX}"


FORMAT = Format(
    word="report",
    help="everything as JSON",
    group=Group.TABLES,
    label="Everything, as &JSON",
    needs="You want figures, or write a script of your own",
    gives="Clips, takes, sections and bars in one file.",
    plan=_plan,
    write=_write,
    is_ours=_is_ours,
)
