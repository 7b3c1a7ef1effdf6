"""Large files for a folder of the maker's choosing: names, room on the disk, nothing left half-written."""

import errno
import os
import shutil
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from app.handoff.beside_clips import check_folder, identities
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
from app.model.on_song import SongView, Take
from app.model.storage.files import make_whole
from audio.errors import AudioError, Stopped

_SPARE_BYTES = 16_000_000
"""Left free on the disk beside what is written."""


@dataclass(frozen=True, slots=True)
class Copy:
    """One file to be written."""

    planned: Planned
    takes: int
    remainder_s: float
    """Distance between the place of its take and the whole frame or sample it is put on."""
    make: Callable[[Path, Stop, Progress], None]
    """Writes it to a path where nothing is yet, and proves it. Raises AudioError, OSError."""


@dataclass(frozen=True, slots=True)
class Plan:
    """What would be written."""

    copies: tuple[Copy, ...]
    cannot: tuple[str, ...]
    """What cannot be written, and why, a sentence each."""
    notes: tuple[str, ...] = ()
    """What holds for all of it, a sentence each."""

    @property
    def files(self) -> tuple[Planned, ...]:
        """The files, with their sizes and what is to be known of each."""
        return tuple(one.planned for one in self.copies)

    @property
    def bytes_needed(self) -> int:
        """Size of all files together."""
        return sum(one.planned.size_bytes for one in self.copies)

    def as_one(self, name: str) -> Planned:
        """All of it as one entry: a folder of that name."""
        return Planned(name, self.bytes_needed, self.lines)

    @property
    def lines(self) -> tuple[str, ...]:
        """Everything a person should know, a sentence each."""
        return (*self.notes, *(line for one in self.copies for line in one.planned.lines), *self.cannot)


def why_left_out(take: Take) -> str:
    """Why a take that was found does not go along."""
    if take.verdict is Verdict.DOUBTFUL:
        return "it is in doubt; decide it in Check first"
    return "it was not chosen"


def is_ours(path: Path, ours: Callable[[Path], bool]) -> bool:
    """Tell whether a file was written here, or a folder holds nothing else."""
    try:
        if path.is_symlink() or not path.is_dir():
            return path.is_file() and not path.is_symlink() and ours(path)
        return all(one.is_file() and not one.is_symlink() and ours(one) for one in path.iterdir())
    except (AudioError, OSError):
        return False


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

    Files of an earlier hand-off are replaced; a file of that name that is not ours stops the whole before
    anything is written, and so does a disk without room. A file that cannot be made is told, and the rest
    goes on. ``proof`` is the sentence that says what every file was found to be.
    """
    _check_folder(shoot, folder, plan, ours)
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
            make_whole(folder / one.planned.name, made)
        except Stopped as error:
            raise HandoffStopped(
                f"Stopped. {count(len(written), 'file')} of {len(plan.copies)} done and left; "
                "nothing half-written is left."
            ) from error
        except AudioError as error:
            failed.append(f"{one.planned.name}: not written. {error}")
        except OSError as error:
            if error.errno in (errno.ENOSPC, errno.EDQUOT):
                raise HandoffError(
                    f"The disk is full: {count(len(written), 'file')} of {len(plan.copies)} done. "
                    "Make room, or choose a folder on another disk."
                ) from error
            failed.append(f"{one.planned.name}: not written ({error.strerror or error}). Check the disk.")
        else:
            written.append(one)
            takes += one.takes
            worst_s = max(worst_s, abs(one.remainder_s))
        done += one.planned.size_bytes
        progress(min(1.0, done / whole))
    size = sum(one.planned.size_bytes for one in written)
    lines = [f"{count(len(written), 'file')} written, {size_words(size)}.", *([proof] if written else [])]
    lines += [*plan.notes, *(line for one in written for line in one.planned.lines), *failed, *plan.cannot]
    names = {one.planned.name for one in plan.copies}
    left = sorted(one.name for one in folder.iterdir() if one.name not in names and is_ours(one, ours))
    beside = tuple(f"{folder.name}/{name}" for name in left)
    return HandoffReport(folder, tuple(lines), takes, worst_s, beside)


def _check_folder(shoot: SongView, folder: Path, plan: Plan, ours: Callable[[Path], bool]) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
        free = shutil.disk_usage(folder).free
    except OSError as error:
        why = error.strerror or error
        raise HandoffError(f"The folder {folder} could not be made: {why}. Choose another.") from error
    clips = [Path(clip.media.path) for clip in shoot.clips]
    check_folder(folder, clips)
    kept = set(identities([*clips, *([Path(shoot.song.media.path)] if shoot.song else [])]))
    replaced = [0]
    for one in plan.copies:
        path = folder / one.planned.name
        if not os.path.lexists(path):
            continue
        if set(identities([path])) & kept:
            raise HandoffError(f"{path.name} there is a clip or the song of this shoot. Choose another.")
        if path.is_dir() or not is_ours(path, ours):
            raise HandoffError(
                f"{path.name} is there already and is no hand-off. Move it away, or choose another folder."
            )
        replaced.append(path.stat().st_size)
    # A file that is replaced gives its room back when the new one is whole.
    needed = plan.bytes_needed - sum(replaced) + max(replaced) + _SPARE_BYTES
    if free < needed:
        raise HandoffError(
            f"There is no room for {folder.name}: {size_words(needed)} are needed, but only "
            f"{size_words(free)} are free there. Make room, or choose a folder on another disk."
        )
