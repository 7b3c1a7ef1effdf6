"""The first pass, as a timeline, as an event list and as a table of its shots."""

from collections.abc import Iterator
from pathlib import Path

from app.handoff.choices import Choices
from app.handoff.format import Format, Group
from app.handoff.formats import sequence_names
from app.handoff.outcome import HandoffReport, Planned, Progress, Stop
from app.handoff.sequences.names_of import first_pass_name
from app.handoff.sequences.sequence import Kind
from app.handoff.tables import shot_table, table_text
from app.model.on_song import SongView


def _plan(shoot: SongView, choices: Choices) -> Iterator[Planned]:
    from app.handoff.formats import sequence_files
    from app.handoff.sequences.first_pass_sequence import first_pass_sequence

    made = first_pass_sequence(shoot, choices)
    stem = sequence_names.stem(shoot.name, first_pass_name(choices))
    yield from sequence_files.plan(shoot, made.song, made.sequence, stem)
    yield shot_table.plan(shoot, made.found, made.sequence, f"{stem}.{choices.form}")


def _write(
    shoot: SongView, folder: Path, choices: Choices, stop: Stop, progress: Progress
) -> Iterator[HandoffReport]:
    from app.handoff.formats import sequence_files
    from app.handoff.sequences.first_pass_sequence import first_pass_sequence

    made = first_pass_sequence(shoot, choices)
    stem = sequence_names.stem(shoot.name, first_pass_name(choices))
    yield from sequence_files.write(shoot, made.song, made.sequence, folder, stem)
    yield shot_table.write(shoot, made.found, made.sequence, folder / f"{stem}.{choices.form}")


def _is_ours(path: Path) -> bool:
    return sequence_names.is_ours(path, Kind.FIRST_PASS) or table_text.is_table_of(path, shot_table.COLUMNS)


FORMAT = Format(
    word="firstpass",
    help="first pass, OpenTimelineIO, event list and table of shots",
    group=Group.EDIT,
    label="First pass (&2)",
    needs="You want a first cut to begin from",
    gives="One track cut by rules over the whole song; each shot says why. What else can be used lies below, "
    "switched off. A timeline, an event list and a table.",
    plan=_plan,
    write=_write,
    is_ours=_is_ours,
)
