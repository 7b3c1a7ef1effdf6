"""Buttons that carry their action's words, tip and key."""

from PySide6.QtGui import QAction
from PySide6.QtWidgets import QPushButton, QWidget


class ActionButton(QPushButton):
    """A button for an action; follows its text and whether it can be used."""

    def __init__(self, action: QAction, *, main: bool = False, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._action = action
        self.setProperty("main", main)
        self.clicked.connect(action.trigger)
        action.changed.connect(self._follow)
        self._follow()

    def _follow(self) -> None:
        text = self._action.text().replace("&", "")
        self.setText(text)
        self.setAccessibleName(text)
        self.setToolTip(self._action.toolTip())
        self.setEnabled(self._action.isEnabled())
