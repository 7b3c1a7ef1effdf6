"""The table of bars and the takes that cover them."""

from collections.abc import Iterator
from pathlib import Path

from app.handoff.choices import Choices
from app.handoff.format import Format, Group
from app.handoff.names import safe_name
from app.handoff.outcome import HandoffReport, Planned, Progress, Stop
from app.handoff.tables import coverage_table, table_text
from app.model.on_song import SongView


def _plan(shoot: SongView, choices: Choices) -> Iterator[Planned]:
    yield coverage_table.plan(shoot, _name(shoot, choices), choices)


def _write(
    shoot: SongView, folder: Path, choices: Choices, stop: Stop, progress: Progress
) -> Iterator[HandoffReport]:
    yield coverage_table.write(shoot, folder / _name(shoot, choices), choices)


def _is_ours(path: Path) -> bool:
    return table_text.is_table_of(path, coverage_table.COLUMNS)


def _name(shoot: SongView, choices: Choices) -> str:
    return f"{safe_name(shoot.name)} coverage.{choices.form}"


FORMAT = Format(
    word="coverage",
    help="table of bars",
    group=Group.TABLES,
    label="&Bars",
    needs="You want figures, or write a script of your own",
    gives="One row per bar: how many takes cover it, and which.",
    plan=_plan,
    write=_write,
    is_ours=_is_ours,
)
