"""What the timelines with copies of their media have in common."""

from collections.abc import Iterator
from pathlib import Path

from app.handoff.choices import Choices
from app.handoff.format import Format, Group
from app.handoff.names import safe_name
from app.handoff.outcome import HandoffReport, Planned, Progress, Stop
from app.model.on_song import SongView


def bundle_format(word: str, *, help: str, label: str, gives: str) -> Format:
    """The format of a bundle whose files end in its word."""

    def plan(shoot: SongView, choices: Choices) -> Iterator[Planned]:
        from app.handoff.timeline import otio_bundle

        yield otio_bundle.plan(shoot, name(shoot), choices)

    def write(
        shoot: SongView, folder: Path, choices: Choices, stop: Stop, progress: Progress
    ) -> Iterator[HandoffReport]:
        from app.handoff.timeline import otio_bundle

        yield otio_bundle.write(shoot, folder / name(shoot), choices, stop=stop, progress=progress)

    def is_ours(path: Path) -> bool:
        if path.suffix != f".{word}":
            return False
        from app.handoff.timeline import otio_bundle

        return otio_bundle.is_ours(path)

    def name(shoot: SongView) -> str:
        return f"{safe_name(shoot.name)}.{word}"

    return Format(
        word=word,
        help=help,
        group=Group.EDIT,
        label=label,
        needs="The edit is on another computer",
        gives=gives,
        reads_clips=True,
        plan=plan,
        write=write,
        is_ours=is_ours,
    )
