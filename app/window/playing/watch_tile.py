"""One watched take: its picture just now, the frame guide over it, and whose it is."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, QRectF, Qt, Signal
from PySide6.QtGui import QFontMetrics, QImage, QMouseEvent, QPainter, QPaintEvent, QPen, QResizeEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.model.check_queue import is_open
from app.model.framing import Crop
from app.model.on_song import Clip, Take
from app.window.parts import theme as looks
from app.window.parts import words
from app.window.parts.theme import Theme
from app.window.playing.frame_guide import Drawn, draw_guide, guide_rect

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Pixels = NDArray[np.uint8]
    """A picture: RGB, shape (height, width, 3)."""


@dataclass(frozen=True, slots=True)
class Guide:
    """The frame guide of a tile."""

    crop: Crop
    drawn: Drawn


WRAPPED = Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap


def fitting(text: str, metrics: QFontMetrics, room: QRectF) -> str:
    """As much of a sentence as fits into a room: all of it, its beginning, or one line that ends in dots."""
    for part in (text, text.partition(":")[0].partition(".")[0] + "."):
        area = room.toAlignedRect()
        if metrics.boundingRect(area, WRAPPED, part).height() <= area.height():
            return part
    return metrics.elidedText(text, Qt.TextElideMode.ElideRight, int(room.width()))


class WatchTile(QWidget):
    """Paints one take; a press chooses it, a drag moves its frame guide."""

    chosen = Signal()
    resized = Signal()
    gripped = Signal()
    """A drag begins."""
    dragged = Signal(float, float)
    """The guide was moved by so many shares of the room there is."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self.clip: Clip | None = None
        self.take: Take | None = None
        self._name = self._without = self._about = ""
        self._marked = False
        self._image: QImage | None = None
        self._pixels: Pixels | None = None
        self._guide: Guide | None = None
        self._grip: QPointF | None = None
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setMinimumSize(round(theme.em() * 2), round(theme.em() * 2))
        theme.changed.connect(self.update)

    def show_take(self, clip: Clip, take: Take, angle: str, *, marked: bool) -> None:
        """Show a take from now on."""
        if self.take is None or self.take.id != take.id:
            self._image = self._pixels = None
        self.clip, self.take, self._name, self._marked = clip, take, angle, marked
        name = f"{angle}, {words.take_name(clip, take)}"
        self._about = f"{name}: click to hear this take; drag to move its frame guide"
        self.setAccessibleName(f"Picture of {name}")
        self.setToolTip(self._about if len(self.says) <= 1 else self._without)
        self.update()

    def show_words(self, text: str, angle: str = "") -> None:
        """Show no take but a sentence, in the seat of an angle or of none."""
        self.clip = self.take = self._image = self._pixels = self._guide = None
        self._name, self._without, self._marked = angle, text, False
        self.setAccessibleName(f"Picture of {angle}" if angle else "Picture")
        self.setToolTip(text)
        self.setAccessibleDescription(text)
        self.update()

    def set_picture(self, pixels: "Pixels") -> None:
        """Show a picture: RGB, shape (height, width, 3)."""
        if pixels is self._pixels:
            return
        height, width, _ = pixels.shape
        self._pixels = pixels  # the image below uses its memory
        self._image = QImage(pixels.data, width, height, 3 * width, QImage.Format.Format_RGB888)
        self.update()

    def set_guide(self, guide: Guide | None) -> None:
        """Draw a frame guide, or none."""
        if guide != self._guide:
            self._guide = guide
            self.setCursor(Qt.CursorShape.SizeAllCursor if guide else Qt.CursorShape.ArrowCursor)
            self.update()

    def say(self, text: str) -> None:
        """Say why there is no picture, as long as there is none."""
        if text != self._without:
            self._without = text
            self.setAccessibleDescription(text)
            self.setToolTip(text if len(text) > 1 else self._about)
            self.update()

    @property
    def says(self) -> str:
        """What is written where there is no picture."""
        return self._without if self._pixels is None else ""

    @property
    def picture_height(self) -> int:
        """Lines of the picture as it is shown, in pixels of the device; no more than the clip has."""
        lines = max(2, round(self._picture_rect().height() * self.devicePixelRatioF()))
        return min(lines, self.clip.height or lines) if self.clip else lines

    @property
    def shown_pixels(self) -> "Pixels | None":
        """The picture on screen, as it was given; None where there is none."""
        return self._pixels

    @property
    def caption(self) -> float:
        """Height of the line with the name under a picture."""
        return self._theme.em(looks.SMALL) * 1.3

    def paintEvent(self, event: QPaintEvent) -> None:
        p = QPainter(self)
        place = self._picture_rect()
        p.fillRect(place, self._theme.mixed(self._theme.colour("ink"), 0.08))
        if self._image is None:
            p.setPen(QPen(self._theme.colour("dim")))
            p.setFont(self._theme.font(looks.SMALL))
            inset = self._theme.em() * 0.5
            room = place.adjusted(inset, 0, -inset, 0)
            p.drawText(room, WRAPPED, fitting(self._without, p.fontMetrics(), room))
        else:
            p.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
            p.drawImage(place, self._image)
            if self._guide is not None and self.clip is not None:
                inside = guide_rect(place, self._guide.crop, self.clip.width, self.clip.height)
                draw_guide(p, place, inside, self._guide.drawn)
        self._draw_name(p, place)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self.resized.emit()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        if event.button() is not Qt.MouseButton.LeftButton or self.take is None:
            super().mousePressEvent(event)
            return
        self.chosen.emit()
        if self._guide is not None:
            self._grip = event.position()
            self.gripped.emit()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        if self._grip is None or self._guide is None or self.clip is None:
            return
        moved, self._grip = event.position() - self._grip, event.position()
        place, crop = self._picture_rect(), self._guide.crop
        room_x = (self.clip.width - crop.width) / self.clip.width * place.width() / 2
        room_y = (self.clip.height - crop.height) / self.clip.height * place.height() / 2
        self.dragged.emit(
            moved.x() / room_x if room_x >= 1 else 0.0, moved.y() / room_y if room_y >= 1 else 0.0
        )

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        self._grip = None
        super().mouseReleaseEvent(event)

    def _shape(self) -> float:
        if self.clip is not None and self.clip.width and self.clip.height:
            return self.clip.width / self.clip.height
        return 16 / 9

    def _picture_rect(self) -> QRectF:
        caption = self.caption if self._name else 0.0
        wide, high = float(self.width()), max(1.0, self.height() - caption)
        shape = self._shape()
        width = min(wide, high * shape)
        height = width / shape
        return QRectF((wide - width) / 2, (high - height) / 2, width, height)

    def _draw_name(self, p: QPainter, place: QRectF) -> None:
        if not self._name:
            return
        p.setFont(self._theme.font(looks.SMALL, bold=self._marked))
        if self._marked:
            p.fillRect(QRectF(place.left(), place.bottom(), place.width(), 2), self._theme.colour("ink"))
        text = self._name
        if self.clip is not None and self.take is not None:
            state = "" if not is_open(self.take) else "? "
            text = f"{state}{self._name} · {words.take_name(self.clip, self.take)}"
        metrics = p.fontMetrics()
        p.setPen(QPen(self._theme.colour("ink" if self._marked else "dim")))
        # Below an upright picture the words have the room beside it as well.
        left = min(place.left(), max(0.0, self.width() - metrics.horizontalAdvance(text)))
        line = QRectF(left, place.bottom(), self.width() - left, self.caption)
        fitting = metrics.elidedText(text, Qt.TextElideMode.ElideRight, int(line.width()))
        p.drawText(line, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter, fitting)
