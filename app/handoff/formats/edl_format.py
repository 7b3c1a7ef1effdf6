"""Event lists, one per angle, and the table of their sources."""

from collections.abc import Iterator
from pathlib import Path

from app.handoff.choices import Choices
from app.handoff.event_list import edl_file
from app.handoff.format import Format, Group
from app.handoff.names import safe_name
from app.handoff.outcome import HandoffReport, Planned, Progress, Stop
from app.handoff.tables import table_text
from app.model.on_song import SongView


def _plan(shoot: SongView, choices: Choices) -> Iterator[Planned]:
    yield from edl_file.plan(shoot, safe_name(shoot.name), choices)


def _write(
    shoot: SongView, folder: Path, choices: Choices, stop: Stop, progress: Progress
) -> Iterator[HandoffReport]:
    yield from edl_file.write(shoot, folder, safe_name(shoot.name), choices)


def _is_ours(path: Path) -> bool:
    if path.suffix == edl_file.SUFFIX:
        return edl_file.is_ours(path)
    return table_text.is_table_of(path, edl_file.SOURCES)


FORMAT = Format(
    word="edl",
    help="event lists",
    group=Group.EDIT,
    label="Event &lists (EDL), one per angle",
    needs="Your editing program imports only event lists (EDL)",
    gives="One list per angle with one event per take, and a table with the full name of every clip.",
    plan=_plan,
    write=_write,
    is_ours=_is_ours,
)
