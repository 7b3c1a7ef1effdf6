"""All that was chosen of a shoot into one folder, under names that every system takes.

What goes wrong with one file is told and does not stop the others.
"""

import os
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from app.handoff import rooms
from app.handoff.beside_clips import check_folder
from app.handoff.choices import DEFAULT, LONG, Choices, What, start_number
from app.handoff.laying import timeline_rate
from app.handoff.outcome import (
    HandoffError,
    HandoffReport,
    HandoffStopped,
    Planned,
    Progress,
    Stop,
    never,
    untold,
)
from app.model.on_song import SongView

MOST_NAMES = 6
"""Files named in one sentence."""


@dataclass(frozen=True, slots=True)
class Preview:
    """What would be written."""

    planned: tuple[Planned, ...]
    troubles: tuple[str, ...]
    """What could not be written, a sentence each."""


@dataclass(frozen=True, slots=True)
class HandedOver:
    """What was written."""

    reports: tuple[HandoffReport, ...]
    troubles: tuple[str, ...]
    """What could not be written, a sentence each."""
    left: str = ""
    """A sentence about files of an earlier hand-off that are not of this one; empty where there are none."""


def preview(shoot: SongView, choices: Choices = DEFAULT) -> Preview:
    """What `write_all` would write; nothing is. Raises HandoffError where nothing can be."""
    _check(shoot, choices)
    planned: list[Planned] = []
    troubles: list[str] = []
    for what in _in_order(choices):
        try:
            planned += rooms.plan(shoot, what, choices)
        except HandoffError as error:
            troubles.append(str(error))
    return Preview(tuple(planned), tuple(dict.fromkeys(troubles)))


def earlier(folder: Path, planned: Sequence[Planned]) -> tuple[str, ...]:
    """Names of what is there from an earlier hand-off and would be replaced.

    Raises HandoffError for what is there and is no hand-off of ours.
    """
    there = [one.name for one in planned if os.path.lexists(folder / one.name)]
    for name in there:
        if not rooms.is_ours(folder / name):
            raise HandoffError(
                f"{name} is there already and is no hand-off. Move it away, or choose another folder."
            )
    return tuple(there)


def write_all(
    shoot: SongView,
    folder: Path,
    choices: Choices = DEFAULT,
    *,
    replace: bool = False,
    stop: Stop = never,
    progress: Progress = untold,
    doing: Callable[[What], None] = lambda what: None,
    wrote: Callable[[HandoffReport], None] = lambda report: None,
) -> HandedOver:
    """Write everything that was chosen into the folder, made where needed. Raises HandoffError.

    Where something of an earlier hand-off is in the way, nothing is written, unless ``replace`` says that it
    may go; what is no hand-off of ours never does. Nothing is written into a folder where clips lie.
    ``doing`` is told what is begun, ``wrote`` what is there: it stays, also when the rest is stopped.
    """
    check_folder(folder, (clip.media.path for clip in shoot.clips))
    before = earlier(folder, preview(shoot, choices).planned)
    if before and not replace:
        raise HandoffError(
            f"{before[0]} is there already, from an earlier hand-off. Say that it may be replaced "
            "(--replace), or choose another folder."
        )
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        why = error.strerror or error
        raise HandoffError(f"The folder {folder} could not be made: {why}. Choose another.") from error
    reports: list[HandoffReport] = []
    troubles: list[str] = []
    order = _in_order(choices)
    whole, done = sum(map(_weight, order)), 0
    for what in order:
        if stop():
            raise HandoffStopped("The hand-off was stopped; files that were whole before are there.")
        doing(what)
        share = _share(progress, done / whole, _weight(what) / whole)
        done += _weight(what)
        try:
            for report in rooms.write(shoot, what, folder, choices, stop, share):
                reports.append(report)
                wrote(report)
        except HandoffStopped:
            raise
        except HandoffError as error:
            troubles.append(str(error))
        share(1.0)
    return HandedOver(tuple(reports), tuple(dict.fromkeys(troubles)), _left(reports))


def _left(reports: Sequence[HandoffReport]) -> str:
    names = [name for report in reports for name in report.left]
    if not names:
        return ""
    more = f" and {len(names) - MOST_NAMES} more" if len(names) > MOST_NAMES else ""
    return (
        f"From an earlier hand-off, and not of this one: {', '.join(names[:MOST_NAMES])}{more}. "
        "Take away what is not to be used."
    )


def _check(shoot: SongView, choices: Choices) -> None:
    if not choices.what:
        raise HandoffError("Nothing is chosen to be written. Choose something.")
    start_number(choices.start, choices.rate or timeline_rate(shoot))


def _in_order(choices: Choices) -> list[What]:
    """What is quick comes first."""
    return [what for what in What if what in choices.what]


def _weight(what: What) -> int:
    """About how long it takes beside others, so that progress runs evenly."""
    return 50 if what in LONG else 1


def _share(progress: Progress, before: float, part: float) -> Progress:
    return lambda fraction: progress(min(1.0, before + part * fraction))
