"""Small helpers round QPainter: colours, limbs, light."""

from collections.abc import Sequence
from functools import cache

import numpy as np
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import (
    QBrush,
    QColor,
    QImage,
    QLinearGradient,
    QPainter,
    QPainterPath,
    QPen,
    QPolygonF,
    QRadialGradient,
)

WIDTH, HEIGHT = 480, 270

SKIN = "#e3b08c"
SKIN_SHADE = "#c68e6c"


@cache
def colour(name: str, alpha: int = 255) -> QColor:
    """A colour by its hexadecimal name."""
    made = QColor(name)
    made.setAlpha(alpha)
    return made


def canvas(scale: float = 1.0) -> QImage:
    """An empty picture of the shoot's size times ``scale``."""
    image = QImage(round(WIDTH * scale), round(HEIGHT * scale), QImage.Format.Format_RGB32)
    image.fill(0)
    return image


def painter_on(image: QImage, scale: float = 1.0) -> QPainter:
    """A smooth painter in units of the shoot's size."""
    painter = QPainter(image)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.scale(scale, scale)
    return painter


def pixels(image: QImage) -> np.ndarray[tuple[int, int, int], np.dtype[np.uint8]]:
    """The picture's bytes, shape (h, w, 4), in the order blue, green, red, unused."""
    row = image.bytesPerLine() // 4
    flat = np.frombuffer(image.constBits(), np.uint8, image.sizeInBytes())
    return flat.reshape(image.height(), row, 4)[:, : image.width()]


def pen(name: str, width: float, alpha: int = 255) -> QPen:
    """A round pen."""
    return QPen(
        colour(name, alpha), width, Qt.PenStyle.SolidLine, Qt.PenCapStyle.RoundCap, Qt.PenJoinStyle.RoundJoin
    )


def shape(*points: tuple[float, float]) -> QPolygonF:
    """A polygon."""
    return QPolygonF([QPointF(x, y) for x, y in points])


def fill(painter: QPainter, name: str | QBrush | QLinearGradient | QRadialGradient, alpha: int = 255) -> None:
    """Set the brush and drop the pen."""
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(colour(name, alpha) if isinstance(name, str) else name)


def disc(painter: QPainter, x: float, y: float, rx: float, ry: float | None = None) -> None:
    """An ellipse round a point."""
    painter.drawEllipse(QPointF(x, y), rx, rx if ry is None else ry)


def line(painter: QPainter, name: str, width: float, *points: tuple[float, float], alpha: int = 255) -> None:
    """A round-ended line through points."""
    painter.setPen(pen(name, width, alpha))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawPolyline(shape(*points))
    painter.setPen(Qt.PenStyle.NoPen)


def curve(
    start: tuple[float, float], *parts: tuple[tuple[float, float], tuple[float, float]]
) -> QPainterPath:
    """A closed path of quadratic curves, each given as (control, end)."""
    path = QPainterPath(QPointF(*start))
    for (cx, cy), (ex, ey) in parts:
        path.quadTo(cx, cy, ex, ey)
    path.closeSubpath()
    return path


def upright(top: float, bottom: float, *stops: tuple[float, str]) -> QLinearGradient:
    """A gradient from ``top`` down to ``bottom``."""
    return ramp((0, top), (0, bottom), *stops)


def ramp(start: tuple[float, float], end: tuple[float, float], *stops: tuple[float, str]) -> QLinearGradient:
    """A gradient between two points."""
    gradient = QLinearGradient(QPointF(*start), QPointF(*end))
    for place, name in stops:
        gradient.setColorAt(place, colour(name))
    return gradient


def glow(painter: QPainter, x: float, y: float, radius: float, name: str, strength: float) -> None:
    """Light round a point, added to what is there; ``strength`` from 0 to 1."""
    if strength <= 0:
        return
    gradient = QRadialGradient(QPointF(x, y), radius)
    for place, share in ((0.0, 1.0), (0.25, 0.55), (0.6, 0.16), (1.0, 0.0)):
        gradient.setColorAt(place, colour(name, round(255 * strength * share)))
    painter.save()
    painter.setCompositionMode(QPainter.CompositionMode.CompositionMode_Screen)
    fill(painter, gradient)
    disc(painter, x, y, radius)
    painter.restore()


def shadow(painter: QPainter, x: float, y: float, rx: float, ry: float, strength: float = 0.5) -> None:
    """A soft dark ellipse, as under feet."""
    gradient = QRadialGradient(QPointF(0, 0), 1)
    gradient.setColorAt(0.0, colour("#100b0a", round(255 * strength)))
    gradient.setColorAt(0.5, colour("#100b0a", round(170 * strength)))
    gradient.setColorAt(1.0, colour("#100b0a", 0))
    painter.save()
    painter.translate(x, y)
    painter.scale(rx, ry)
    fill(painter, gradient)
    disc(painter, 0, 0, 1)
    painter.restore()


def limb(
    painter: QPainter,
    start: tuple[float, float],
    end: tuple[float, float],
    upper: float,
    lower: float,
    bend: int,
    sleeve: str,
    width: float,
) -> None:
    """An arm or leg of two bones from ``start`` to ``end``; ``bend`` tells to which side the joint goes."""
    a, b = np.array(start), np.array(end)
    span = float(np.clip(np.hypot(*(b - a)), abs(upper - lower) + 0.1, upper + lower - 0.1))
    along = (b - a) / max(float(np.hypot(*(b - a))), 1e-6)
    share = (upper**2 - lower**2 + span**2) / (2 * span)
    out = float(np.sqrt(max(upper**2 - share**2, 0.0))) * bend
    joint = a + along * share + np.array([-along[1], along[0]]) * out
    line(painter, sleeve, width, start, (float(joint[0]), float(joint[1])), end)


def hand(painter: QPainter, x: float, y: float, size: float = 4.6) -> None:
    """A hand from afar."""
    fill(painter, SKIN)
    disc(painter, x, y, size)


def vignette(strength: float = 0.55) -> QImage:
    """Darker corners, to lay over a finished picture."""
    image = QImage(WIDTH, HEIGHT, QImage.Format.Format_ARGB32_Premultiplied)
    image.fill(0)
    painter = painter_on(image)
    gradient = QRadialGradient(QPointF(WIDTH / 2, HEIGHT * 0.46), WIDTH * 0.64)
    gradient.setColorAt(0.0, colour("#0b0d12", 0))
    gradient.setColorAt(0.55, colour("#0b0d12", 0))
    gradient.setColorAt(1.0, colour("#0b0d12", round(255 * strength)))
    painter.fillRect(QRectF(0, 0, WIDTH, HEIGHT), gradient)
    painter.end()
    return image


def strip(painter: QPainter, points: Sequence[tuple[float, float]], names: Sequence[str]) -> None:
    """Quads between consecutive pairs of points (top, bottom, top, bottom, …) in turning colours."""
    for index in range(0, len(points) - 2, 2):
        fill(painter, names[index // 2 % len(names)])
        painter.drawPolygon(shape(points[index], points[index + 1], points[index + 3], points[index + 2]))
