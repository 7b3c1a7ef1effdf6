"""The shoots opened or saved last."""

from pathlib import Path

from PySide6.QtCore import QObject, QSettings, Signal

from app.model.document.change import Change
from app.window.session import Session

KEY = "recent/shoots"
MOST = 8


class Recent(QObject):
    """Keeps their paths, the newest first, from one start to the next."""

    changed = Signal()

    def __init__(self, session: Session, settings: QSettings, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._session, self._settings = session, settings
        session.changed.connect(self._on_session_changed)

    @property
    def paths(self) -> list[Path]:
        """The shoots, the newest first. Whether they are still there is not looked at."""
        kept = self._settings.value(KEY)
        names = [kept] if isinstance(kept, str) else kept if isinstance(kept, list) else []
        return [Path(name) for name in names if name][:MOST]

    def forget(self, path: Path) -> None:
        """Take a shoot off the list; its file stays."""
        self._keep([one for one in self.paths if one != path])

    def clear(self) -> None:
        """Take all off the list."""
        self._keep([])

    def _on_session_changed(self, change: Change, origin: str) -> None:
        path = self._session.path
        if origin in ("open", "save") and path is not None:
            path = path.absolute()
            if self.paths[:1] != [path]:
                self._keep([path, *(one for one in self.paths if one != path)])

    def _keep(self, paths: list[Path]) -> None:
        self._settings.setValue(KEY, [str(path) for path in paths[:MOST]])
        self.changed.emit()
