"""In which folder a question about a file begins: where the last one of its kind was answered."""

import os
from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QSettings

from app.model.storage.home import home

SECTION = "folders"


class LastFolders:
    """Keeps a folder for each kind of question, from one start to the next."""

    def __init__(self, settings: QSettings, near: Callable[[], Path | None]) -> None:
        """``near`` gives a folder of the open shoot, or None; for kinds of which nothing is remembered."""
        self._settings, self._near = settings, near

    def start(self, kind: str) -> str:
        """The folder to begin in: the remembered one, one of the shoot, or the person's own."""
        remembered = str(self._settings.value(f"{SECTION}/{kind}", "") or "")
        for folder in (Path(remembered) if remembered else None, self._near()):
            if folder is not None and folder.is_dir():
                return str(folder)
        return str(home() or Path(os.sep))

    def keep(self, kind: str, folder: Path) -> None:
        """Keep the folder of an answer."""
        self._settings.setValue(f"{SECTION}/{kind}", str(folder.absolute()))
