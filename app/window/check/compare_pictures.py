"""Pictures beside each other, with patches of each from shadows to highlights below them."""

from collections.abc import Sequence

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.window.check.compare_reading import Shown
from app.window.parts import theme as looks
from app.window.parts.theme import Theme

SHAPE = 9 / 16
LEAST_EM = 7.0
NAMES = ("Reference", "This take", "After the match")
TIP = (
    "The same moment of the song. Patches: mean colours from the shadows (left) to the highlights (right) of "
    "each picture, the reference above, the take below"
)


class ComparePictures(QWidget):
    """Draws up to three pictures in a row.

    Below each stand its patches; below those of a take, those of the reference once more touch them, so that
    the eye compares neighbours.
    """

    resized = Signal()
    """There is room for pictures of another size."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self._shown: Shown | None = None
        self._captions: tuple[str, ...] = ()
        self._names: Sequence[str] = NAMES
        self._note = ""
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setAccessibleName("Reference and take side by side")
        self.setToolTip(TIP)
        theme.changed.connect(self.update)

    def show_pictures(
        self, shown: Shown | None, captions: Sequence[str], note: str = "", names: Sequence[str] = NAMES
    ) -> None:
        """Draw what was read, with a caption below each name; ``note`` stands where a picture is to come."""
        self._shown, self._captions, self._note, self._names = shown, tuple(captions), note, names
        said = [f"{name}: {text}" for name, text in zip(names, captions, strict=False)]
        self.setAccessibleDescription("; ".join(said) or note)
        self.update()

    @property
    def pictures(self) -> int:
        """How many pictures are drawn."""
        return 0 if self._shown is None else len(self._shown.images)

    def wanted_lines(self) -> int:
        """How high pictures are drawn, in device pixels, in steps so that a little more room asks nothing."""
        high = self._cells(len(NAMES))[0].height() * self.devicePixelRatioF()
        return max(90, 90 * -(-round(high) // 90))

    def minimumSizeHint(self) -> QSize:
        em = self._theme.em()
        return QSize(round(em * 12), round(em * (LEAST_EM + 2.5)))

    def _cells(self, count: int) -> list[QRectF]:
        """Where so many pictures lie: as large as there is room for in a row."""
        em, gap = self._theme.em(), self._theme.em() * 0.5
        room = self.height() - self._head() - 2.2 * em - gap / 2
        wide = min((self.width() - gap * (count - 1)) / count, room / SHAPE)
        return [QRectF(n * (wide + gap), self._head(), wide, wide * SHAPE) for n in range(count)]

    def _head(self) -> float:
        return self._theme.em() * 1.2 + self._theme.em(looks.SMALL) * 1.3

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        # No higher than pictures so wide need: the list below has the rest.
        em, gap = self._theme.em(), self._theme.em() * 0.5
        wide = (self.width() - 2 * gap) / len(NAMES)
        self.setMaximumHeight(max(1, round(wide * SHAPE + self._head() + 2.5 * em + gap / 2)))
        self.resized.emit()

    def paintEvent(self, event: QPaintEvent) -> None:
        if not self._captions:
            return
        p, theme, em = QPainter(self), self._theme, self._theme.em()
        shown = self._shown
        for n, (cell, caption) in enumerate(zip(self._cells(len(NAMES)), self._captions, strict=False)):
            left = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
            p.setFont(theme.font(bold=True))
            p.setPen(theme.colour("ink"))
            p.drawText(QRectF(cell.left(), 0, cell.width(), em * 1.2), left, self._names[n])
            p.setFont(theme.font(looks.SMALL))
            p.setPen(theme.colour("dim"))
            said = p.fontMetrics().elidedText(caption, Qt.TextElideMode.ElideMiddle, round(cell.width()))
            p.drawText(QRectF(cell.left(), em * 1.2, cell.width(), self._head() - em * 1.2), left, said)
            p.fillRect(cell, theme.mixed(theme.colour("ink"), 0.08))
            if shown is None or n >= len(shown.images):
                p.drawText(cell, Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap, self._note)
                continue
            image = shown.images[n]
            scale = min(cell.width() / image.width(), cell.height() / image.height())
            wide, high = image.width() * scale, image.height() * scale
            p.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
            p.drawImage(QRectF(cell.center().x() - wide / 2, cell.top(), wide, high), image)
            self._patches(p, shown, n, cell)

    def _patches(self, p: QPainter, shown: Shown, n: int, cell: QRectF) -> None:
        em = self._theme.em()
        rows = [shown.patches[n]] if n == 0 else [shown.patches[0], shown.patches[n]]
        top, high = cell.bottom() + em * 0.3, 2.0 * em / len(rows)
        for row, colours in enumerate(rows):
            wide = cell.width() / len(colours)
            for place, colour in enumerate(colours):
                p.fillRect(QRectF(cell.left() + place * wide, top + row * high, wide + 0.5, high), colour)
