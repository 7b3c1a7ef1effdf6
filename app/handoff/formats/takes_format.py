"""The table of takes with their offsets."""

from collections.abc import Iterator
from pathlib import Path

from app.handoff.choices import Choices, Form
from app.handoff.format import Format, Group
from app.handoff.names import safe_name
from app.handoff.outcome import HandoffReport, Planned, Progress, Stop
from app.handoff.tables import table_text, take_table
from app.model.on_song import SongView


def _plan(shoot: SongView, choices: Choices) -> Iterator[Planned]:
    yield take_table.plan(shoot, _name(shoot, choices), choices.form)


def _write(
    shoot: SongView, folder: Path, choices: Choices, stop: Stop, progress: Progress
) -> Iterator[HandoffReport]:
    yield take_table.write(shoot, folder / _name(shoot, choices), choices.form)


def _is_ours(path: Path) -> bool:
    return table_text.is_table_of(path, take_table.COLUMNS)


def _name(shoot: SongView, choices: Choices) -> str:
    return f"{safe_name(shoot.name)}.{choices.form}"


FORMAT = Format(
    word="takes",
    command_words=tuple(Form),
    help="table of takes",
    group=Group.TABLES,
    label="Ta&kes",
    needs="You want figures, or write a script of your own",
    gives="One row per take, with exact offsets in seconds.",
    plan=_plan,
    write=_write,
    is_ours=_is_ours,
)
