"""What is seen of the slate page: black on white in every scheme, for it is read by cameras.

Only what changes is painted, and at once: an event of Qt's would come some milliseconds later.
"""

from dataclasses import dataclass

from PySide6.QtCore import QRect, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QImage, QPainter, QPaintEvent
from PySide6.QtWidgets import QWidget

from app.engine.slate_showing import quiet
from app.window.slate.slate_layout import SlateLayout, slate_layout

WHITE, BLACK, GREY = QColor("#ffffff"), QColor("#000000"), QColor("#595959")
LETTERS = 0.78
"""Height of a line of text as a share of its box."""


@dataclass(frozen=True, slots=True)
class SlateWords:
    """What the page says besides the running time."""

    title: str = ""
    where: str = ""
    take: str = ""
    settings: str = ""
    """Speed, and the frame rate to set."""
    flash: str = ""
    """In the field that flashes."""
    foot: str = ""
    help: str = ""
    """In the place of the code, as long as there is none."""


class SlatePage(QWidget):
    """Shows what it is told; knows nothing of songs."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent, Qt.WindowType.Window)
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setWindowTitle("Slate – Anglebook")
        self.words = SlateWords()
        self.time = ""
        self.flashing = False
        self._code: QImage | None = None
        self._data = b""

    @property
    def boxes(self) -> SlateLayout:
        """Where things stand."""
        return slate_layout(self.width(), self.height())

    @property
    def has_code(self) -> bool:
        """Whether a code is shown."""
        return self._code is not None

    def show_words(self, words: SlateWords) -> None:
        """Say something else."""
        if words != self.words:
            self.words = words
            self.setAccessibleName("Slate")
            self.setAccessibleDescription(", ".join(filter(None, (words.title, words.where, words.take))))
            self.update()

    def show_time(self, text: str) -> None:
        """Show a song time."""
        if text != self.time:
            self.time = text
            self._paint_now(self.boxes.time)

    def show_flash(self, on: bool) -> None:
        """Flash, or no longer."""
        if on != self.flashing:
            self.flashing = on
            self._paint_now(self.boxes.flash)

    def show_code(self, modules: tuple[bytes, int] | None) -> None:
        """Show a code, one byte a module and modules in a row; None for none."""
        if modules is None:
            if self._code is None:
                return
            self._code = None
        else:
            self._data, side = modules
            self._code = QImage(self._data, side, side, side, QImage.Format.Format_Grayscale8)
        self._paint_now(self.boxes.code)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.fillRect(event.rect(), WHITE)
        boxes, words = self.boxes, self.words
        seen = QRectF(event.rect())
        if seen.intersects(boxes.code):
            self._draw_code(painter, boxes.code)
            if self._code is None:
                inset = 0.12 * boxes.code.width()
                self._write(painter, boxes.code.adjusted(inset, inset, -inset, -inset), words.help)
        if seen.intersects(boxes.flash):
            painter.fillRect(boxes.flash, WHITE if self.flashing else BLACK)
            if not self.flashing:
                self._write(painter, boxes.flash, words.flash, colour=WHITE, inset=0.04)
        if seen.intersects(boxes.time):
            self._write(painter, boxes.time, self.time, bold=True, widest="00:00.0")
        lines = (
            (boxes.title, words.title, True, BLACK),
            (boxes.where, words.where, False, BLACK),
            (boxes.take, words.take, True, BLACK),
            (boxes.settings, words.settings, False, BLACK),
            (boxes.foot, words.foot, False, GREY),
        )
        for box, text, bold, colour in lines:
            if seen.intersects(box):
                self._write(painter, box, text, bold=bold, colour=colour)

    def _paint_now(self, box: QRectF) -> None:
        self.repaint(box.toAlignedRect().adjusted(-1, -1, 1, 1))

    def _draw_code(self, painter: QPainter, box: QRectF) -> None:
        """As large as whole pixels of the screen to a module allow; Qt would blur others."""
        if self._code is None:
            return
        ratio = self.devicePixelRatioF()
        modules = self._code.width()
        size = max(1, int(box.width() * ratio / (modules + 2 * quiet())))
        side = modules * size
        left = round(box.center().x() * ratio - side / 2)
        top = round(box.center().y() * ratio - side / 2)
        painter.save()
        painter.scale(1 / ratio, 1 / ratio)
        painter.drawImage(QRect(left, top, side, side), self._code)
        painter.restore()

    def _write(
        self,
        painter: QPainter,
        box: QRectF,
        text: str,
        *,
        bold: bool = False,
        colour: QColor = BLACK,
        widest: str = "",
        inset: float = 0.0,
    ) -> None:
        """Write lines as large as they fit; ``widest`` keeps the size of figures that run."""
        if not text:
            return
        box = box.adjusted(inset * box.width(), 0, -inset * box.width(), 0)
        lines = text.split("\n")
        font = QFont(self.font())
        font.setBold(bold)
        font.setPixelSize(max(6, int(LETTERS * box.height() / len(lines))))
        measure = QFontMetricsF(font)
        wide = max(measure.horizontalAdvance(line) for line in (*lines, widest))
        if wide > box.width():
            font.setPixelSize(max(6, int(font.pixelSize() * box.width() / wide)))
        painter.setFont(font)
        painter.setPen(colour)
        painter.drawText(box, Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft, text)
