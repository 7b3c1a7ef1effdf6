"""The sound of each take on the song's clock."""

from collections.abc import Iterator
from pathlib import Path

from app.handoff.choices import Choices
from app.handoff.format import Format, Group
from app.handoff.names import safe_name
from app.handoff.outcome import HandoffReport, Planned, Progress, Stop
from app.model.on_song import SongView

ENDING = " conformed"
"""How the name of the folder ends."""


def _plan(shoot: SongView, choices: Choices) -> Iterator[Planned]:
    from app.handoff.copied import conformed
    from app.handoff.copied.copies import is_placed

    copies = conformed.plan(shoot, is_placed, choices.start, rate=choices.rate, conform=choices.conform)
    yield Planned(_name(shoot), copies.bytes_needed, copies.lines, inside=copies.names)


def _write(
    shoot: SongView, folder: Path, choices: Choices, stop: Stop, progress: Progress
) -> Iterator[HandoffReport]:
    from app.handoff.copied import conformed
    from app.handoff.copied.copies import is_placed

    inside = folder / _name(shoot)
    yield conformed.write(
        shoot,
        inside,
        is_placed,
        choices.start,
        rate=choices.rate,
        conform=choices.conform,
        stop=stop,
        progress=progress,
    )


def _is_ours(path: Path) -> bool:
    if not any(one.name.endswith(ENDING) for one in (path, path.parent)):
        return False
    from app.handoff.copied import conformed, copies

    return copies.is_in_folder_of_ours(path, ENDING, conformed.is_ours)


def _name(shoot: SongView) -> str:
    return f"{safe_name(shoot.name)}{ENDING}"


FORMAT = Format(
    word="conformed",
    help="sound of each take, as long as the song",
    group=Group.MEDIA,
    label="Conformed soun&d",
    needs="You want a clean sound track for each take",
    gives="The sound of each take as a WAV file as long as the song, with clock drift taken out.",
    reads_clips=True,
    plan=_plan,
    write=_write,
    is_ours=_is_ours,
)
