"""Copies of the clips stamped with their place in the song."""

from collections.abc import Iterator
from pathlib import Path

from app.handoff.choices import Choices
from app.handoff.format import Format, Group
from app.handoff.names import safe_name
from app.handoff.outcome import HandoffReport, Planned, Progress, Stop
from app.model.on_song import SongView

ENDING = " stamped"
"""How the name of the folder ends."""


def _plan(shoot: SongView, choices: Choices) -> Iterator[Planned]:
    from app.handoff.copied import stamped
    from app.handoff.copied.copies import is_placed

    copies = stamped.plan(shoot, is_placed, choices.start, rate=choices.rate)
    yield Planned(_name(shoot), copies.bytes_needed, copies.lines)


def _write(
    shoot: SongView, folder: Path, choices: Choices, stop: Stop, progress: Progress
) -> Iterator[HandoffReport]:
    from app.handoff.copied import stamped
    from app.handoff.copied.copies import is_placed

    inside = folder / _name(shoot)
    yield stamped.write(
        shoot, inside, is_placed, choices.start, rate=choices.rate, stop=stop, progress=progress
    )


def _is_ours(path: Path) -> bool:
    # Any folder of that name: before it is written, every file within it that is in the way is looked at.
    return path.name.endswith(ENDING) and path.is_dir() and not path.is_symlink()


def _name(shoot: SongView) -> str:
    return f"{safe_name(shoot.name)}{ENDING}"


FORMAT = Format(
    word="stamped",
    help="copies stamped with their place",
    group=Group.MEDIA,
    label="Stamped &copies",
    tooltip="Copies of the clips whose timecode is their place in the song",
    reads_clips=True,
    plan=_plan,
    write=_write,
    is_ours=_is_ours,
)
