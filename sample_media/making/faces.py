"""What all four have: a face and boots."""

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter

from making.drawing import SKIN_SHADE, disc, fill, line


def face(painter: QPainter, look: float, cheeks: bool = True) -> None:
    """Closed eyes, nose and a small smile round the head's centre (radius 15); ``look`` -1 left, 1 right."""
    x = 4.5 * look
    for side in (-1, 1):
        eye = x + side * 5.4
        line(painter, "#4b2d22", 1.0, (eye - 2.2, -0.6), (eye, 0.6), (eye + 2.2, -0.6))
        line(painter, "#4b2d22", 1.0, (eye - 2.6, -5.0 - 0.4 * side), (eye + 2.4, -5.2 + 0.4 * side))
        if cheeks:
            fill(painter, "#d9775c", 70)
            disc(painter, eye + side * 1.2, 4.6, 2.8, 2.2)
    line(painter, SKIN_SHADE, 1.5, (x, 0.5), (x + 1.2 * (look or 1), 4.4), (x - 0.6, 4.8))
    line(painter, "#8d4534", 1.1, (x - 3.2, 8.4), (x, 9.6), (x + 3.2, 8.2))


def boot(painter: QPainter, x: float, y: float, side: int) -> None:
    fill(painter, "#241a18")
    painter.drawRoundedRect(QRectF(x - 6 + 2 * side, y - 7, 13, 7), 3, 3)
