"""Opens what is still missing in large type, from whichever place lists it, and keeps it as the shoot is."""

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QWidget

from app.model.document.change import Change
from app.window.parts.missing_window import MissingWindow
from app.window.parts.theme import Theme
from app.window.session import Session


class LargeType(QObject):
    """At most one such window at a time."""

    def __init__(self, session: Session, theme: Theme, over: QWidget | None = None) -> None:
        """``over`` is the window that it belongs to; None where it stands alone."""
        super().__init__(over)
        self._session, self._theme, self._over = session, theme, over
        self.window: MissingWindow | None = None
        session.changed.connect(self._on_session_changed)

    def open(self) -> None:
        """Show the window, in front of the others."""
        if self.window is None:
            self.window = MissingWindow(self._theme, self._over)
            self.window.destroyed.connect(self._on_gone)
        self.window.show_shoot(self._session.view)
        self.window.show()
        self.window.raise_()
        self.window.activateWindow()

    def _on_session_changed(self, change: Change, origin: str) -> None:
        if self.window is not None and change:
            self.window.show_shoot(self._session.view)

    def _on_gone(self) -> None:
        self.window = None
