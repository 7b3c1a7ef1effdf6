"""An angle's name with its colour and a line of small print."""

from PySide6.QtCore import QRectF
from PySide6.QtGui import QColor, QPainter, QPaintEvent
from PySide6.QtWidgets import QVBoxLayout, QWidget

from app.views.parts import theme as looks
from app.views.parts.ink import Ink
from app.views.parts.theme import Theme


class AngleLine(QWidget):
    """Name, colour, small print."""

    def __init__(
        self,
        theme: Theme,
        name: str,
        line: str,
        colour: str,
        role: str = "dim",
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._colour = QColor(colour)
        box = QVBoxLayout(self)
        box.setContentsMargins(round(theme.em() * 0.8), 0, 0, 0)
        box.setSpacing(0)
        box.addWidget(Ink(theme, name, size=looks.TEXT, wrap=False))
        box.addWidget(Ink(theme, line, size=looks.SMALL, role=role))
        self.setAccessibleName(f"{name}: {line}")

    def paintEvent(self, event: QPaintEvent) -> None:
        QPainter(self).fillRect(QRectF(0, 1, 4, self.height() - 2), self._colour)
