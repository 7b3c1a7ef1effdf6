"""How the map is drawn: boxed letters, numbered bars, the master's loudness with its beats, the time."""

from bisect import bisect_left, bisect_right
from collections.abc import Iterator
from dataclasses import dataclass

from PySide6.QtCore import QLineF, QPointF, QRect, QRectF, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPen, QPolygonF

from app.model.document.song import Section, SongMap
from app.model.song_map.map_grid import metres_along
from app.window.parts import theme as looks
from app.window.parts import words
from app.window.parts.theme import Theme
from app.window.song.map_peaks import MapPeaks
from app.window.song.map_scale import MapScale

LEAST_BEAT, LEAST_BAR = 5.0, 6.0
"""Beats and bar lines nearer to each other than so many pixels are left out."""
TIMES_S = (0.1, 0.5, 1.0, 2.0, 5.0, 10.0, 15.0, 30.0, 60.0, 120.0, 300.0, 600.0)
HEAD = 6.0
"""Half the width of the playing position's head."""


@dataclass(frozen=True, slots=True)
class Rows:
    """What lies at which height of the viewport, in logical pixels."""

    em: float
    """Height of a line of text."""
    height: float
    """Of the viewport."""

    @property
    def bars(self) -> float:
        """Where the numbers of bars begin; letters stand above."""
        return round(self.em * 1.9)

    @property
    def wave(self) -> float:
        """Where the loudness begins."""
        return self.bars + round(self.em * 1.4)

    @property
    def times(self) -> float:
        """Where the times begin."""
        return self.height - round(self.em * 1.3)


