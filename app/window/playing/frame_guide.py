"""The frame guide: what is left of a picture in another shape, drawn over it."""

from enum import StrEnum

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPen

from app.model.framing import Crop


class Drawn(StrEnum):
    """How the guide is shown."""

    MASK = "mask"
    LINES = "lines"


MASK = QColor(0, 0, 0, 165)
DARK, LIGHT = QColor(0, 0, 0, 170), QColor(255, 255, 255, 230)


def guide_rect(picture: QRectF, crop: Crop, width: int, height: int) -> QRectF:
    """Where a crop lies in a picture that is drawn somewhere."""
    x, y = picture.width() / width, picture.height() / height
    return QRectF(picture.x() + crop.x * x, picture.y() + crop.y * y, crop.width * x, crop.height * y)


def draw_guide(painter: QPainter, picture: QRectF, inside: QRectF, drawn: Drawn) -> None:
    """Darken what falls away, or only draw a line around what stays that can be seen on any ground."""
    painter.save()
    if drawn is Drawn.MASK:
        for away in (
            QRectF(picture.left(), picture.top(), picture.width(), inside.top() - picture.top()),
            QRectF(picture.left(), inside.bottom(), picture.width(), picture.bottom() - inside.bottom()),
            QRectF(picture.left(), inside.top(), inside.left() - picture.left(), inside.height()),
            QRectF(inside.right(), inside.top(), picture.right() - inside.right(), inside.height()),
        ):
            painter.fillRect(away, MASK)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(QPen(DARK, 3))
    painter.drawRect(inside.adjusted(1.5, 1.5, -1.5, -1.5))
    painter.setPen(QPen(LIGHT, 1))
    painter.drawRect(inside.adjusted(1.5, 1.5, -1.5, -1.5))
    painter.restore()
