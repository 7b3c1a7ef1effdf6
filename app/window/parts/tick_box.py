"""A box to tick whose edge is seen on any ground; the system's own drowns in the dark."""

from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QCheckBox, QStyle, QStyleOptionButton, QWidget

from app.window.parts.theme import Theme


class TickBox(QCheckBox):
    """Every box needs an accessible name and a tip of its own."""

    def __init__(self, theme: Theme, text: str, parent: QWidget | None = None) -> None:
        super().__init__(text, parent)
        self._theme = theme
        theme.changed.connect(self.update)

    def paintEvent(self, event: QPaintEvent) -> None:
        super().paintEvent(event)
        option = QStyleOptionButton()
        self.initStyleOption(option)
        box = self.style().subElementRect(QStyle.SubElement.SE_CheckBoxIndicator, option, self)
        p = QPainter(self)
        p.setRenderHint(QPainter.RenderHint.Antialiasing)
        p.setPen(QPen(self._theme.colour("ink" if self.hasFocus() else "edge"), 1))
        p.drawRoundedRect(box.toRectF().adjusted(0.5, 0.5, -0.5, -0.5), 2, 2)
