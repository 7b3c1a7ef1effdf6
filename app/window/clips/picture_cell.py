"""A strip of pictures in a row of the table of clips."""

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QRectF, QSize, Qt
from PySide6.QtGui import QPainter
from PySide6.QtWidgets import QStyledItemDelegate, QStyleOptionViewItem, QWidget

from app.model.on_song import Clip
from app.window.clips.clips_model import CLIP
from app.window.parts import theme as looks
from app.window.parts.clip_pictures import Pictures
from app.window.parts.style_sheet import padding
from app.window.parts.theme import Theme

HIGH = 2.0
"""Height of a picture, in heights of a line of text."""
GAP = 2
"""Pixels between two pictures."""


class PictureCell(QStyledItemDelegate):
    """Paints as many moments of a clip as there is room for.

    Pictures are wished for as a row is painted, so only rows in view have theirs read.
    """

    def __init__(self, theme: Theme, pictures: Pictures, parent: QWidget) -> None:
        super().__init__(parent)
        self._theme, self._pictures = theme, pictures

    def sizeHint(self, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex) -> QSize:
        em = self._theme.em()
        return QSize(strip_width(em, 1), round(em * HIGH) + 2 * padding(em))

    def paint(
        self, painter: QPainter, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex
    ) -> None:
        super().paint(painter, option, index)
        clip = index.data(CLIP)
        cell, em = QRectF(option.rect), self._theme.em()
        if not isinstance(clip, Clip) or not clip.duration_s:
            return
        painter.save()
        if clip.frame_rate is None:
            painter.setFont(self._theme.font(looks.SMALL))
            painter.setPen(self._theme.colour("dim"))
            room = cell.adjusted(padding(em) + 3, 0, 0, 0)
            painter.drawText(room, Qt.AlignmentFlag.AlignVCenter, "no picture")
        else:
            self._paint_strip(painter, cell, clip)
        painter.restore()

    def _paint_strip(self, painter: QPainter, cell: QRectF, clip: Clip) -> None:
        em = self._theme.em()
        high, wide = round(em * HIGH), _wide(em)
        count = max(1, int((cell.width() - 2 * padding(em) + GAP) // (wide + GAP)))
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        device = painter.device()
        ratio = device.devicePixelRatioF() if device is not None else 1.0
        top = cell.center().y() - high / 2
        for number, clip_s in enumerate(moments(clip, count)):
            box = QRectF(cell.left() + padding(em) + number * (wide + GAP), top, wide, high)
            paint_picture(painter, box, self._theme, self._pictures, clip, clip_s, ratio)


def paint_picture(
    painter: QPainter,
    box: QRectF,
    theme: Theme,
    pictures: Pictures,
    clip: Clip,
    clip_s: float,
    ratio: float,
) -> None:
    """Paint the picture of a moment into a box, whole and in its own shape."""
    painter.fillRect(box, theme.mixed(theme.colour("ink"), 0.08))
    image = pictures.get(clip, clip_s, box.height(), ratio)
    if image is None or image.isNull():
        return
    size = image.deviceIndependentSize()
    scale = min(box.width() / size.width(), box.height() / size.height())
    shown = QRectF(0, 0, size.width() * scale, size.height() * scale)
    shown.moveCenter(box.center())
    painter.drawImage(shown, image)


def moments(clip: Clip, count: int) -> list[float]:
    """So many moments of a clip, spread over all of it, in seconds.

    >>> moments(Clip("c", None, "a", duration_s=60.0), 3)
    [10.0, 30.0, 50.0]
    """
    return [clip.duration_s * (2 * number + 1) / (2 * count) for number in range(count)]


def strip_width(em: float, count: int) -> int:
    """Width of a cell with so many pictures."""
    return count * (_wide(em) + GAP) - GAP + 2 * padding(em)


def _wide(em: float) -> int:
    return round(round(em * HIGH) * 16 / 9)
