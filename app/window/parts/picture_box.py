"""One picture of a clip, sixteen by nine."""

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QWidget

from app.model.on_song import Clip
from app.window.parts import theme as looks
from app.window.parts import words
from app.window.parts.clip_pictures import Pictures
from app.window.parts.theme import Theme


class PictureBox(QWidget):
    """Shows the picture of a clip at a moment, or says why there is none."""

    def __init__(self, theme: Theme, pictures: Pictures, width: float, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme, self._pictures = theme, pictures
        self._clip: Clip | None = None
        self._clip_s = 0.0
        self._without = "No picture here"
        self.set_width(width)
        self.setAccessibleName("Picture")
        theme.changed.connect(self.update)
        pictures.arrived.connect(self.update)

    def show_moment(self, clip: Clip | None, clip_s: float = 0.0, without: str = "No picture here") -> None:
        """Show the picture of a moment of a clip; ``without`` is said when there is no clip."""
        self._clip, self._clip_s, self._without = clip, clip_s, without
        self.setAccessibleDescription(
            f"{words.file_name(clip)} at {words.song_time(clip_s)}" if clip else without
        )
        self.update()

    def set_width(self, width: float) -> None:
        """Make the picture that wide."""
        self.setFixedSize(round(width), round(width * 9 / 16))

    def paintEvent(self, event: QPaintEvent) -> None:
        p = QPainter(self)
        p.fillRect(self.rect(), self._theme.mixed(self._theme.colour("ink"), 0.08))
        ratio = self.devicePixelRatioF()
        image = None
        if self._clip is not None:
            image = self._pictures.get(self._clip, self._clip_s, self.height(), ratio)
        if image is None or image.isNull():
            sound = self._clip is not None and self._clip.frame_rate is None
            text = "Sound only" if sound else "…" if self._clip else self._without
            p.setPen(QPen(self._theme.colour("dim")))
            p.setFont(self._theme.font(looks.SMALL))
            p.drawText(self.rect(), Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap, text)
            return
        size = image.deviceIndependentSize()
        scale = min(self.width() / size.width(), self.height() / size.height())
        wide, high = size.width() * scale, size.height() * scale
        p.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        p.drawImage(QRectF((self.width() - wide) / 2, (self.height() - high) / 2, wide, high), image)
