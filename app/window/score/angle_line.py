"""An angle's name with its colour, in as many pieces as its takes have lines, and a line of small print."""

from PySide6.QtCore import QRectF
from PySide6.QtGui import QColor, QPainter, QPaintEvent
from PySide6.QtWidgets import QVBoxLayout, QWidget

from app.window.parts import theme as looks
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme


class AngleLine(QWidget):
    """Name, colour, small print."""

    def __init__(
        self,
        theme: Theme,
        name: str,
        line: str,
        colour: QColor,
        marks: int = 1,
        role: str = "dim",
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._colour, self._marks = colour, marks
        box = QVBoxLayout(self)
        box.setContentsMargins(round(theme.em() * 0.8), 0, 0, 0)
        box.setSpacing(0)
        box.addWidget(TextLabel(theme, name, size=looks.TEXT, wrap=False))
        box.addWidget(TextLabel(theme, line, size=looks.SMALL, role=role))
        self.setAccessibleName(f"{name}: {line}")

    def paintEvent(self, event: QPaintEvent) -> None:
        painter, each = QPainter(self), (self.height() - 2) / self._marks
        for n in range(self._marks):
            painter.fillRect(
                QRectF(0, 1 + n * each, 4, each - (3 if n + 1 < self._marks else 0)), self._colour
            )
