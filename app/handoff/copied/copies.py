"""Writes a folder of large files: checks names and free space, and leaves nothing half-written."""

import errno
import os
import shutil
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from app.handoff.beside_clips import check_folder
from app.handoff.neighbour import size_words
from app.handoff.outcome import (
    HandoffError,
    HandoffReport,
    HandoffStopped,
    Planned,
    Progress,
    Stop,
    count,
)
from app.model.document.verdict import Verdict
from app.model.guarding import guard_of
from app.model.on_song import Clip, SongView, Take
from app.model.storage.files import make_whole
from app.model.storage.guard import Guard, MayNotWrite
from audio.errors import AudioError, Stopped

_SPARE_BYTES = 16_000_000
"""Space to leave free on the disk."""


Which = Callable[[Clip, Take], bool]
"""Whether a take goes along."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Copy:
    """One file to be written."""

    planned: Planned
    takes: int
    """How many takes it holds."""
    sub_frame_offset_s: float
    """Distance between the place of its take and the whole frame or sample it starts on; seconds."""
    make: Callable[[Path, Stop, Progress], None]
    """Writes it to a path where nothing is yet, and verifies it. Raises AudioError, OSError."""


@dataclass(frozen=True, slots=True)
class Plan:
    """What would be written."""

    copies: tuple[Copy, ...]
    cannot: tuple[str, ...]
    """What cannot be written, and why; one sentence each."""
    notes: tuple[str, ...] = ()
    """Notes on all of it, one sentence each."""

    @property
    def bytes_needed(self) -> int:
        """Size of all files together."""
        return sum(one.planned.size_bytes for one in self.copies)

    @property
    def names(self) -> tuple[str, ...]:
        """Names of all files."""
        return tuple(one.planned.name for one in self.copies)

    @property
    def lines(self) -> tuple[str, ...]:
        """All notes for the person, one sentence each."""
        return (*self.notes, *(line for one in self.copies for line in one.planned.lines), *self.cannot)


def is_placed(clip: Clip, take: Take) -> bool:
    """Whether a take is beyond doubt. A copy cannot be switched off, so doubtful takes have none."""
    return take.verdict is Verdict.PLACED


def why_left_out(take: Take) -> str:
    """Why a take has no copy."""
    if take.verdict is Verdict.DOUBTFUL:
        return "it is in doubt; check it first"
    return "it was not chosen"


def is_ours(path: Path, ours: Callable[[Path], bool]) -> bool:
    """Whether ``ours`` recognises a file, or every file of a folder."""
    try:
        if path.is_symlink() or not path.is_dir():
            return path.is_file() and not path.is_symlink() and ours(path)
        return all(one.is_file() and not one.is_symlink() and ours(one) for one in path.iterdir())
    except (AudioError, OSError):
        return False


def is_in_folder_of_ours(path: Path, ending: str, ours: Callable[[Path], bool]) -> bool:
    """Whether a path is a folder of copies whose name has that ending, or one of the copies in such a folder.

    A folder is ours when a file in it is, or when nothing is to be seen in it. Before it is written, every
    file within that is in the way is looked at by itself.
    """
    if path.is_symlink():
        return False
    if path.is_dir():
        seen = (
            [one for one in path.iterdir() if not one.name.startswith(".")]
            if path.name.endswith(ending)
            else [path]
        )
        return not seen or any(one.is_file() and is_ours(one, ours) for one in seen)
    return path.parent.name.endswith(ending) and not path.parent.is_symlink() and is_ours(path, ours)


def write_copies(
    shoot: SongView,
    folder: Path,
    plan: Plan,
    ours: Callable[[Path], bool],
    stop: Stop,
    progress: Progress,
    proof: str,
) -> HandoffReport:
    """Write all files of a plan into a folder, made where needed. Raises HandoffError, HandoffStopped.

    Files of an earlier hand-off are replaced. A file in the way that is not ours, or a disk without room,
    stops everything before anything is written. A file that cannot be made is reported, and the rest goes on.
    ``proof`` is the sentence that says how every file was verified.
    """
    guard = guard_of(shoot)
    _check_folder(guard, folder, plan, ours)
    whole = max(1, plan.bytes_needed)
    done, takes, worst_s = 0, 0, 0.0
    written: list[Copy] = []
    failed: list[str] = []
    for one in plan.copies:

        def made(target: Path, one: Copy = one, done: int = done) -> None:
            size = one.planned.size_bytes
            one.make(target, stop, lambda part: progress((done + part * size) / whole))

        try:
            if stop():
                raise Stopped("Stopped.")
            make_whole(folder / one.planned.name, made, guard)
        except Stopped as error:
            raise HandoffStopped(
                f"Stopped. {len(written)} of {count(len(plan.copies), 'file')} done. They stay; nothing "
                "unfinished is left."
            ) from error
        except AudioError as error:
            failed.append(f"{one.planned.name}: not written. {error}")
        except OSError as error:
            if error.errno in (errno.ENOSPC, errno.EDQUOT):
                raise HandoffError(
                    f"The disk is full: {len(written)} of {count(len(plan.copies), 'file')} done. "
                    "Free some space, or choose a folder on another disk."
                ) from error
            failed.append(f"{one.planned.name}: not written ({error.strerror or error}). Check the disk.")
        else:
            written.append(one)
            takes += one.takes
            worst_s = max(worst_s, abs(one.sub_frame_offset_s))
        done += one.planned.size_bytes
        progress(min(1.0, done / whole))
    size = sum(one.planned.size_bytes for one in written)
    lines = [f"{count(len(written), 'file')} written, {size_words(size)}.", *([proof] if written else [])]
    lines += [*plan.notes, *(line for one in written for line in one.planned.lines), *failed, *plan.cannot]
    return HandoffReport(path=folder, lines=tuple(lines), takes=takes, worst_sub_frame_offset_s=worst_s)


def _check_folder(guard: Guard, folder: Path, plan: Plan, ours: Callable[[Path], bool]) -> None:
    check_folder(folder, guard)
    try:
        guard.check(folder)
        folder.mkdir(parents=True, exist_ok=True)
        free = shutil.disk_usage(folder).free
    except OSError as error:
        why = error.strerror or error
        raise HandoffError(f"The folder {folder} could not be created: {why}. Choose another.") from error
    replaced = [0]
    for one in plan.copies:
        path = folder / one.planned.name
        if not os.path.lexists(path):
            continue
        try:
            guard.check(path)
        except MayNotWrite as error:
            raise HandoffError(
                f"{path.name} cannot be replaced: {error.strerror}. Choose another folder."
            ) from error
        if path.is_dir() or not is_ours(path, ours):
            raise HandoffError(
                f"{path.name} is already there and is not a hand-off file. Move it away, or choose another "
                "folder."
            )
        replaced.append(path.stat().st_size)
    # A file that is replaced gives its room back when the new one is whole.
    needed = plan.bytes_needed - sum(replaced) + max(replaced) + _SPARE_BYTES
    if free < needed:
        raise HandoffError(
            f"There is not enough space for {folder.name}: it needs {size_words(needed)}, and only "
            f"{size_words(free)} are free. Free some space, or choose a folder on another disk."
        )
