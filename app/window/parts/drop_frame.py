"""An area with a dashed frame: files can be dropped here."""

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QWidget

from app.window.parts.theme import Theme


class DropFrame(QWidget):
    """Paints the frame; what lies on it is up to others."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._look = theme
        theme.changed.connect(self.update)

    def paintEvent(self, event: QPaintEvent) -> None:
        p = QPainter(self)
        p.setRenderHint(QPainter.RenderHint.Antialiasing)
        em = self._look.em()
        p.setPen(QPen(self._look.colour("edge"), 1.5, Qt.PenStyle.DashLine))
        p.drawRoundedRect(QRectF(self.rect()).adjusted(em, em, -em, -em), em * 0.6, em * 0.6)
