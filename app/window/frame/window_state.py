"""What the window remembers from one start to the next: where it stood, and what belonged to which shoot."""

import hashlib
from pathlib import Path

from PySide6.QtCore import QByteArray, QSettings

GEOMETRY = "window/geometry"
COLUMNS = "clips/column widths"
SHOOTS = "shoots"
MOST = 40
"""Shoots of which something is remembered."""


class WindowState:
    """Keeps values in the settings; those of a shoot under its file's place, never in the shoot itself."""

    def __init__(self, settings: QSettings) -> None:
        self._settings = settings

    def bytes(self, key: str) -> QByteArray | None:
        """A state as Qt packs it."""
        value = self._settings.value(key)
        return value if isinstance(value, QByteArray) else None

    def keep_bytes(self, key: str, state: QByteArray) -> None:
        """Keep a state as Qt packs it."""
        self._settings.setValue(key, state)

    def text(self, shoot: Path, key: str) -> str:
        """What was kept of a shoot; empty where nothing was."""
        return str(self._settings.value(f"{SHOOTS}/{_name(shoot)}/{key}", "") or "")

    def keep_text(self, shoot: Path, key: str, text: str) -> None:
        """Keep something of a shoot."""
        name = _name(shoot)
        order = [one for one in str(self._settings.value("shoots-order", "") or "").split() if one != name]
        for gone in order[MOST - 1 :]:
            self._settings.remove(f"{SHOOTS}/{gone}")
        self._settings.setValue("shoots-order", " ".join([name, *order[: MOST - 1]]))
        self._settings.setValue(f"{SHOOTS}/{name}/{key}", text)


def _name(shoot: Path) -> str:
    return hashlib.sha256(str(shoot.absolute()).encode(errors="surrogateescape")).hexdigest()[:16]
