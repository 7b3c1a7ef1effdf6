"""In which folder a question about a file begins: where the last one of its kind was answered."""

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QSettings

ROOM = "folders"


class LastFolders:
    """Keeps a folder for each kind of question, from one start to the next."""

    def __init__(self, settings: QSettings, near: Callable[[], Path | None]) -> None:
        """``near`` gives a folder of the open shoot, for kinds nothing is kept of; None: there is none."""
        self._settings, self._near = settings, near

    def start(self, kind: str) -> str:
        """The folder to begin in: the kept one, one of the shoot, or the person's own."""
        kept = str(self._settings.value(f"{ROOM}/{kind}", "") or "")
        for folder in (Path(kept) if kept else None, self._near()):
            if folder is not None and folder.is_dir():
                return str(folder)
        return str(Path.home())

    def keep(self, kind: str, folder: Path) -> None:
        """Keep the folder of an answer."""
        self._settings.setValue(f"{ROOM}/{kind}", str(folder.absolute()))
