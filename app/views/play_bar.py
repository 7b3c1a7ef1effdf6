"""The row of controls for playing."""

from PySide6.QtWidgets import QHBoxLayout, QWidget

from app.views.player import Player
from app.views.theme import Theme


class PlayBar(QWidget):
    """Play, what is heard, loop, volume, and where in the song one is."""

    def __init__(self, player: Player, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._player, self._theme = player, theme
        self.setAccessibleName("Playing")
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
