"""What may be written to: one place decides, and every writer asks it before it writes.

Clips and songs are only read, and a folder in which clips lie stays as it came out of the camera, with
everything below it. What is compared is what the disk knows a file by, not its name: a hard link, another
spelling or a way through a linked folder is the same file. A link in the place of the target is never
followed, for it decides elsewhere what is written over.
"""

import errno
import os
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from app.model.storage.home import home


class MayNotWrite(PermissionError):
    """Nothing may be written there.

    ``strerror`` says why, in words that go behind "could not be written:".
    """

    def __init__(self, path: Path, why: str) -> None:
        super().__init__(errno.EPERM, why, str(path))

    def __str__(self) -> str:
        return f"{self.filename} may not be written: {self.strerror}"


@dataclass(frozen=True, slots=True)
class Guard:
    """The files and folders that nothing may be written to."""

    media: tuple[Path, ...] = ()
    """Clips and songs."""
    folders: tuple[Path, ...] = ()
    """Folders of clips; all below them is guarded too."""

    def check(self, target: Path, *, own: bool = False) -> None:
        """Raises MayNotWrite where nothing may be written to a file or folder of that name.

        ``own``: what is there already is a document of the maker's own, which may be written over where it
        lies, in a folder of clips too; a new one is not put there.
        """
        if target.is_symlink():
            raise MayNotWrite(
                target, f"it is a link, to {os.path.realpath(target)}, and links are not followed"
            )
        if self._is_media(target):
            raise MayNotWrite(target, "it is a clip or a song of this shoot, and those are only read")
        if own and target.is_file():
            return
        folder = self.clip_folder(target.absolute().parent)
        if folder is not None:
            raise MayNotWrite(
                target, f"there are clips in {folder}, and nothing is written beside clips or below them"
            )

    def clip_folder(self, folder: Path) -> Path | None:
        """The folder of clips that a folder is or lies in; None where it lies in none.

        A folder that is not there, because its disk is not connected, counts by its name. The user's own
        folder, and those above it, guard only what lies directly in them: else a clip on its own there would
        leave no place to write to.
        """
        names = {os.path.realpath(one) for one in self.folders}
        known = set(_identities(self.folders))
        real = Path(os.path.realpath(folder))
        own = home()
        at_home = None if own is None else Path(os.path.realpath(own))
        for one in (real, *real.parents):
            if at_home is not None and one != real and (one == at_home or one in at_home.parents):
                return None
            if str(one) in names or not known.isdisjoint(_identities([one])):
                return one
        return None

    def instead(self, folder: Path) -> Path | None:
        """A folder of the same name that lies outside of all folders of clips; None where none is found."""
        real = Path(os.path.realpath(folder))
        for one in real.parents:
            if one != Path(one.anchor) and self.clip_folder(one) is None and one.is_dir():
                return one / real.name
        return None

    def _is_media(self, target: Path) -> bool:
        try:
            facts = target.stat()
        except (OSError, ValueError):
            return False
        # A file of a single name can only be one that ends alike: a slow disk is not asked for each.
        ending = target.suffix.casefold()
        alike = (one for one in self.media if facts.st_nlink > 1 or one.suffix.casefold() == ending)
        return (facts.st_dev, facts.st_ino) in _identities(alike)


NO_CLIPS = Guard()
"""Where no clip can be known of; links are not followed all the same."""


def _identities(paths: Iterable[Path]) -> Iterator[tuple[int, int]]:
    """What the disk knows the files and folders by that are there."""
    for path in paths:
        try:
            facts = path.stat()
        except (OSError, ValueError):
            continue
        yield facts.st_dev, facts.st_ino