class MapPainter:
    """Paints what is in view, without what moves over it."""

    def __init__(self, painter: QPainter, theme: Theme, scale: MapScale, rows: Rows) -> None:
        self._p, self._theme, self._scale, self._rows = painter, theme, scale, rows

    def whole(self, song_map: SongMap, sections: tuple[Section, ...], peaks: MapPeaks, chosen: int) -> None:
        """Everything, from the ground up."""
        p, rows, theme = self._p, self._rows, self._theme
        width = self._scale.width
        p.fillRect(QRectF(0, 0, width, rows.height), theme.colour("paper"))
        p.fillRect(QRectF(0, rows.wave, width, rows.times - rows.wave), theme.colour("panel"))
        self._ground(sections, chosen)
        self._wave(peaks)
        self._beats(song_map)
        self.bars(song_map, [self._scale.x(section.start_s) for section in sections])
        self._letters(sections, chosen, song_map)
        self._times()

    def _ground(self, sections: tuple[Section, ...], chosen: int) -> None:
        if chosen < len(sections) > 1:
            x0, x1 = (self._scale.x(s) for s in (sections[chosen].start_s, sections[chosen].end_s))
            area = QRectF(x0, 0, x1 - x0, self._rows.times).intersected(
                QRectF(0, 0, self._scale.width, self._rows.times)
            )
            self._p.fillRect(area, self._theme.colour("chosen"))

    def _wave(self, peaks: MapPeaks) -> None:
        rows, scale = self._rows, self._scale
        middle, half = (rows.wave + rows.times) / 2, (rows.times - rows.wave) / 2 - 3
        ink = self._theme.mixed(self._theme.colour("ink"), 0.32, "panel")
        if not peaks.most:
            self._p.setPen(QPen(ink, 1))
            self._p.drawLine(QLineF(0, middle, scale.width, middle))
            return
        high = half / peaks.most
        columns = peaks.columns(scale.left_s, scale.right_s, int(scale.width))
        self._p.setPen(Qt.PenStyle.NoPen)
        self._p.setBrush(ink)
        # Whole pixels, which are filled much faster than lines are drawn.
        self._p.drawRects(
            [
                QRect(x, round(middle - most * high), 1, max(1, round((most - least) * high)))
                for x, (least, most) in enumerate(columns)
            ]
        )
        self._p.setBrush(Qt.BrushStyle.NoBrush)

    def _beats(self, song_map: SongMap) -> None:
        """Beats over the loudness, as far as there is room between them."""
        seen = list(self._seen(song_map.beats_s))
        if len(seen) > 1 and (seen[-1] - seen[0]) / (len(seen) - 1) * self._scale.second < LEAST_BEAT:
            return
        bars = set(song_map.bars_s)
        top, bottom = self._rows.wave, self._rows.times
        places = [round(self._scale.x(beat)) + 0.5 for beat in seen if beat not in bars]
        self._p.setPen(QPen(self._theme.colour("edge"), 1, Qt.PenStyle.DotLine))
        self._p.drawLines([QLineF(x, top, x, bottom) for x in places])
        # The tick is what a beat is dragged by.
        self._p.setPen(QPen(self._theme.colour("dim"), 1))
        self._p.drawLines([QLineF(x, top - 4, x, top) for x in places])

    def bars(self, song_map: SongMap, edges: list[float]) -> None:
        """Bar lines, and as many of their numbers as there is room for between the edges of sections."""
        p, rows, theme = self._p, self._rows, self._theme
        bars = song_map.bars_s
        if not bars:
            return
        font = theme.font(looks.SMALL)
        p.setFont(font)
        metrics = QFontMetricsF(font)
        usual = (bars[-1] - bars[0]) / max(1, len(bars) - 1) * self._scale.second
        every = _every(usual, LEAST_BAR)
        numbered = max(every, _every(usual, metrics.horizontalAdvance(str(len(bars))) + rows.em * 0.8))
        counted = dict(metres_along(song_map))
        first = max(0, bisect_left(bars, self._scale.left_s) - 1)
        for number in range(first + 1, bisect_right(bars, self._scale.right_s) + 1):
            if (number - 1) % every:
                continue
            x = round(self._scale.x(bars[number - 1])) + 0.5
            p.setPen(QPen(theme.mixed(theme.colour("ink"), 0.75), 1))
            p.drawLine(QLineF(x, rows.wave - 5, x, rows.times))
            if (number - 1) % numbered:
                continue
            said = str(number)
            wide = metrics.horizontalAdvance(said)
            if x + 3 + wide > self._scale.width or any(x + 1 < edge < x + 3 + wide for edge in edges):
                continue
            place = QRectF(x + 3, rows.bars, wide + 2, rows.wave - rows.bars)
            p.setPen(theme.colour("ink"))
            p.drawText(place, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter, said)
            # Bars differ: a short one must not write over the number of the next.
            following = number - 1 + numbered
            end = self._scale.x(bars[following]) if following < len(bars) else self._scale.width
            room = end - x - wide - rows.em
            metre = words.count(counted[number], "beat") if number in counted else ""
            if metre and metrics.horizontalAdvance(metre) < room:
                p.setPen(theme.colour("dim"))
                place = QRectF(place.right() + rows.em * 0.35, rows.bars, room, rows.wave - rows.bars)
                p.drawText(place, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter, metre)
        for one in self._seen(song_map.downbeats_s):
            self._mark(self._scale.x(one), rows.wave - 2)

    def _letters(self, sections: tuple[Section, ...], chosen: int, song_map: SongMap) -> None:
        p, rows, theme = self._p, self._rows, self._theme
        bold, small = theme.font(looks.TEXT, bold=True), theme.font(looks.SMALL)
        italic = theme.font(looks.SMALL, italic=True)
        ink, paper = theme.colour("ink"), theme.colour("paper")
        side = rows.bars - 6
        for number, section in enumerate(sections):
            x0, x1 = self._scale.x(section.start_s), self._scale.x(section.end_s)
            if x1 < 0 or x0 > self._scale.width:
                continue
            left = round(x0)
            p.setPen(QPen(ink, 2))
            p.drawLine(QLineF(left, 2, left, rows.times))
            # The letter stays in view as long as any of its section is.
            at = max(left + 5.0, min(4.0, x1 - side))
            p.setFont(bold)
            wide = max(side, QFontMetricsF(bold).horizontalAdvance(section.letter) + 8)
            box = QRectF(at, 3, wide, side)
            if x1 - at < wide:
                continue
            p.setPen(QPen(ink, 1))
            p.setBrush(ink if number == chosen else paper)
            p.drawRect(box)
            p.setBrush(Qt.BrushStyle.NoBrush)
            p.setPen(paper if number == chosen else ink)
            p.drawText(box, Qt.AlignmentFlag.AlignCenter, section.letter)
            p.setFont(italic if section.suggested else small)
            p.setPen(theme.colour("dim" if section.suggested else "ink"))
            place = QRectF(box.right() + 6, 3, x1 - box.right() - 10, side)
            said = f"{section.name}?" if section.suggested and section.name else section.name
            text = p.fontMetrics().elidedText(said, Qt.TextElideMode.ElideRight, int(place.width()))
            if len(text) > 2 or text == said:
                p.drawText(place, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter, text)
        for edge in self._seen(song_map.edges_s):
            self._mark(self._scale.x(edge), rows.bars)

    def _mark(self, x: float, y: float) -> None:
        """The sign of what a person fixed."""
        p, size = self._p, self._rows.em * 0.28
        p.setRenderHint(QPainter.RenderHint.Antialiasing)
        p.setPen(QPen(self._theme.colour("paper"), 1))
        p.setBrush(self._theme.colour("ink"))
        corners = ((x, y - size), (x + size, y), (x, y + size), (x - size, y))
        p.drawPolygon(QPolygonF([QPointF(*corner) for corner in corners]))
        p.setBrush(Qt.BrushStyle.NoBrush)
        p.setRenderHint(QPainter.RenderHint.Antialiasing, False)

    def _times(self) -> None:
        p, rows, scale = self._p, self._rows, self._scale
        font = self._theme.font(looks.SMALL)
        p.setFont(font)
        wide = QFontMetricsF(font).horizontalAdvance("88:88.8") + rows.em
        step = next((s for s in TIMES_S if s * scale.second >= wide), TIMES_S[-1])
        digits = 1 if step < 1 else 0
        number = int(scale.left_s / step)
        while number * step <= min(scale.right_s, scale.duration_s):
            x = scale.x(number * step)
            p.setPen(QPen(self._theme.colour("edge"), 1))
            p.drawLine(QLineF(round(x) + 0.5, rows.times, round(x) + 0.5, rows.times + 4))
            p.setPen(self._theme.colour("dim"))
            place = QRectF(x + 3, rows.times + 1, wide, rows.height - rows.times - 1)
            if place.left() + wide - rows.em < scale.width:
                text = words.song_time(number * step, digits)
                p.drawText(place, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter, text)
            number += 1

    def _seen(self, moments: tuple[float, ...]) -> Iterator[float]:
        low, high = bisect_left(moments, self._scale.left_s), bisect_right(moments, self._scale.right_s)
        return iter(moments[low:high])


