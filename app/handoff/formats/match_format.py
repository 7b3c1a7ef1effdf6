"""Starting matches as one ASC CDL collection."""

from collections.abc import Iterator
from pathlib import Path

from app.handoff.choices import Choices
from app.handoff.format import Format, Group
from app.handoff.names import safe_name
from app.handoff.outcome import HandoffReport, Planned, Progress, Stop
from app.model.on_song import SongView

SUFFIX = ".ccc"


def _plan(shoot: SongView, choices: Choices) -> Iterator[Planned]:
    from app.handoff.tables import match_file

    yield match_file.plan(shoot, _name(shoot))


def _write(
    shoot: SongView, folder: Path, choices: Choices, stop: Stop, progress: Progress
) -> Iterator[HandoffReport]:
    from app.handoff.tables import match_file

    yield match_file.write(shoot, folder / _name(shoot))


def _is_ours(path: Path) -> bool:
    if path.suffix != SUFFIX:
        return False
    from app.handoff.tables import match_file

    return match_file.is_ours(path)


def _name(shoot: SongView) -> str:
    return f"{safe_name(shoot.name)} match{SUFFIX}"


FORMAT = Format(
    word="match",
    help="starting matches as an ASC CDL collection",
    group=Group.EDIT,
    label="Starting match, as ASC CDL (&7)",
    needs="You grade, and want takes to sit near one another to begin with",
    gives="A slope and an offset per take towards the reference take, never applied to media.",
    plan=_plan,
    write=_write,
    is_ours=_is_ours,
)
