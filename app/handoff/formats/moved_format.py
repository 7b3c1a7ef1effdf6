"""The table of what moved since the last master."""

from collections.abc import Iterator
from pathlib import Path

from app.handoff.choices import Choices
from app.handoff.format import Format, Group
from app.handoff.names import safe_name
from app.handoff.outcome import HandoffReport, Planned, Progress, Stop
from app.handoff.tables import moved_table, table_text
from app.model.on_song import SongView


def _plan(shoot: SongView, choices: Choices) -> Iterator[Planned]:
    yield moved_table.plan(shoot, _name(shoot, choices), choices)


def _write(
    shoot: SongView, folder: Path, choices: Choices, stop: Stop, progress: Progress
) -> Iterator[HandoffReport]:
    yield moved_table.write(shoot, folder / _name(shoot, choices), choices)


def _is_ours(path: Path) -> bool:
    return table_text.is_table_of(path, moved_table.COLUMNS)


def _name(shoot: SongView, choices: Choices) -> str:
    return f"{safe_name(shoot.name)} moved.{choices.form}"


FORMAT = Format(
    word="moved",
    help="table of what moved since the last master",
    group=Group.TABLES,
    label="What moved (&0)",
    needs="The edit had begun when a new master came",
    gives="One row per part of a take: its old frame, its new frame, and what has no place any more.",
    offered=lambda shoot: bool(shoot.masters),
    plan=_plan,
    write=_write,
    is_ours=_is_ours,
)
