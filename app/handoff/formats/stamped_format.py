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
    yield Planned(_name(shoot), copies.bytes_needed, copies.lines, inside=copies.names)


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
    if not any(one.name.endswith(ENDING) for one in (path, path.parent)):
        return False
    from app.handoff.copied import copies, stamped

    return copies.is_in_folder_of_ours(path, ENDING, stamped.is_ours)


def _name(shoot: SongView) -> str:
    return f"{safe_name(shoot.name)}{ENDING}"


FORMAT = Format(
    word="stamped",
    help="copies with song timecode",
    group=Group.MEDIA,
    label="&Copies with song timecode",
    needs="Your editing program lines clips up by timecode",
    gives="A copy of each clip, not re-encoded. Its timecode is its place in the song; the song starts at "
    "01:00:00:00, or where you choose.",
    reads_clips=True,
    plan=_plan,
    write=_write,
    is_ours=_is_ours,
)
