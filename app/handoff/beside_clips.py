"""Nothing is ever written beside clips: a card stays as it came out of the camera."""

import os
from collections.abc import Iterable
from pathlib import Path

from app.handoff.outcome import HandoffError


def check_folder(folder: Path, clips: Iterable[str | Path]) -> None:
    """Raises HandoffError for a folder in which one of the clips lies, under whatever name.

    A folder that is not there, because its disk is not connected, counts by its name.
    """
    own = {os.path.realpath(folder), *identities([folder])}
    parents = {Path(path).parent for path in clips}
    if not own.isdisjoint({*map(os.path.realpath, parents), *identities(parents)}):
        raise HandoffError(
            f"Clips of this shoot lie in {folder}, and nothing is written beside clips. Choose another "
            "folder."
        )


def identities(paths: Iterable[Path]) -> Iterable[tuple[int, int]]:
    """What the disk knows the files and folders by that are there."""
    for path in paths:
        try:
            facts = path.stat()
        except (OSError, ValueError):
            continue
        yield facts.st_dev, facts.st_ino
