"""The old master over the new one, joined by the pieces that live on.

What became of a stretch is told by its line and ground as well as by its word: kept and moved are joined by a
plain band, repeated by a dashed one; what was cut or added is hatched.
"""

from collections.abc import Sequence

from PySide6.QtCore import QLineF, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QBrush,
    QFontMetricsF,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QPolygonF,
)
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.model.document.song import Section
from app.model.renewing.told_pieces import Fate, Told
from app.window.master.piece_words import short_words, told_words
from app.window.parts import theme as looks
from app.window.parts.theme import Theme
from app.window.parts.words import song_time

Peak = tuple[float, float]
TIMES_S = (5.0, 10.0, 15.0, 30.0, 60.0, 120.0, 300.0, 600.0)
LEAST_TIME_EM = 4.0
"""Times are no nearer to each other than so many heights of a line."""


class TwoWaves(QWidget):
    """Shows both; a click or ← and → choose a piece."""

    chosen = Signal(int)
    """The number of a stretch in the list that is shown."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self._names = ("", "")
        self._lengths = (0.0, 0.0)
        self._peaks: tuple[Sequence[Peak], Sequence[Peak]] = ((), ())
        self._kept: list[list[Peak]] = [[], []]
        self._sections: tuple[Sequence[Section], Sequence[Section]] = ((), ())
        self._told: Sequence[Told] = ()
        self._numbers: Sequence[int | None] = ()
        self._row = -1
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName("Old master over new master")
        self.setToolTip("The old master over the new one. Click a piece, or go through them with ← and →")
        theme.changed.connect(self.update)

    def sizeHint(self) -> QSize:
        em = self._theme.em()
        return QSize(round(em * 50), round(em * 15))

    def minimumSizeHint(self) -> QSize:
        em = self._theme.em()
        return QSize(round(em * 20), round(em * 11))

    def show_masters(
        self,
        names: tuple[str, str],
        lengths_s: tuple[float, float],
        peaks: tuple[Sequence[Peak], Sequence[Peak]],
    ) -> None:
        """Show two masters, the old one first; ``peaks`` are lowest and highest values of equal stretches."""
        self._names, self._lengths, self._peaks = names, lengths_s, peaks
        self._kept = [[], []]
        self.update()

    def show_told(self, told: Sequence[Told], numbers: Sequence[int | None]) -> None:
        """Show what became of what; ``numbers`` are those that pieces are known by."""
        self._told, self._numbers = told, numbers
        self.setAccessibleDescription("\n".join(map(told_words, told)))
        self.update()

    def show_sections(self, old: Sequence[Section], new: Sequence[Section]) -> None:
        """Show the letters of sections."""
        self._sections = old, new
        self.update()

    def choose(self, row: int) -> None:
        """Show that a stretch is chosen; -1 for none."""
        self._row = row
        self.update()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        step = {Qt.Key.Key_Left: -1, Qt.Key.Key_Right: 1}.get(Qt.Key(event.key()))
        if step is None or event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier:
            super().keyPressEvent(event)
        elif self._told:
            self.chosen.emit(min(max(self._row + step, 0), len(self._told) - 1))

    def mousePressEvent(self, event: QMouseEvent) -> None:
        at = event.position()
        # Narrow ones lie over wide ones.
        for row in sorted(range(len(self._told)), key=lambda n: self._width(self._told[n])):
            if self._shape(self._told[row]).containsPoint(at, Qt.FillRule.OddEvenFill):
                self.chosen.emit(row)
                return

    def paintEvent(self, event: QPaintEvent) -> None:
        p = QPainter(self)
        p.setRenderHint(QPainter.RenderHint.Antialiasing)
        p.fillRect(self.rect(), self._theme.colour("paper"))
        if not any(self._lengths):
            return
        for row, one in enumerate(self._told):
            if row != self._row:
                self._ground(p, one, chosen=False)
        if 0 <= self._row < len(self._told):
            self._ground(p, self._told[self._row], chosen=True)
        for lane in (0, 1):
            self._lane(p, lane)
        for row, one in enumerate(self._told):
            self._label(p, one, self._numbers[row], chosen=row == self._row)

    # Where things lie.

    @property
    def _em(self) -> float:
        return self._theme.em(looks.SMALL)

    def _wave(self, lane: int) -> QRectF:
        """Where a master's waveform lies."""
        em = self._em
        head, foot = 1.5 * em, 1.3 * em
        high = max(2 * em, (self.height() - 2 * (head + foot) - 3.2 * em) / 2)
        top = head if lane == 0 else self.height() - foot - high
        return QRectF(em * 0.5, top, self.width() - em, high)

    def _x(self, seconds: float) -> float:
        wave = self._wave(0)
        return wave.left() + seconds / max(*self._lengths, 1e-9) * wave.width()

    def _width(self, one: Told) -> float:
        low, high = one.old_s or one.new_s or (0.0, 0.0)
        return high - low

    def _shape(self, one: Told) -> QPolygonF:
        old, new = self._wave(0), self._wave(1)
        if one.old_s is None or one.new_s is None:
            wave = old if one.new_s is None else new
            low, high = one.old_s or one.new_s or (0.0, 0.0)
            return QPolygonF(QRectF(self._x(low), wave.top(), self._x(high) - self._x(low), wave.height()))
        (a, b), (c, d) = one.old_s, one.new_s
        corners = (
            (a, old.top()),
            (b, old.top()),
            (b, old.bottom()),
            (d, new.top()),
            (d, new.bottom()),
            (c, new.bottom()),
            (c, new.top()),
            (a, old.bottom()),
        )
        return QPolygonF([QPointF(self._x(seconds), y) for seconds, y in corners])

    # How they are drawn.

    def _ground(self, p: QPainter, one: Told, *, chosen: bool) -> None:
        theme = self._theme
        line = Qt.PenStyle.DashLine if one.fate is Fate.REPEATED else Qt.PenStyle.SolidLine
        colour = theme.colour("ink" if chosen else "edge")
        p.setPen(QPen(colour, 2.4 if chosen else 1.2, line))
        if one.fate in (Fate.CUT, Fate.ADDED):
            p.setBrush(QBrush(theme.colour("edge"), Qt.BrushStyle.BDiagPattern))
        else:
            p.setBrush(theme.mixed(theme.colour("ink"), 0.14 if chosen else 0.05))
        p.drawPolygon(self._shape(one))

    def _lane(self, p: QPainter, lane: int) -> None:
        theme, wave, em = self._theme, self._wave(lane), self._em
        length_s = self._lengths[lane]
        right = self._x(length_s)
        p.setPen(QPen(theme.colour("rule"), 1))
        p.drawLine(QLineF(wave.left(), wave.center().y(), right, wave.center().y()))
        p.setPen(QPen(theme.colour("dim"), 1))
        left, middle, half = wave.left() + 0.5, wave.center().y(), wave.height() / 2
        p.drawLines(
            [
                QLineF(left + x, middle - high * half, left + x, middle - low * half)
                for x, (low, high) in enumerate(self._columns(lane, int(right - wave.left())))
            ]
        )
        p.setFont(theme.font(looks.SMALL, bold=True))
        p.setPen(theme.colour("ink"))
        name = f"{'New' if lane else 'Old'}: {self._names[lane]}, {song_time(length_s, 1)}"
        gap = em * 1.3
        head = QRectF(wave.left(), wave.bottom() if lane else wave.top() - gap, wave.width(), gap)
        p.drawText(head, Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft, name)
        after = wave.left() + QFontMetricsF(p.font()).horizontalAdvance(name) + em
        p.setFont(theme.font(looks.SMALL))
        p.setPen(theme.colour("dim"))
        self._times(p, lane, head, after)
        self._letters(p, lane)

    def _columns(self, lane: int, count: int) -> Sequence[Peak]:
        """Lowest and highest values, from -1 to 1, of so many columns; kept until the width changes."""
        peaks = self._peaks[lane]
        if not peaks or count < 1:
            return ()
        if len(self._kept[lane]) != count:
            most = max(max(-low, high) for low, high in peaks) or 1.0
            kept = []
            for x in range(count):
                first = x * len(peaks) // count
                part = peaks[first : max(first + 1, (x + 1) * len(peaks) // count)]
                kept.append((min(part)[0] / most, max(high for _, high in part) / most))
            self._kept[lane] = kept
        return self._kept[lane]

    def _times(self, p: QPainter, lane: int, head: QRectF, after: float) -> None:
        """Times along the outer side, right of the name."""
        least = self._em * LEAST_TIME_EM
        pixel_s = max(*self._lengths, 1e-9) / self._wave(0).width()
        step_s = next((one for one in TIMES_S if one / pixel_s >= least), TIMES_S[-1])
        at_s = step_s
        while at_s < self._lengths[lane]:
            x = self._x(at_s)
            if x - least / 2 > after:
                box = QRectF(x - least / 2, head.top(), least, head.height())
                p.drawText(box, Qt.AlignmentFlag.AlignCenter, song_time(at_s, 0))
            at_s += step_s

    def _letters(self, p: QPainter, lane: int) -> None:
        """Letters of sections, at the inner edge of the waveform where each begins."""
        theme, wave, em = self._theme, self._wave(lane), self._em
        p.setFont(theme.font(looks.SMALL, bold=True))
        free = 0.0
        for section in self._sections[lane]:
            x = self._x(section.start_s)
            if not section.letter or x < free:
                continue
            wide = QFontMetricsF(p.font()).horizontalAdvance(section.letter) + 0.5 * em
            box = QRectF(x, wave.top() if lane else wave.bottom() - 1.15 * em, wide, 1.15 * em)
            p.setPen(QPen(theme.colour("ink"), 1))
            p.setBrush(theme.colour("paper"))
            p.drawRect(box)
            p.drawText(box, Qt.AlignmentFlag.AlignCenter, section.letter)
            free = x + wide + 2

    def _label(self, p: QPainter, one: Told, number: int | None, *, chosen: bool) -> None:
        theme, em = self._theme, self._em
        old, new = self._wave(0), self._wave(1)
        p.setFont(theme.font(looks.SMALL, bold=chosen))
        full = short_words(one) if number is None else f"{number} {short_words(one)}"
        short = full if number is None else str(number)
        if one.old_s is not None and one.new_s is not None:
            span = [sum(ends) / 2 for ends in zip(one.old_s, one.new_s, strict=True)]
            middle_y = (old.bottom() + new.top()) / 2
        else:
            span = list(one.old_s or one.new_s or (0.0, 0.0))
            middle_y = (old if one.new_s is None else new).center().y()
        left, right = self._x(span[0]), self._x(span[1])
        room = right - left - 0.4 * em
        measure = QFontMetricsF(p.font())
        text = next((t for t in (full, short) if measure.horizontalAdvance(t) <= room), "")
        if not text and number is not None:
            text = short
        if not text:
            return
        wide = measure.horizontalAdvance(text) + 0.5 * em
        box = QRectF((left + right - wide) / 2, middle_y - 0.65 * em, wide, 1.3 * em)
        p.setPen(Qt.PenStyle.NoPen)
        p.setBrush(theme.colour("paper"))
        p.drawRoundedRect(box, 3, 3)
        p.setPen(theme.colour("ink"))
        p.drawText(box, Qt.AlignmentFlag.AlignCenter, text)