def paint_line(p: QPainter, theme: Theme, rows: Rows, x: float, colour: QColor, *, headed: bool) -> None:
    """A line over everything: the playing position with its head, or an edge or beat being drawn."""
    top = rows.bars
    p.setPen(QPen(theme.colour("paper"), 4))
    p.drawLine(QLineF(x, top, x, rows.times))
    p.setPen(QPen(colour, 2))
    p.drawLine(QLineF(x, top, x, rows.times))
    if headed:
        p.setRenderHint(QPainter.RenderHint.Antialiasing)
        p.setBrush(colour)
        p.setPen(QPen(theme.colour("paper"), 1))
        p.drawPolygon(
            QPolygonF([QPointF(x - HEAD, top - 4), QPointF(x + HEAD, top - 4), QPointF(x, top + HEAD)])
        )
        p.setBrush(Qt.BrushStyle.NoBrush)
        p.setRenderHint(QPainter.RenderHint.Antialiasing, False)


def _every(width: float, least: float) -> int:
    """Every how manyeth bar line there is room for: 1, 2, 4, 8 …

    >>> [_every(width, 6.0) for width in (20.0, 4.0, 1.0)]
    [1, 2, 8]
    """
    every = 1
    while width * every < least and every < 1024:
        every *= 2
    return every
