"""Paints the systems of the score."""

from dataclasses import dataclass

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QFontMetricsF, QPainter, QPen, QPixmap, QPolygonF

from app.model.shoot import SongMap
from app.views import theme as looks
from app.views import words
from app.views.pictures import Pictures
from app.views.score_layout import BarBox, Metrics, Stave, System, TakeBox
from app.views.theme import Theme

ALIGN = Qt.AlignmentFlag


@dataclass(frozen=True, slots=True)
class Chosen:
    """The bar and angle the person is at."""

    bar: int | None = None
    angle_id: str | None = None


class ScorePainter:
    """Paints one score with one theme; made anew for each paint event."""

    def __init__(
        self,
        painter: QPainter,
        theme: Theme,
        metrics: Metrics,
        pictures: Pictures,
        song_map: SongMap,
        chosen: Chosen,
    ) -> None:
        self._p = painter
        self._theme, self._m, self._pictures = theme, metrics, pictures
        self._map, self._chosen = song_map, chosen
        device = painter.device()
        self._ratio = device.devicePixelRatio() if device is not None else 1.0
        self._ink, self._dim = theme.colour("ink"), theme.colour("dim")
        self._rule, self._warm = theme.colour("rule"), theme.colour("warm")
        self._hatch = self._hatching()

    def system(self, system: System) -> None:
        """Paint one line of the score."""
        self._heading(system)
        bar = next((b for b in system.bars if b.coverage.bar.number == self._chosen.bar), None)
        if bar is not None:
            top = system.top + self._m.heading
            self._p.fillRect(
                QRectF(bar.x0, top, bar.x1 - bar.x0, system.bottom - top), self._theme.colour("chosen")
            )
        for box in system.bars:
            self._figures(system, box)
        self._thin_brackets(system)
        for stave in system.staves:
            self._label(system, stave)
            self._stave(system, stave)
        self._lines(system)
        if bar is not None:
            self._cursor(system, bar)

    def _heading(self, system: System) -> None:
        m, p = self._m, self._p
        y, height = system.top, m.heading - round(m.em * 0.5)
        x = m.margin
        if system.first:
            font = self._theme.font(looks.LARGE, bold=True)
            p.setFont(font)
            letter = system.section.letter
            side = max(height, QFontMetricsF(font).horizontalAdvance(letter) + m.em * 0.6)
            box = QRectF(x, y, side, height)
            p.setPen(QPen(self._ink, 1.5))
            p.drawRect(box.adjusted(0.75, 0.75, -0.75, -0.75))
            p.drawText(box, ALIGN.AlignCenter, letter)
            x += side + m.em * 0.6
            name = system.section.name
            p.drawText(QRectF(x, y, system.x1 - x, height), ALIGN.AlignVCenter | ALIGN.AlignLeft, name)
            x += QFontMetricsF(font).horizontalAdvance(name) + (m.em * 0.8 if name else 0)
        first, last = system.bars[0].coverage.bar.number, system.bars[-1].coverage.bar.number
        span = f"{words.song_time(system.start_s, 0)}–{words.song_time(system.end_s, 0)}"
        if self._map.bars_s:
            span = (f"bar {first}" if first == last else f"bars {first}–{last}") + f" · {span}"
        if not system.first:
            span = f"{system.section.letter} goes on · {span}"
        p.setFont(self._theme.font(looks.SMALL))
        p.setPen(self._dim)
        room = p.fontMetrics().horizontalAdvance(span)
        p.drawText(QRectF(x, y, room + 2, height), ALIGN.AlignVCenter | ALIGN.AlignLeft, span)
        x += room + m.em
        if system.thin:
            font = self._theme.font(looks.TEXT, italic=True)
            p.setFont(font)
            p.setPen(self._warm)
            text = " · ".join(place.words for place in system.thin)
            right = max(system.x1, x + m.em * 12)
            text = QFontMetricsF(font).elidedText(text, Qt.TextElideMode.ElideRight, right - x)
            p.drawText(QRectF(x, y, right - x, height), ALIGN.AlignVCenter | ALIGN.AlignRight, text)

    def _figures(self, system: System, box: BarBox) -> None:
        m, p = self._m, self._p
        top, height = system.top + m.heading, m.depths
        if self._map.bars_s:
            p.setFont(self._theme.font(looks.SMALL))
            p.setPen(self._dim)
            number = str(box.coverage.bar.number)
            p.drawText(
                QRectF(box.x0 + 3, top, box.x1 - box.x0, height), ALIGN.AlignLeft | ALIGN.AlignVCenter, number
            )
        p.setFont(self._theme.font(looks.LARGE, bold=box.thin))
        p.setPen(self._warm if box.thin else self._ink)
        p.drawText(QRectF(box.x0, top, box.x1 - box.x0, height), ALIGN.AlignCenter, str(box.coverage.depth))

    def _thin_brackets(self, system: System) -> None:
        """A line over the staves for each thin place, so that it is seen without colour too."""
        y = system.top + self._m.heading + self._m.depths - 3
        self._p.setPen(QPen(self._warm, 2))
        for place in system.thin:
            boxes = [b for b in system.bars if place.first_bar <= b.coverage.bar.number <= place.last_bar]
            x0, x1 = boxes[0].x0 + 3, boxes[-1].x1 - 3
            self._p.drawLine(QLineF(x0, y, x1, y))
            for x in (x0, x1):
                self._p.drawLine(QLineF(x, y, x, y + 3))

    def _label(self, system: System, stave: Stave) -> None:
        m, p = self._m, self._p
        width = m.label - m.em * 0.6
        box = QRectF(m.margin, stave.y, width, stave.height)
        chosen = stave.angle.id == self._chosen.angle_id
        silent = not stave.takes
        size = looks.SMALL if silent else looks.TEXT
        font = self._theme.font(size, bold=chosen)
        metrics = QFontMetricsF(font)
        p.setFont(font)
        p.setPen(self._dim if silent and not chosen else self._ink)
        name = metrics.elidedText(stave.angle.name, Qt.TextElideMode.ElideRight, width)
        if silent:
            p.drawText(box, ALIGN.AlignRight | ALIGN.AlignVCenter, name)
            return
        small = self._theme.font(looks.SMALL)
        low = QFontMetricsF(small).height()
        top = stave.y + max(0.0, (m.picture - metrics.height() - low) / 2)
        p.drawText(QRectF(box.x(), top, width, metrics.height()), ALIGN.AlignRight | ALIGN.AlignTop, name)
        p.setFont(small)
        p.setPen(self._dim)
        parts = ["safety"] if stave.angle.safety and stave.angle.name.casefold() != "safety" else []
        parts.append(words.count(len(stave.takes), "take"))
        p.drawText(
            QRectF(box.x(), top + metrics.height(), width, low),
            ALIGN.AlignRight | ALIGN.AlignTop,
            " · ".join(parts),
        )

    def _stave(self, system: System, stave: Stave) -> None:
        self._rests(stave)
        for take in stave.takes:
            self._take(system, stave, take)

    def _rests(self, stave: Stave) -> None:
        p = self._p
        main = min(stave.height, self._m.picture)
        middle = round(stave.y + main / 2) + 0.5
        p.setPen(QPen(self._rule, 1))
        height = round(self._m.em * 0.55)
        for x0, x1 in stave.rests:
            p.drawLine(QLineF(x0, middle, x1, middle))
            width = min((x1 - x0) * 0.5, self._m.em * 2.2)
            rest = QRectF(round((x0 + x1 - width) / 2), middle, width, height)
            p.fillRect(rest, self._theme.colour("paper"))
            p.fillRect(rest, self._hatch)
            p.drawRect(rest)

    def _take(self, system: System, stave: Stave, box: TakeBox) -> None:
        p = self._p
        colour = self._theme.angle_colour(stave.angle, stave.order)
        area = QRectF(box.x0, box.y, max(1.0, box.x1 - box.x0), box.height)
        p.fillRect(area, self._theme.mixed(colour, 0.34 if box.slim else 0.17))
        p.save()
        p.setClipRect(area)
        if box.slim and not box.doubtful:
            self._slim_name(box, area)
        elif not box.slim:
            self._take_pictures(system, box, area)
        p.restore()
        p.setPen(QPen(colour, 2))
        if not box.doubtful:
            p.drawLine(QLineF(area.left(), area.bottom() - 1, area.right(), area.bottom() - 1))
            if box.begins:
                p.drawLine(QLineF(area.left() + 1, area.top(), area.left() + 1, area.bottom()))
            if box.ends:
                p.drawLine(QLineF(area.right() - 1, area.top(), area.right() - 1, area.bottom()))
            return
        p.setPen(QPen(self._warm, 1.5, Qt.PenStyle.DashLine))
        p.setBrush(Qt.BrushStyle.NoBrush)
        p.drawRect(area.adjusted(0.75, 0.75, -0.75, -0.75))
        if box.begins or system.first:
            self._doubt(box, area)

    def _slim_name(self, box: TakeBox, area: QRectF) -> None:
        font = self._theme.font(looks.SMALL)
        self._p.setFont(font)
        self._p.setPen(self._ink)
        self._p.drawText(
            area.adjusted(4, 0, -2, -1),
            ALIGN.AlignLeft | ALIGN.AlignVCenter,
            words.take_name(box.clip, box.take),
        )

    def _doubt(self, box: TakeBox, area: QRectF) -> None:
        """A plate with "?" and what else it could be."""
        text = "? in doubt"
        if box.take.rivals:
            text = f"? or {words.place_in_song(self._map, box.take.rivals[0].song_start_s)}"
        font = self._theme.font(looks.SMALL)
        metrics = QFontMetricsF(font)
        room = area.width() - 8
        text = metrics.elidedText(text, Qt.TextElideMode.ElideRight, room - 8)
        edge = 1.5 if box.slim else 4.0
        height = min(metrics.height() + 2, area.height() - 2 * edge)
        plate = QRectF(
            area.left() + 4, area.top() + edge, min(metrics.horizontalAdvance(text) + 8, room), height
        )
        if plate.width() < 8:
            return
        self._p.fillRect(plate, self._theme.colour("panel"))
        self._p.setFont(font)
        self._p.setPen(self._warm)
        self._p.drawText(plate, ALIGN.AlignCenter, text)

    def _take_pictures(self, system: System, box: TakeBox, area: QRectF) -> None:
        shape = box.clip.width / box.clip.height if box.clip.width and box.clip.height else 16 / 9
        height = box.height - 2
        width = min(height * shape, height * 2.4)
        for bar in system.bars:
            if bar.x1 <= box.x0 or bar.x0 >= box.x1:
                continue
            # In wide bars a further picture stands at each half, third … of the bar.
            parts = max(1, int((bar.x1 - bar.x0) // (width * 2.2)))
            step = (bar.x1 - bar.x0) / parts
            for n in range(parts):
                x = bar.x0 + n * step
                if x + step <= box.x0 or x >= box.x1:
                    continue
                x = max(x, box.x0)
                room = min(width, x + step - x, bar.x0 + (n + 1) * step - x - 1, box.x1 - x)
                if room < 6:
                    continue
                self._picture(box, system.song_s(x), QRectF(x, area.top(), room, height), width)

    def _picture(self, box: TakeBox, song_s: float, place: QRectF, width: float) -> None:
        image = self._pictures.get(box.clip, box.take.clip_time(song_s), place.height(), self._ratio)
        if image is None or image.isNull():
            return
        # The middle of the picture stays in view when the place is narrower than the picture.
        whole_w, whole_h = float(image.width()), float(image.height())
        share = min(1.0, place.width() / width)
        source = QRectF(whole_w * (1 - share) / 2, 0, whole_w * share, whole_h)
        self._p.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        self._p.drawImage(place, image, source)

    def _lines(self, system: System) -> None:
        if not system.staves:
            return
        p = self._p
        top, bottom = system.staves[0].y, system.staves[-1].y + system.staves[-1].height
        p.setPen(QPen(self._rule, 1))
        for bar in system.bars[1:]:
            x = round(bar.x0) + 0.5
            p.drawLine(QLineF(x, top - 4, x, bottom))
        p.setPen(QPen(self._ink, 1.5))
        for x in (system.x0, system.x1, system.x1 - 4):
            p.drawLine(QLineF(x, top - 4, x, bottom))
        safety = next((s for s in system.staves if s.angle.safety), None)
        if safety is not None and safety is not system.staves[0]:
            p.setPen(QPen(self._dim, 1))
            y = round(safety.y - self._m.gap) + 0.5
            for offset in (-1.5, 1.5):
                p.drawLine(QLineF(system.x0, y + offset, system.x1, y + offset))

    def _cursor(self, system: System, bar: BarBox) -> None:
        p = self._p
        top = system.top + self._m.heading
        x = round(bar.x0) + 0.5
        p.setPen(QPen(self._ink, 2))
        p.drawLine(QLineF(x, top, x, system.bottom))
        p.setRenderHint(QPainter.RenderHint.Antialiasing)
        p.setBrush(self._ink)
        p.setPen(Qt.PenStyle.NoPen)
        p.drawPolygon(QPolygonF([QPointF(x - 5, top - 5), QPointF(x + 5, top - 5), QPointF(x, top + 3)]))
        p.setRenderHint(QPainter.RenderHint.Antialiasing, False)
        p.setBrush(Qt.BrushStyle.NoBrush)

    def _hatching(self) -> QBrush:
        """Diagonal lines as a brush of device pixels, so that they stay fine on any screen."""
        side = max(4, round(5 * self._ratio))
        tile = QPixmap(side, side)
        tile.fill(QColor(0, 0, 0, 0))
        pen = QPainter(tile)
        pen.setRenderHint(QPainter.RenderHint.Antialiasing)
        pen.setPen(QPen(self._theme.colour("edge"), max(1.0, self._ratio)))
        for shift in (-side, 0, side):
            pen.drawLine(QLineF(shift, side, side + shift, 0))
        pen.end()
        tile.setDevicePixelRatio(self._ratio)
        return QBrush(tile)
