"""The string-out, as a timeline and as an event list."""

from collections.abc import Iterator
from pathlib import Path

from app.handoff.choices import Choices
from app.handoff.format import Format, Group
from app.handoff.formats import sequence_names
from app.handoff.outcome import HandoffReport, Planned, Progress, Stop
from app.handoff.sequences.names_of import string_out_name
from app.handoff.sequences.sequence import Kind
from app.model.on_song import SongView


def _plan(shoot: SongView, choices: Choices) -> Iterator[Planned]:
    from app.handoff.formats import sequence_files
    from app.handoff.sequences.string_out_sequence import string_out_sequence

    song, sequence = string_out_sequence(shoot, choices)
    yield from sequence_files.plan(
        shoot, song, sequence, sequence_names.stem(shoot.name, string_out_name(choices))
    )


def _write(
    shoot: SongView, folder: Path, choices: Choices, stop: Stop, progress: Progress
) -> Iterator[HandoffReport]:
    from app.handoff.formats import sequence_files
    from app.handoff.sequences.string_out_sequence import string_out_sequence

    song, sequence = string_out_sequence(shoot, choices)
    yield from sequence_files.write(
        shoot, song, sequence, folder, sequence_names.stem(shoot.name, string_out_name(choices))
    )


def _is_ours(path: Path) -> bool:
    return sequence_names.is_ours(path, Kind.STRING_OUT)


FORMAT = Format(
    word="stringout",
    help="string-out, OpenTimelineIO and event list",
    group=Group.EDIT,
    label="String-out (&1)",
    needs="You want to see everything before you choose",
    gives="Section by section, each usable angle after the other, with the song under it. A timeline and an "
    "event list.",
    plan=_plan,
    write=_write,
    is_ours=_is_ours,
)
