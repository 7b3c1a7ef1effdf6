"""Which files are clips, among those that a person names and those in folders."""

import os
from collections.abc import Callable, Collection, Sequence
from pathlib import Path

from app.model.storage.own_bundle import in_own_bundle
from audio.copies.own_copies import is_own_copy
from audio.errors import Unreadable
from audio.files.companions import is_companion


def nobody_listens(sentence: str) -> None:
    """Tell nobody."""


def find_clips(
    paths: Sequence[Path],
    *,
    leave_out: Collection[Path] = (),
    passed_over: Callable[[str], None] = nobody_listens,
) -> list[Path]:
    """List the clips among files and in folders and all below them, in the order of their names.

    Files named themselves are taken whatever they are; in folders, hidden companions, files that are no
    media, and copies and films of an earlier hand-off are passed over. Paths come back absolute, each once;
    ``leave_out`` (the song, known clips) not at all. Folders that cannot be opened, such as ``lost+found``
    on a whole disk, are passed over too; ``passed_over`` is told of each in a sentence.

    Raises
    ------
    Unreadable
        A path is not there, or all that was named are folders that cannot be opened.
    """
    out: dict[Path, None] = {}
    skip = {_absolute(path) for path in leave_out}
    closed: dict[Path, str] = {}
    for path in paths:
        # Other than a Path's own methods these are quiet about folders that nobody may look into.
        if os.path.isdir(path):  # noqa: PTH112
            found = [
                one
                for one in sorted(_media_in(path, closed))
                if _absolute(one) in skip or not is_own_copy(one)
            ]
        elif os.path.lexists(path):
            found = [path]
        else:
            raise Unreadable(f"{path} was not found. Check the name and that the disk is connected.")
        out.update(dict.fromkeys(_absolute(one) for one in found))
    if closed and all(path in closed for path in paths):
        raise Unreadable(f"{next(iter(closed.values()))} Ask for permission, or choose another folder.")
    for sentence in closed.values():
        passed_over(sentence)
    return [path for path in out if path not in skip]


def _media_in(folder: Path, closed: dict[Path, str]) -> list[Path]:
    """Media in a folder and below it; ``closed`` is told of folders that cannot be opened."""

    def note(error: OSError) -> None:
        path = Path(error.filename)
        closed[path] = f"The folder {path} was passed over, because it cannot be opened: {error.strerror}."

    found = []
    for base, folders, files in os.walk(folder, onerror=note):
        folders[:] = sorted(name for name in folders if not name.startswith("."))
        if in_own_bundle(Path(base)):
            folders.clear()
            continue
        found += [path for name in files if not is_companion(path := Path(base, name))]
    return found


def _absolute(path: Path) -> Path:
    return Path(os.path.abspath(path))  # noqa: PTH100  (links are not followed)
