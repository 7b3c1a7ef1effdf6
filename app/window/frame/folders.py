"""Folders of the user's own in which the window keeps things; never beside the clips."""

from dataclasses import dataclass
from pathlib import Path

from PySide6.QtCore import QStandardPaths

from app.model.storage.cache import user_cache


@dataclass(frozen=True, slots=True)
class Folders:
    """Where the window keeps what."""

    pictures: Path
    """Pictures of clips; can be thrown away at any time."""
    unsaved: Path
    """Safe copies of shoots that have no file yet."""


def user_folders() -> Folders:
    """The folders the system sets aside for this user."""
    kind = QStandardPaths.StandardLocation.GenericDataLocation
    data = Path(QStandardPaths.writableLocation(kind))
    return Folders(user_cache() / "pictures", data / "anglebook" / "unsaved")
