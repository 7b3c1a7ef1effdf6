"""Moments of one clip side by side, as large as there is room for; a click goes to one."""

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QMouseEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.model.on_song import Clip
from app.window.clips.picture_cell import moments, paint_picture
from app.window.parts import theme as looks
from app.window.parts import words
from app.window.parts.clip_pictures import Pictures
from app.window.parts.theme import Theme

GAP = 4
STEP = 24
"""Pictures are read at heights that are multiples of this, so that a window made larger by a little needs no
new ones."""
LEAST, MOST = 3, 8
"""Pictures side by side."""


class MomentStrip(QWidget):
    """Paints the pictures with their times below."""

    picked = Signal(float)
    """A moment of the clip, in seconds."""

    def __init__(self, theme: Theme, pictures: Pictures, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme, self._pictures = theme, pictures
        self._clip: Clip | None = None
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setAccessibleName("Moments of the clip")
        self.setToolTip("Click a picture to go there")
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        pictures.arrived.connect(self.update)
        theme.changed.connect(self.update)

    def minimumSizeHint(self) -> QSize:
        em = self._theme.em()
        return QSize(round(em * 8), round(em * 3))

    def show_clip(self, clip: Clip | None) -> None:
        """Show the moments of a clip, or none."""
        self._clip = clip
        self.update()

    @property
    def boxes(self) -> list[tuple[QRectF, float]]:
        """Where each picture is, and the moment it shows."""
        clip = self._clip
        if clip is None or clip.frame_rate is None or not clip.duration_s:
            return []
        most = (self.width() - (LEAST - 1) * GAP) / LEAST * 9 / 16
        high = max(STEP, int(min(self.height() - self._caption, most)) // STEP * STEP)
        count = min(max(1, int((self.width() + GAP) // (high * 16 / 9 + GAP))), MOST)
        wide = min(high * 16 / 9, float(self.width()))
        return [
            (QRectF(number * (wide + GAP), 0, wide, high), clip_s)
            for number, clip_s in enumerate(moments(clip, count))
        ]

    @property
    def _caption(self) -> float:
        return self._theme.em(looks.SMALL) * 1.3

    def paintEvent(self, event: QPaintEvent) -> None:
        p = QPainter(self)
        p.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        p.setFont(self._theme.font(looks.SMALL))
        for box, clip_s in self.boxes:
            assert self._clip is not None
            ratio = self.devicePixelRatioF()
            paint_picture(p, box, self._theme, self._pictures, self._clip, clip_s, ratio)
            p.setPen(QPen(self._theme.colour("dim")))
            p.drawText(
                QRectF(box.left(), box.bottom(), box.width(), self._caption),
                Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter,
                words.song_time(clip_s, 1),
            )

    def mousePressEvent(self, event: QMouseEvent) -> None:
        for box, clip_s in self.boxes:
            if box.contains(event.position()):
                self.picked.emit(clip_s)
