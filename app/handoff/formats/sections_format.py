"""The table of sections."""

from collections.abc import Iterator
from pathlib import Path

from app.handoff.choices import Choices
from app.handoff.format import Format, Group
from app.handoff.names import safe_name
from app.handoff.outcome import HandoffReport, Planned, Progress, Stop
from app.handoff.tables import section_table, table_text
from app.model.on_song import SongView


def _plan(shoot: SongView, choices: Choices) -> Iterator[Planned]:
    yield section_table.plan(shoot, _name(shoot, choices), choices)


def _write(
    shoot: SongView, folder: Path, choices: Choices, stop: Stop, progress: Progress
) -> Iterator[HandoffReport]:
    yield section_table.write(shoot, folder / _name(shoot, choices), choices)


def _is_ours(path: Path) -> bool:
    return table_text.is_table_of(path, section_table.COLUMNS)


def _name(shoot: SongView, choices: Choices) -> str:
    return f"{safe_name(shoot.name)} sections.{choices.form}"


FORMAT = Format(
    word="sections",
    help="table of sections",
    group=Group.TABLES,
    label="&Sections",
    needs="You want figures, or write a script of your own",
    gives="One row per section, with its depth and thin places.",
    plan=_plan,
    write=_write,
    is_ours=_is_ours,
)
