"""The frame of a clip that is shown at a moment, large, with its two neighbours below it or beside it."""

from PySide6.QtCore import QPointF, QRectF, QSize, QSizeF, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.model.edits.pins import frame_s
from app.model.on_song import Clip
from app.window.parts import theme as looks
from app.window.parts import words
from app.window.parts.clip_pictures import Pictures
from app.window.parts.theme import Theme

SHAPE = 9 / 16
LEAST_EM = 5.0
"""Least height; the places where a take could be need the rest."""


class FrameTrio(QWidget):
    """Three frames, each the very one."""

    def __init__(self, theme: Theme, pictures: Pictures, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme, self.pictures = theme, pictures
        self.clip: Clip | None = None
        self.frame = 0
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        self.setAccessibleName("The frame at this moment, and its neighbours")
        self.setToolTip("The frame at this moment, and the frames before and after it")
        theme.changed.connect(self.update)
        pictures.arrived.connect(self.update)

    def show_frame(self, clip: Clip | None, frame: int) -> None:
        """Show a frame of a clip, counted from 0, and its neighbours."""
        if (clip, frame) == (self.clip, self.frame):
            return
        self.clip, self.frame = clip, frame
        if clip is not None and clip.frame_rate is not None:
            self.setAccessibleDescription(f"frame {frame} of {words.file_name(clip)}")
        self.update()

    def height_for(self, width: int) -> int:
        """The height that three frames, the neighbours below, fill at a width."""
        low = self._theme.em(looks.SMALL) * 1.25
        gap = self._theme.em() * 0.4
        return round(width * SHAPE + low + (width - gap) / 2 * SHAPE + low)

    def sizeHint(self) -> QSize:
        wide = round(self._theme.em() * 16)
        return QSize(wide, self.height_for(wide))

    def minimumSizeHint(self) -> QSize:
        return QSize(round(self._theme.em() * 7), round(self._theme.em() * LEAST_EM))

    def paintEvent(self, event: QPaintEvent) -> None:
        p = QPainter(self)
        large, before, after = self.frames()
        self._draw(p, large, 0, "this frame")
        self._draw(p, before, -1, "before")
        self._draw(p, after, 1, "after")

    def frames(self) -> tuple[QRectF, QRectF, QRectF]:
        """Where this frame is drawn, the one before and the one after: as large as there is room for.

        The neighbours stand below it, or beside it where it is larger so.
        """
        low, gap = self._theme.em(looks.SMALL) * 1.25, self._theme.em() * 0.4
        room, high = float(self.width()), float(self.height())
        wide = min(room, (high - 2 * low) / (1.5 * SHAPE) + gap / 3)
        half = (wide - gap) / 2
        # Beside it two frames share its height, names and all.
        flat = min((room - gap + low / SHAPE / 2) / 1.5, (high - low) / SHAPE)
        if flat > wide:
            side = (flat * SHAPE - low) / 2
            size = QSizeF(side / SHAPE, side)
            large = QRectF(0, 0, flat, flat * SHAPE)
            left = flat + gap
            return large, QRectF(QPointF(left, 0), size), QRectF(QPointF(left, side + low), size)
        second = wide * SHAPE + low
        large = QRectF(0, 0, wide, wide * SHAPE)
        size = QSizeF(half, half * SHAPE)
        return large, QRectF(QPointF(0, second), size), QRectF(QPointF(half + gap, second), size)

    def _draw(self, p: QPainter, rect: QRectF, step: int, name: str) -> None:
        theme, clip = self._theme, self.clip
        if step and clip is not None and clip.frame_rate is None:
            return
        p.fillRect(rect, theme.mixed(theme.colour("ink"), 0.08))
        p.setFont(theme.font(looks.SMALL))
        number = self.frame + step
        text = ""
        if clip is None:
            text = "" if step else "No picture here"
        elif clip.frame_rate is None:
            text = "Sound only"
        elif number < 0 or number * frame_s(clip) >= clip.duration_s:
            text = "outside the clip"
        elif not self._picture(p, rect, clip, number):
            text = "…"
        if text:
            p.setPen(theme.colour("dim"))
            p.drawText(rect, Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap, text)
        if clip is None or clip.frame_rate is None:
            return
        p.setPen(QPen(theme.colour("warm" if step == 0 else "rule"), 2 if step == 0 else 1))
        p.setBrush(Qt.BrushStyle.NoBrush)
        p.drawRect(rect.adjusted(1, 1, -1, -1))
        p.setPen(theme.colour("dim"))
        where = QRectF(rect.left(), rect.bottom(), rect.width(), theme.em(looks.SMALL) * 1.2)
        parts = [name] if step else [name, str(number), words.song_time(number * frame_s(clip), 2)]
        while len(parts) > 1 and p.fontMetrics().horizontalAdvance(" · ".join(parts)) > rect.width():
            parts.pop(0)
        p.drawText(where, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter, " · ".join(parts))

    def _picture(self, p: QPainter, rect: QRectF, clip: Clip, number: int) -> bool:
        image = self.pictures.frame(clip, number, round(rect.height()), self.devicePixelRatioF())
        if image is None or image.isNull():
            return False
        size = image.deviceIndependentSize()
        scale = min(rect.width() / size.width(), rect.height() / size.height())
        wide, high = size.width() * scale, size.height() * scale
        p.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        p.drawImage(QRectF(rect.center().x() - wide / 2, rect.center().y() - high / 2, wide, high), image)
        return True
