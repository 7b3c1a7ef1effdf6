"""The lag along a take, in frames: flat where it holds to the end, sloped where it drifts."""

from collections.abc import Sequence
from math import ceil
from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QMouseEvent, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.model.document.song import SongMap
from app.model.edits.pins import frame_s
from app.model.on_song import Clip, Take
from app.model.speeds import nominal_speed
from app.window.check import check_words
from app.window.parts import theme as looks
from app.window.parts import words
from app.window.parts.theme import Theme

if TYPE_CHECKING:
    from app.engine.checking import Proof

STEPS = (0.05, 0.1, 0.25, 0.5, 1.0, 2.0, 5.0, 10.0, 25.0, 50.0, 100.0, 250.0, 1000.0)


class LagView(QWidget):
    """Draws it, with its band of uncertainty and what was measured; a click goes to a moment."""

    wanted = Signal(float)
    """A moment of the song was clicked."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self._clip: Clip | None = None
        self.take: Take | None = None
        self._map = SongMap()
        self._proofs: Sequence[Proof] = ()
        self._at_s: float | None = None
        self._from_s: float | None = None
        self._colour = QColor()
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        self.setMinimumHeight(round(theme.em() * 3.6))
        self.setAccessibleName("Lag along the take")
        self.setToolTip(
            "How late the take runs along its length, in frames, when its start is in place. Dots are "
            "measured moments, rings the ones shown above; the band holds the true lag 95 times in 100. "
            "Click to look at a bar."
        )
        theme.changed.connect(self.update)

    def sizeHint(self) -> QSize:
        em = self._theme.em()
        return QSize(round(em * 34), round(em * 6))

    def show_take(
        self,
        clip: Clip,
        take: Take,
        song_map: SongMap,
        proofs: "Sequence[Proof]",
        colour: QColor,
    ) -> None:
        """Show a take, and what was measured of it on whatever line."""
        self._clip, self.take, self._map = clip, take, song_map
        self._proofs, self._colour = proofs, colour
        self.setAccessibleDescription(check_words.news(clip, take, ())[0])
        self.update()

    def show_nothing(self) -> None:
        """Show no take."""
        self._clip = self.take = self._at_s = None
        self._proofs = ()
        self.setAccessibleDescription("")
        self.update()

    def show_at(self, clip_s: float | None, from_s: float | None = None) -> None:
        """Mark the moment looked at, and the stretch from ``from_s`` (clip time) to it."""
        self._at_s, self._from_s = clip_s, from_s
        self.update()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        take = self.take
        if take is None or event.button() != Qt.MouseButton.LeftButton:
            return
        area = self._area()
        share = min(max((event.position().x() - area.left()) / max(1.0, area.width()), 0.0), 1.0)
        clip_s = take.clip_start_s + share * (take.clip_end_s - take.clip_start_s)
        self.wanted.emit(take.song_time(clip_s))

    def _area(self) -> QRectF:
        em = self._theme.em()
        return QRectF(self.rect()).adjusted(1, 1, -em * 5.6, -round(em * 1.3))

    def _points(self) -> list[tuple[float, float, float]]:
        """What was measured: time in the clip, frames late, half-width (0 for a dot)."""
        assert self._clip is not None
        assert self.take is not None
        unit = _unit_s(self._clip)
        found = [(p.clip_s, self._drift(p.clip_s) - p.lag_s / unit, 0.0) for p in self.take.lags]
        found += [
            (
                p.clip_s,
                self._drift(p.clip_s) + (p.late_s + self.take.song_time(p.clip_s) - p.song_s) / unit,
                max(p.uncertainty_s / unit, 0.005),
            )
            for p in self._proofs
            if p.late_s is not None
        ]
        return found

    def _drift(self, clip_s: float) -> float:
        """Frames late on the take's line, laid at its start at its nominal speed."""
        assert self._clip is not None
        assert self.take is not None
        apart = float(nominal_speed(self.take.speed).nominal) - self.take.speed
        return apart * (clip_s - self.take.clip_start_s) / _unit_s(self._clip)

    def paintEvent(self, event: QPaintEvent) -> None:
        p = QPainter(self)
        theme, area = self._theme, self._area()
        p.fillRect(area, theme.colour("panel"))
        p.setPen(QPen(theme.colour("rule"), 1))
        p.drawRect(area)
        if self.take is None or self._clip is None:
            return
        points = self._points()
        band = self.take.uncertainty_s / _unit_s(self._clip)
        ends = [self._drift(self.take.clip_start_s), self._drift(self.take.clip_end_s)]
        inside = sorted(abs(late) for _, late, _ in points)
        # A stray dot does not flatten the line; it is drawn at the edge.
        most = max(0.1, *(abs(end) + band for end in ends), inside[int(len(inside) * 0.95)] if inside else 0)
        most *= 1.25
        self._lines(p, area, most)
        self._line(p, area, most, band)
        p.setRenderHint(QPainter.RenderHint.Antialiasing)
        if self.take.reason.sway is not None:
            self._sway(p, area, most)
        for clip_s, late, half in points:
            if half or self.take.reason.sway is None:
                self._point(p, area, most, clip_s, late, half)
        p.setRenderHint(QPainter.RenderHint.Antialiasing, False)
        self._bars(p, area)
        self._marks(p, area)

    def _x(self, area: QRectF, clip_s: float) -> float:
        assert self.take is not None
        length = max(1e-6, self.take.clip_end_s - self.take.clip_start_s)
        return area.left() + (clip_s - self.take.clip_start_s) / length * area.width()

    @staticmethod
    def _y(area: QRectF, most: float, late: float) -> float:
        return area.center().y() - min(max(late / most, -1.0), 1.0) * (area.height() / 2 - 2)

    def _lines(self, p: QPainter, area: QRectF, most: float) -> None:
        theme, em = self._theme, self._theme.em()
        p.setFont(theme.font(looks.SMALL))
        step = next((s for s in STEPS if most / s <= 3.4), STEPS[-1])
        count = int(most / step)
        high = p.fontMetrics().height()
        every = max(1, ceil(high / max(1.0, step / most * area.height() / 2)))
        for n in range(-count, count + 1):
            y = self._y(area, most, n * step)
            p.setPen(
                QPen(
                    theme.colour("edge" if n == 0 else "rule"),
                    1,
                    Qt.PenStyle.SolidLine if n == 0 else Qt.PenStyle.DotLine,
                )
            )
            p.drawLine(QPointF(area.left(), y), QPointF(area.right(), y))
            if n % every == 0:
                unit = " ms" if self._clip is not None and self._clip.frame_rate is None else ""
                text = "0" if n == 0 else f"{abs(n) * step:g}{unit} {'late' if n > 0 else 'early'}"
                p.setPen(theme.colour("dim"))
                where = QRectF(area.right() + em * 0.4, y - em * 0.7, em * 5.4, em * 1.4)
                p.drawText(where, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter, text)

    def _line(self, p: QPainter, area: QRectF, most: float, band: float) -> None:
        assert self.take is not None
        start, end = self.take.clip_start_s, self.take.clip_end_s
        corners = [(start, band), (end, band), (end, -band), (start, -band)]
        shade = QColor(self._colour)
        shade.setAlphaF(0.25)
        p.setRenderHint(QPainter.RenderHint.Antialiasing)
        p.setPen(Qt.PenStyle.NoPen)
        p.setBrush(shade)
        p.drawPolygon(
            QPolygonF(
                [QPointF(self._x(area, t), self._y(area, most, self._drift(t) + b)) for t, b in corners]
            )
        )
        p.setPen(QPen(self._colour, 2))
        p.drawLine(
            QPointF(area.left(), self._y(area, most, self._drift(start))),
            QPointF(area.right(), self._y(area, most, self._drift(end))),
        )
        p.setRenderHint(QPainter.RenderHint.Antialiasing, False)

    def _sway(self, p: QPainter, area: QRectF, most: float) -> None:
        """The smooth lag itself, and what it is."""
        assert self._clip is not None
        assert self.take is not None
        unit, em = _unit_s(self._clip), self._theme.em()
        p.setPen(QPen(self._theme.colour("ink"), 1.5))
        p.setBrush(Qt.BrushStyle.NoBrush)
        line = QPolygonF()
        for at in self.take.lags:
            where = QPointF(
                self._x(area, at.clip_s), self._y(area, most, self._drift(at.clip_s) - at.lag_s / unit)
            )
            line.append(where)
        p.drawPolyline(line)
        p.setFont(self._theme.font(looks.SMALL))
        told = "measured lag; 95 of 100 moments lie in the band"
        p.drawText(
            area.adjusted(em * 0.4, em * 0.1, 0, 0),
            Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop,
            p.fontMetrics().elidedText(told, Qt.TextElideMode.ElideRight, int(area.width() - em)),
        )

    def _point(self, p: QPainter, area: QRectF, most: float, clip_s: float, late: float, half: float) -> None:
        em = self._theme.em()
        x, y = self._x(area, clip_s), self._y(area, most, late)
        if not half:
            p.setPen(Qt.PenStyle.NoPen)
            p.setBrush(self._theme.colour("ink"))
            p.drawEllipse(QPointF(x, y), em * 0.12, em * 0.12)
            return
        p.setPen(QPen(self._theme.colour("ink"), 1.2))
        p.setBrush(Qt.BrushStyle.NoBrush)
        p.drawLine(QPointF(x, self._y(area, most, late - half)), QPointF(x, self._y(area, most, late + half)))
        p.drawEllipse(QPointF(x, y), em * 0.25, em * 0.25)

    def _bars(self, p: QPainter, area: QRectF) -> None:
        assert self.take is not None
        theme, em = self._theme, self._theme.em()
        p.setFont(theme.font(looks.SMALL))
        p.setPen(theme.colour("dim"))
        free = area.left()
        for number, bar_s in enumerate(self._map.bars_s, 1):
            x = self._x(area, self.take.clip_time(bar_s))
            text = f"bar {number}" if free == area.left() else str(number)
            wide = p.fontMetrics().horizontalAdvance(text)
            if x < free or x + wide > area.right():
                continue
            p.drawLine(QPointF(x, area.bottom()), QPointF(x, area.bottom() + 3))
            p.drawText(QRectF(x, area.bottom() + 2, wide + 2, em * 1.2), Qt.AlignmentFlag.AlignLeft, text)
            free = x + wide + em * 2.2
        if not self._map.bars_s:
            for clip_s in (self.take.clip_start_s, self.take.clip_end_s):
                left = clip_s == self.take.clip_start_s
                side = Qt.AlignmentFlag.AlignLeft if left else Qt.AlignmentFlag.AlignRight
                where = QRectF(area.left(), area.bottom() + 2, area.width(), em * 1.2)
                p.drawText(where, side, words.song_time(clip_s, 1))

    def _marks(self, p: QPainter, area: QRectF) -> None:
        if self._at_s is None:
            return
        x = self._x(area, self._at_s)
        if self._from_s is not None:
            other = self._x(area, self._from_s)
            span = QRectF(min(x, other), area.top(), abs(x - other), area.height()).intersected(area)
            shade = self._theme.colour("warm")
            shade.setAlphaF(0.18)
            p.fillRect(span, shade)
        p.setPen(QPen(self._theme.colour("warm"), 1.5))
        p.drawLine(QPointF(x, area.top()), QPointF(x, area.bottom()))


def _unit_s(clip: Clip) -> float:
    """What lags are told in: frames, or milliseconds where there are no pictures."""
    return 0.001 if clip.frame_rate is None else frame_s(clip)
