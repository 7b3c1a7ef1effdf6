"""Pictures in step with the song: one angle, or up to nine."""

from PySide6.QtWidgets import QVBoxLayout, QWidget

from app.session import Session
from app.views.player import Player
from app.views.theme import Theme


class WatchPanel(QWidget):
    """Shows what the chosen take, or every take that covers the moment, shows just now."""

    def __init__(self, player: Player, session: Session, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._player, self._session, self._theme = player, session, theme
        self.setAccessibleName("Pictures")
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
