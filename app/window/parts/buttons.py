"""Buttons that carry their action's words, tip and key; and the button that closes a small window."""

from PySide6.QtGui import QAction, QIcon
from PySide6.QtWidgets import QDialog, QDialogButtonBox, QPushButton, QWidget


class ActionButton(QPushButton):
    """A button for an action; follows its text and whether it can be used."""

    def __init__(self, action: QAction, *, main: bool = False, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.action = action
        self.setProperty("main", main)
        self.clicked.connect(action.trigger)
        action.changed.connect(self._follow)
        self._follow()

    def _follow(self) -> None:
        text = self.action.text().replace("&", "")
        self.setText(text)
        self.setAccessibleName(text)
        self.setToolTip(self.action.toolTip())
        self.setEnabled(self.action.isEnabled())


def close_button(dialog: QDialog) -> QDialogButtonBox:
    """The button that closes a small window, as Esc does; words alone, for drawn signs drown in the dark."""
    kind = QDialogButtonBox.StandardButton.Close
    box = QDialogButtonBox(kind)
    box.button(kind).setIcon(QIcon())
    box.rejected.connect(dialog.close)
    return box
