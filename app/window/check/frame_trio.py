"""The frame of a clip that is shown at a moment, large, and its two neighbours below it."""

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.model.edits.pins import frame_s
from app.model.on_song import Clip
from app.window.parts import theme as looks
from app.window.parts import words
from app.window.parts.clip_pictures import Pictures
from app.window.parts.theme import Theme

SHAPE = 9 / 16


class FrameTrio(QWidget):
    """Three frames, each the very one."""

    def __init__(self, theme: Theme, pictures: Pictures, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme, self.pictures = theme, pictures
        self.clip: Clip | None = None
        self.frame = 0
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        self.setAccessibleName("The frame at this moment, and its neighbours")
        self.setToolTip("The frame at this moment; below it the one before and the one after")
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

    def hasHeightForWidth(self) -> bool:
        return True

    def heightForWidth(self, width: int) -> int:
        low = self._theme.em(looks.SMALL) * 1.25
        gap = self._theme.em() * 0.4
        return round(width * SHAPE + low + (width - gap) / 2 * SHAPE + low)

    def sizeHint(self) -> QSize:
        wide = round(self._theme.em() * 16)
        return QSize(wide, self.heightForWidth(wide))

    def minimumSizeHint(self) -> QSize:
        wide = round(self._theme.em() * 7)
        return QSize(wide, self.heightForWidth(wide))

    def paintEvent(self, event: QPaintEvent) -> None:
        p = QPainter(self)
        low, gap = self._theme.em(looks.SMALL) * 1.25, self._theme.em() * 0.4
        # As large as the height allows: the three together are about 27 by 32.
        wide = min(float(self.width()), (self.height() - 2 * low) / (1.5 * SHAPE) + gap / 3)
        half = (wide - gap) / 2
        large = QRectF(0, 0, wide, wide * SHAPE)
        self._draw(p, large, 0, "this frame")
        second = large.bottom() + low
        self._draw(p, QRectF(0, second, half, half * SHAPE), -1, "one before")
        self._draw(p, QRectF(half + gap, second, half, half * SHAPE), 1, "one after")

    def _draw(self, p: QPainter, rect: QRectF, step: int, name: str) -> None:
        theme, clip = self._theme, self.clip
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
        at = f"{name} · {number} · {words.song_time(number * frame_s(clip), 2)}" if step == 0 else name
        p.drawText(where, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter, at)

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
