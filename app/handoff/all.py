"""Writes every format that was chosen into one folder, under names that every system takes.

Trouble with one format is reported and does not stop the others.
"""

import os
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from app.handoff.beside_clips import check_folder
from app.handoff.choices import DEFAULT, Choices, start_number
from app.handoff.format import Format
from app.handoff.layout import timeline_rate
from app.handoff.outcome import (
    HandoffError,
    HandoffReport,
    HandoffStopped,
    Planned,
    Progress,
    Stop,
    never,
    no_progress,
)
from app.handoff.registry import chosen, is_ours
from app.model.guarding import guard_of
from app.model.on_song import SongView
from audio.errors import AudioError

MOST_NAMES = 6
"""Most files named in one sentence."""


@dataclass(frozen=True, slots=True)
class Preview:
    """What would be written."""

    planned: tuple[Planned, ...]
    troubles: tuple[str, ...]
    """What could not be written, one sentence each."""


@dataclass(frozen=True, slots=True)
class HandedOver:
    """What was written."""

    reports: tuple[HandoffReport, ...]
    troubles: tuple[str, ...]
    """What could not be written, one sentence each."""
    left: str = ""
    """A sentence about files that an earlier hand-off wrote and this one did not; empty without any."""


def preview(shoot: SongView, choices: Choices = DEFAULT) -> Preview:
    """What `write_all` would write; writes nothing. Raises HandoffError where nothing can be written."""
    _check(shoot, choices)
    planned: list[Planned] = []
    troubles: list[str] = []
    for one in chosen(choices):
        try:
            planned += one.plan(shoot, choices)
        except HandoffError as error:
            troubles.append(str(error))
    return Preview(tuple(planned), tuple(dict.fromkeys(troubles)))


def earlier(folder: Path, planned: Sequence[Planned]) -> tuple[str, ...]:
    """Names of files and folders of an earlier hand-off that would be replaced.

    Raises HandoffError for anything else in their place.
    """
    there = [one.name for one in planned if os.path.lexists(folder / one.name)]
    for name in there:
        if not is_ours(folder / name):
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
    progress: Progress = no_progress,
    doing: Callable[[str], None] = lambda word: None,
    wrote: Callable[[HandoffReport], None] = lambda report: None,
) -> HandedOver:
    """Write every chosen format into the folder, made where needed. Raises HandoffError, HandoffStopped.

    Where files of an earlier hand-off are in the way, nothing is written unless ``replace`` allows it. Other
    files are never replaced, and nothing is written into a folder of clips, nor below it.
    ``doing`` receives the word of each format as it begins, ``wrote`` each file as it is done. What is done
    stays, even when the rest is stopped.
    """
    check_folder(folder, guard_of(shoot))
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
    formats = chosen(choices)
    whole, done = sum(map(_weight, formats)), 0
    for one in formats:
        if stop():
            raise HandoffStopped("The hand-off was stopped; files that were whole before are there.")
        doing(one.word)
        share = _share(progress, done / whole, _weight(one) / whole)
        done += _weight(one)
        try:
            for report in one.write(shoot, folder, choices, stop, share):
                reports.append(report)
                wrote(report)
        except HandoffStopped:
            raise
        except HandoffError as error:
            troubles.append(str(error))
        except (AudioError, OSError, ValueError) as error:
            # What a format did not foresee ends that format, not the others.
            why = (getattr(error, "strerror", None) or str(error)).rstrip(".")
            troubles.append(f"Not all could be written ({one.word}): {why}. Choose another folder.")
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
    if not chosen(choices):
        raise HandoffError("Nothing is chosen to be written. Choose something.")
    start_number(choices.start, choices.rate or timeline_rate(shoot))


def _weight(one: Format) -> int:
    """About how long a format takes beside others, so that progress runs evenly."""
    return 50 if one.reads_clips else 1


def _share(progress: Progress, before: float, part: float) -> Progress:
    return lambda fraction: progress(min(1.0, before + part * fraction))
