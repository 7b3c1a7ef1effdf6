"""The whole song as a strip: its loudness, the letters of the sections, and how deep it is covered."""

from collections.abc import Sequence

from PySide6.QtCore import QLineF, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.model.coverage.coverage import SectionCoverage
from app.window.parts import theme as looks
from app.window.parts.theme import Theme

Peaks = Sequence[tuple[float, float]]


class Overview(QWidget):
    """A strip one clicks to go to that moment of the song."""

    wanted = Signal(float)
    """A moment of the song (seconds) was clicked."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self._duration_s = 0.0
        self._peaks: Peaks = ()
        self._sections: Sequence[SectionCoverage] = ()
        self._final = True
        self._seen = (0.0, 0.0)
        self._at_s: float | None = None
        self._playing_s: float | None = None
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self.setAccessibleName("Overview of the song")
        self.setToolTip(
            "The whole song. The line shows how many takes cover each bar. Click to go there; "
            "Left and Right jump a twentieth of the song."
        )
        theme.changed.connect(self.update)

    def show_song(
        self, duration_s: float, sections: Sequence[SectionCoverage], *, final: bool = True
    ) -> None:
        """Show a song of that length with its coverage; ``final``: no clip is still to be placed."""
        self._duration_s, self._sections, self._final = duration_s, sections, final
        self.update()

    def show_peaks(self, peaks: Peaks) -> None:
        """Show the song's loudness: lowest and highest sample of equal stretches."""
        self._peaks = peaks
        self.update()

    def show_seen(self, start_s: float, end_s: float) -> None:
        """Frame the stretch that the score shows."""
        self._seen = (start_s, end_s)
        self.update()

    def show_at(self, song_s: float | None) -> None:
        """Mark the chosen bar."""
        self._at_s = song_s
        self.update()

    def show_playing(self, song_s: float) -> None:
        """Mark where the music is."""
        old, self._playing_s = self._playing_s, song_s
        for moment in (old, song_s):
            if moment is not None and self._duration_s > 0:
                self.update(round(self._x(moment)) - 6, 0, 12, self.height())

    def sizeHint(self) -> QSize:
        return QSize(400, round(self._theme.em() * 5.2))

    def paintEvent(self, event: QPaintEvent) -> None:
        p = QPainter(self)
        if self._duration_s <= 0:
            return
        em = self._theme.em()
        letters, depth = round(em * 1.3), round(em * 1.4)
        wave = QRectF(0, letters, self.width(), self.height() - letters - depth - 4)
        self._paint_wave(p, wave)
        self._paint_depth(p, QRectF(0, wave.bottom() + 4, self.width(), depth - 2))
        self._paint_letters(p, letters)
        dim, ink = self._theme.colour("edge"), self._theme.colour("ink")
        left, right = self._x(self._seen[0]), self._x(self._seen[1])
        p.setPen(QPen(dim, 1))
        p.drawRect(QRectF(round(left) + 0.5, 0.5, max(2, round(right - left) - 1), self.height() - 1))
        if self._at_s is not None:
            x = round(self._x(self._at_s)) + 0.5
            p.setPen(QPen(ink, 2))
            p.drawLine(QLineF(x, letters - 4, x, self.height()))
        if self._playing_s is not None:
            x = self._x(self._playing_s)
            p.setPen(Qt.PenStyle.NoPen)
            p.setBrush(ink)
            p.drawPolygon(
                QPolygonF([QPointF(x - 5, letters), QPointF(x + 5, letters), QPointF(x, letters + 7)])
            )
            p.setPen(QPen(ink, 1))
            p.drawLine(QLineF(x, letters, x, self.height()))

    def mousePressEvent(self, event: QMouseEvent) -> None:
        self._go(event.position().x())

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        if event.buttons() & Qt.MouseButton.LeftButton:
            self._go(event.position().x())

    def keyPressEvent(self, event: QKeyEvent) -> None:
        step = {Qt.Key.Key_Left: -0.05, Qt.Key.Key_Right: 0.05}.get(Qt.Key(event.key()))
        if step is None:
            super().keyPressEvent(event)
            return
        at = self._at_s if self._at_s is not None else self._seen[0]
        self.wanted.emit(min(max(at + step * self._duration_s, 0.0), self._duration_s))

    def _go(self, x: float) -> None:
        if self._duration_s > 0 and self.width() > 0:
            self.wanted.emit(min(max(x / self.width(), 0.0), 1.0) * self._duration_s)

    def _x(self, song_s: float) -> float:
        return song_s * self.width() / self._duration_s

    def _paint_wave(self, p: QPainter, place: QRectF) -> None:
        p.setPen(QPen(self._theme.colour("edge"), 1))
        middle, half = place.center().y(), place.height() / 2
        if not self._peaks:
            p.drawLine(QLineF(place.left(), middle, place.right(), middle))
            return
        top = max(max(abs(low), abs(high)) for low, high in self._peaks) or 1.0
        lines = []
        for x in range(0, int(place.width()), 2):
            first = x * len(self._peaks) // int(place.width())
            last = max(first + 1, (x + 2) * len(self._peaks) // int(place.width()))
            part = self._peaks[first:last]
            if part:
                low = min(pair[0] for pair in part) / top * half
                high = max(pair[1] for pair in part) / top * half
                lines.append(QLineF(x + 0.5, middle - high, x + 0.5, middle - min(low, high - 0.5)))
        p.drawLines(lines)

    def _paint_depth(self, p: QPainter, place: QRectF) -> None:
        bars = [bar for section in self._sections for bar in section.bars]
        if not bars:
            return
        deepest = max(1, *(bar.depth for bar in bars))
        points, thin = [], []
        for bar in bars:
            y = place.bottom() - place.height() * bar.depth / deepest
            x0, x1 = self._x(bar.bar.start_s), self._x(bar.bar.end_s)
            points += [QPointF(x0, y), QPointF(x1, y)]
            if bar.thin is not None:
                thin.append((x0, x1, y))
        p.setPen(QPen(self._theme.colour("rule"), 1))
        p.drawLine(QLineF(place.left(), place.bottom() + 0.5, place.right(), place.bottom() + 0.5))
        p.setPen(QPen(self._theme.colour("ink"), 1.2))
        p.drawPolyline(QPolygonF(points))
        p.setPen(QPen(self._theme.colour("warm" if self._final else "dim"), 3))
        for x0, x1, y in thin:
            p.drawLine(QLineF(x0, y, x1, y))

    def _paint_letters(self, p: QPainter, height: float) -> None:
        font = self._theme.font(looks.SMALL, bold=True)
        p.setFont(font)
        ink = self._theme.colour("ink")
        before = -1.0
        starts = [round(self._x(section.section.start_s)) for section in self._sections]
        p.setPen(QPen(self._theme.colour("rule"), 1))
        p.drawLines([QLineF(x + 0.5, 0, x + 0.5, self.height()) for x in starts])
        for section, x in zip(self._sections, starts, strict=True):
            side = max(height - 3, p.fontMetrics().horizontalAdvance(section.section.letter) + 6)
            left = min(x + 2, self.width() - side - 2)  # the last one stays within
            if left < before:
                continue  # no room: the line alone tells
            before = left + side
            box = QRectF(left, 1, side, height - 3)
            p.fillRect(box, self._theme.colour("paper"))
            p.setPen(QPen(ink, 1))
            p.drawRect(box)
            p.drawText(box, Qt.AlignmentFlag.AlignCenter, section.section.letter)
