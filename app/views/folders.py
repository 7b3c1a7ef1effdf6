"""Folders of the user's own in which the window keeps things; never beside the clips."""

from dataclasses import dataclass
from pathlib import Path

from PySide6.QtCore import QStandardPaths

_Kind = QStandardPaths.StandardLocation


@dataclass(frozen=True, slots=True)
class Folders:
    """Where the window keeps what."""

    pictures: Path
    """Pictures of clips; can be thrown away at any time."""
    unsaved: Path
    """Safe copies of shoots that have no file yet."""


def user_folders() -> Folders:
    """The folders the system sets aside for this user."""
    cache = Path(QStandardPaths.writableLocation(_Kind.GenericCacheLocation))
    data = Path(QStandardPaths.writableLocation(_Kind.GenericDataLocation))
    return Folders(cache / "anglebook" / "pictures", data / "anglebook" / "unsaved")
