"""Paints the lines of the score: all of it that does not move."""

from collections.abc import Sequence

from PySide6.QtCore import QLineF, QRect, QRectF
from PySide6.QtGui import QPainter, QPen

from app.model.coverage.passages import bars_words
from app.model.document.song import SongMap
from app.window.parts import theme as looks
from app.window.parts import words
from app.window.parts.clip_pictures import Pictures
from app.window.score.cut_shown import NO_CUT, CutShown
from app.window.score.score_boxes import BarBox, Stave, System
from app.window.score.score_metrics import Metrics
from app.window.score.score_needs import NeedPainter
from app.window.score.score_palette import ScorePalette
from app.window.score.score_shots import ShotPainter
from app.window.score.score_takes import TakePainter


class ScorePainter:
    """Paints systems with one set of measures."""

    def __init__(
        self,
        painter: QPainter,
        palette: ScorePalette,
        metrics: Metrics,
        pictures: Pictures,
        song_map: SongMap,
        cut: CutShown = NO_CUT,
    ) -> None:
        self._p, self._palette, self._m = painter, palette, metrics
        self._map = song_map
        self._needs = NeedPainter(painter, palette, metrics)
        self._shots = ShotPainter(painter, palette, metrics, cut)
        self._takes = TakePainter(painter, palette, metrics, pictures, song_map)

    @property
    def missing(self) -> int:
        """Pictures that were not at hand."""
        return self._takes.missing

    def line(self, systems: Sequence[System]) -> None:
        """Paint the systems that share a line."""
        for n, system in enumerate(systems):
            room = (
                systems[n + 1].x0 if n + 1 < len(systems) else max(system.x1, self._m.width - self._m.margin)
            )
            self._heading(system, room, last=n + 1 == len(systems))
            self._figures(system)
            if system.leads:
                self._row_headings(system)
            self._thin_brackets(system)
            self._lyrics(system)
            self._needs.needs(system)
            self._shots.shots(system)
            for stave in system.staves:
                self.rests(stave)
                for take in stave.takes:
                    self._takes.take(system, stave, take)
            self._lines(system)
        if systems:
            lead = systems[0]
            self._groups(lead)
            for stave in lead.staves:
                self.label(stave)

    def label(self, stave: Stave, *, chosen: bool = False) -> None:
        """Write an angle's name before its stave."""
        m, palette, p = self._m, self._palette, self._p
        width = m.label - m.em * 0.7
        if not m.names:
            colour = palette.theme.angle_colour(stave.angle)
            p.fillRect(QRectF(m.margin, stave.y, width, max(1.0, stave.height)), colour)
            return
        silent = not stave.takes
        size = m.name_size * (looks.SMALL if silent and m.name_size == looks.TEXT else looks.TEXT)
        name = palette.elided(stave.angle.name, width, size, bold=chosen)
        colour = palette.dim if silent and not chosen else palette.ink
        high, low = palette.font(size)[1].height(), palette.font(looks.SMALL)[1].height()
        place = (m.margin, stave.y, width, min(stave.height, m.picture))
        if silent or high + low > stave.height + 2:
            palette.draw(p, place, name, size, colour, bold=chosen, along=1)
            return
        top = stave.y + max(0.0, (min(stave.height, m.picture) - high - low) / 2)
        palette.draw(p, (m.margin, top, width, high), name, size, colour, bold=chosen, along=1)
        small = palette.elided(self._about(stave), width, looks.SMALL)
        palette.draw(p, (m.margin, top + high, width, low), small, looks.SMALL, palette.dim, along=1)

    def _about(self, stave: Stave) -> str:
        angle = stave.angle
        parts = [one for one in angle.subjects if one.casefold() != angle.name.casefold()]
        if angle.safety and angle.name.casefold() != "safety":
            parts.append("safety")
        # The more telling one, for both seldom fit.
        parts.append("sound only" if stave.sound_only else words.count(len(stave.takes), "take"))
        return " · ".join(parts)

    def _heading(self, system: System, room: float, *, last: bool) -> None:
        m, palette, p = self._m, self._palette, self._p
        size = looks.TEXT if m.flows else looks.LARGE
        y, height = system.top, m.heading - round(m.em * (0.25 if m.flows else 0.5))
        x = system.x0 if m.flows or not system.leads else m.margin
        end = room if last and not m.flows else room - m.beside
        if system.first:
            letter = system.section.letter
            side = max(height, palette.width(letter, size, bold=True) + m.em * 0.6)
            p.setPen(QPen(palette.ink, 1.5))
            p.drawRect(QRectF(x, y, side, height).adjusted(0.75, 0.75, -0.75, -0.75))
            palette.draw(p, (x, y, side, height), letter, size, palette.ink, bold=True, along=0.5)
            x += side + m.em * (0.35 if m.flows else 0.6)
            name = palette.elided(system.section.name, max(0.0, end - x), size, bold=True)
            if name == system.section.name or len(name) > 4:
                x += palette.draw(p, (x, y, 0, height), name, size, palette.ink, bold=True) + m.em * 0.8
        span = self._span(system)
        if x + palette.width(span, looks.SMALL) <= end:
            x += palette.draw(p, (x, y, 0, height), span, looks.SMALL, palette.dim) + m.em
        if system.remarks and end - x > m.em * (6 if m.flows else 3):
            text = palette.elided(" · ".join(system.remarks), end - x, looks.TEXT, italic=True)
            colour = palette.thin if system.thin or system.missing else palette.dim
            palette.draw(p, (x, y, end - x, height), text, looks.TEXT, colour, italic=True, along=1)

    def _span(self, system: System) -> str:
        first, last = system.bars[0].coverage.bar.number, system.bars[-1].coverage.bar.number
        span = f"{words.song_time(system.start_s, 0)}–{words.song_time(system.end_s, 0)}"
        if self._map.bars_s:
            span = f"{bars_words(first, last)} · {span}"
        return span if system.first else f"{system.section.letter} goes on · {span}"

    def _row_headings(self, lead: System) -> None:
        """In the margin, what the two rows of figures count."""
        m, palette = self._m, self._palette
        width, top = m.label - m.em * 0.7, lead.top + m.heading
        rows = [("bar", top, m.numbers), ("takes", top + m.numbers, m.depths - m.numbers - 2)]
        for text, y, height in rows:
            if height and palette.width(text, looks.SMALL) <= width:
                palette.draw(self._p, (m.margin, y, width, height), text, looks.SMALL, palette.dim, along=1)

    def _figures(self, system: System) -> None:
        """Bar numbers, and below them depth: in brackets for safeties alone; in narrow bars, steps."""
        m, palette, p = self._m, self._palette, self._p
        top = system.top + m.heading
        if m.numbered:
            for box in system.bars:
                number = str(box.coverage.bar.number)
                place = (box.x0 + 3, top, 0.0, m.numbers)
                palette.draw(p, place, number, looks.SMALL, palette.dim)
        top, height = top + m.numbers, m.depths - m.numbers - 2
        if not m.figures:
            self._steps(system, top, height)
            return
        size = looks.LARGE if not m.flows else looks.SMALL
        for box in system.bars:
            wide, figure = box.x1 - box.x0, depth_figure(box)
            colour = palette.thin if box.thin else palette.ink
            own = size if palette.width(figure, size, bold=box.thin) <= wide - 2 else looks.SMALL
            place = (box.x0, top, wide, height)
            palette.draw(p, place, figure, own, colour, bold=box.thin, along=0.5)

    def _steps(self, system: System, top: float, height: float) -> None:
        p, palette = self._p, self._palette
        deepest = max(1, *(box.coverage.usable_depth for box in system.bars))
        for box in system.bars:
            y = top + (height - 3) * (1 - box.coverage.usable_depth / deepest) + 1
            p.setPen(QPen(palette.thin if box.thin else palette.ink, 2.5 if box.thin else 1.2))
            p.drawLine(QLineF(box.x0, y, box.x1, y))

    def _lyrics(self, system: System) -> None:
        """The lines of the lyrics, each from the bar in which it begins to where the next one does."""
        m, palette = self._m, self._palette
        if not (m.lyrics and system.lyrics):
            return
        y = system.top + m.heading + m.depths
        ends = [*(x for x, _ in system.lyrics[1:]), system.x1]
        for (x, text), end in zip(system.lyrics, ends, strict=True):
            line = palette.elided(text, max(0.0, end - x - 6), looks.SMALL, italic=True)
            place = (x + 3, y, 0.0, m.lyrics)
            palette.draw(self._p, place, line, looks.SMALL, palette.dim, italic=True)

    def _thin_brackets(self, system: System) -> None:
        """A line over the staves for each thin place, so that it is seen without colour too."""
        p, y = self._p, system.top + self._m.heading + self._m.depths - 3
        if not self._m.figures:
            return
        p.setPen(QPen(self._palette.thin, 2))
        for place in system.thin:
            boxes = [b for b in system.bars if place.first_bar <= b.coverage.bar.number <= place.last_bar]
            x0, x1 = boxes[0].x0 + 3, boxes[-1].x1 - 3
            p.drawLine(QLineF(x0, y, x1, y))
            for x in (x0, x1):
                p.drawLine(QLineF(x, y, x, y + 3))

    def rests(self, stave: Stave) -> None:
        """Paint the bars in which an angle has nothing."""
        p, m = self._p, self._m
        main = min(stave.height, m.picture)
        middle = round(stave.y + main / 2) + 0.5
        height = min(round(m.em * 0.55), main - 3)
        p.setPen(QPen(self._palette.rule, 1))
        p.drawLines([QLineF(x0, middle, x1, middle) for x0, x1 in stave.rests])
        if height < 3:
            return
        places = []
        for x0, x1 in stave.rests:
            width = min((x1 - x0) * 0.5, m.em * 2.2)
            if width >= 4:
                left = round((x0 + x1 - width) / 2)
                places.append(QRect(left, round(middle - 0.5 - height / 2), round(width), round(height)))
        # Saved and restored: where a pixel is one and a half, the library else misplaces the next words.
        p.save()
        p.setPen(QPen(self._palette.edge, 1))
        p.setBrush(self._palette.hatch)
        p.drawRects(places)
        p.restore()

    def _lines(self, system: System) -> None:
        if not system.staves:
            return
        p, palette = self._p, self._palette
        top, bottom = system.staves[0].y - 4, system.staves[-1].y + system.staves[-1].height
        every = self._every(system.bars)
        p.setPen(QPen(palette.rule, 1))
        p.drawLines(
            [
                QLineF(round(b.x0) + 0.5, top, round(b.x0) + 0.5, bottom)
                for b in system.bars[1:][every - 1 :: every]
            ]
        )
        p.setPen(QPen(palette.ink, 1.5))
        double = () if self._m.flows and system.x1 - system.x0 < 12 else (system.x1 - 4,)
        p.drawLines([QLineF(x, top, x, bottom) for x in (system.x0, system.x1, *double)])
        safety = next((s for s in system.staves if s.angle.safety), None)
        if safety is not None and safety is not system.staves[0]:
            p.setPen(QPen(palette.dim, 1))
            y = round(safety.y - self._m.gap) + 0.5
            apart = min(1.5, self._m.gap / 2)
            p.drawLines([QLineF(system.x0, y + o, system.x1, y + o) for o in (-apart, apart)])

    def _every(self, bars: Sequence[BarBox]) -> int:
        """Draw every so many bar lines, so that they stay apart."""
        every, wide = 1, bars[0].x1 - bars[0].x0
        while wide * every < 7 and every < 64:
            every *= 2
        return every

    def _groups(self, lead: System) -> None:
        """A bracket before the staves of each group."""
        p, m = self._p, self._m
        n, staves = 0, lead.staves
        while n < len(staves):
            last = n
            while (
                last + 1 < len(staves)
                and staves[n].angle.group
                and staves[last + 1].angle.group == staves[n].angle.group
                and staves[last + 1].angle.safety == staves[n].angle.safety
            ):
                last += 1
            if last > n:
                over = min(2.0, m.gap / 2 - 1)  # neighbouring groups stay apart
                x, y0 = lead.x0 - m.em * 0.4, staves[n].y - over
                y1 = staves[last].y + staves[last].height + over
                p.setPen(QPen(self._palette.ink, 2.5))
                p.drawLine(QLineF(x, y0, x, y1))
                p.drawLines([QLineF(x, y, x + m.em * 0.3, y) for y in (y0, y1)])
            n = last + 1


def depth_figure(box: BarBox) -> str:
    """How many takes can be used in the bar; in brackets where all of them are safety."""
    depth = str(box.coverage.usable_depth)
    return f"({depth})" if box.coverage.safety_only else depth
