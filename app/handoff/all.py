"""Writes every format that was chosen into one folder, under names that every system takes.

Trouble with one format is reported and does not stop the others.
"""

import os
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from app.handoff.beside_clips import check_folder
from app.handoff.choices import DEFAULT, Choices, start_number
from app.handoff.format import Format
from app.handoff.layout import timeline_rate
from app.handoff.leftovers import leftovers
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
    left: tuple[str, ...] = ()
    """Names of what earlier hand-offs left in the folder, see `app.handoff.leftovers`."""
    files: int = 0
    """How many files were written, those within folders among them."""
    size_bytes: int = 0
    """How large these files are together."""


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
                f"{name} is already there and is not a hand-off file. Move it away, or choose another folder."
            )
    return tuple(there)


def already_there(name: str) -> str:
    """A sentence: an earlier hand-off is in the way."""
    return (
        f"{name} is already there, from an earlier hand-off. Allow it to be replaced (--replace), or choose "
        "another folder."
    )


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
    planned = preview(shoot, choices).planned
    before = earlier(folder, planned)
    if before and not replace:
        raise HandoffError(already_there(before[0]))
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        why = error.strerror or error
        raise HandoffError(f"The folder {folder} could not be created: {why}. Choose another.") from error
    reports: list[HandoffReport] = []
    troubles: list[str] = []
    formats = chosen(choices)
    whole, done = sum(map(_weight, formats)), 0
    for one in formats:
        if stop():
            raise HandoffStopped("The hand-off was stopped; finished files stay.")
        doing(one.word)
        own = share(progress, done / whole, _weight(one) / whole)
        done += _weight(one)
        try:
            for report in one.write(shoot, folder, choices, stop, own):
                reports.append(report)
                wrote(report)
        except HandoffStopped:
            raise
        except HandoffError as error:
            troubles.append(str(error))
        except (AudioError, OSError, ValueError) as error:
            # What a format did not foresee ends that format, not the others.
            why = (getattr(error, "strerror", None) or str(error)).rstrip(".")
            troubles.append(f"Not everything could be written ({one.word}): {why}. Choose another folder.")
        own(1.0)
    done_names = {report.path.name for report in reports}
    written = [one for one in planned if one.name in done_names]
    sizes = [size for one in written for size in _sizes(folder / one.name, one.inside)]
    return HandedOver(
        tuple(reports),
        tuple(dict.fromkeys(troubles)),
        leftovers(folder, written),
        files=len(sizes),
        size_bytes=sum(sizes),
    )


def _sizes(path: Path, inside: Sequence[str]) -> Iterator[int]:
    """Sizes of the files at a path: a file, those of these names in a folder, or all in a folder."""
    if not path.is_dir():
        files: Iterable[Path] = (path,)
    else:
        files = (path / name for name in inside) if inside else path.rglob("*")
    for one in files:
        try:
            if one.is_file():
                yield one.stat().st_size
        except OSError:
            continue


def _check(shoot: SongView, choices: Choices) -> None:
    if not chosen(choices):
        raise HandoffError("No format is chosen. Choose at least one.")
    start_number(choices.start, choices.rate or timeline_rate(shoot))


def _weight(one: Format) -> int:
    """About how long a format takes beside others, so that progress runs evenly."""
    return 50 if one.reads_clips else 1


def share(progress: Progress, before: float, part: float) -> Progress:
    """The progress of a part of the work, as one of the whole."""
    return lambda fraction: progress(min(1.0, before + part * fraction))
