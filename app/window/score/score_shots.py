"""Paints the row of the first pass: shots with name and colour, cut lines, locks, what is not satisfied."""

from PySide6.QtCore import QLineF, QRectF, Qt
from PySide6.QtGui import QPainter, QPen

from app.model.first_pass.fixed_bars import FixedBars, shot_before
from app.model.first_pass.result import Shot, Unsatisfied
from app.window.parts import theme as looks
from app.window.score.cut_shown import CutShown
from app.window.score.score_boxes import System
from app.window.score.score_metrics import Metrics
from app.window.score.score_palette import ScorePalette

NAME = "First pass"
TINT, STRONG = 0.3, 0.75
"""Share of an angle's colour in its shots; more where there is no room for names."""


class ShotPainter:
    """Paints the row of the first pass between needs and staves."""

    def __init__(self, painter: QPainter, palette: ScorePalette, metrics: Metrics, cut: CutShown) -> None:
        self._p, self._palette, self._m, self._cut = painter, palette, metrics, cut

    def shots(self, system: System) -> None:
        """Paint what of the first pass lies on a system, and before its line what the row is."""
        y = system.shots_y
        if y is None:
            return
        if system.leads and self._m.names:
            width = self._m.label - self._m.em * 0.7
            place = (self._m.margin, y, width, self._m.shots)
            name = self._palette.elided(NAME, width, looks.SMALL, italic=True)
            self._palette.draw(self._p, place, name, looks.SMALL, self._palette.ink, italic=True, along=1)
        cut = self._cut.cut
        if cut is None:
            self._empty(system, y)
            return
        first = max(0, shot_before(cut.shots, system.start_s))
        for shot in cut.shots[first : shot_before(cut.shots, system.end_s) + 1]:
            if shot.song_end_s > system.start_s and shot.song_start_s < system.end_s:
                self._shot(system, y, shot)
        for one in cut.unsatisfied:
            if one.song_start_s < system.end_s and system.start_s < one.song_end_s:
                self._unsatisfied(system, y, one)
        for fixed, met in self._cut.fixed:
            if fixed.song_start_s < system.end_s and system.start_s < fixed.song_end_s:
                self._lock(system, y, fixed, met=met)

    def _empty(self, system: System, y: float) -> None:
        """A frame, and in it why there is nothing."""
        p, palette, m = self._p, self._palette, self._m
        p.setPen(QPen(palette.edge, 1, Qt.PenStyle.DashLine))
        p.setBrush(Qt.BrushStyle.NoBrush)
        p.drawRect(QRectF(system.x0 + 0.5, y + 0.5, system.x1 - system.x0 - 1, m.shots - 1))
        if not m.flows and self._cut.words:
            room = system.x1 - system.x0 - 8
            text = palette.elided(self._cut.words, room, looks.SMALL, italic=True)
            palette.draw(p, (system.x0 + 6, y, room, m.shots), text, looks.SMALL, palette.dim, italic=True)

    def _span(self, system: System, start_s: float, end_s: float) -> tuple[float, float]:
        x0 = system.x(max(start_s, system.start_s))
        return x0, system.x(min(end_s, system.end_s))

    def _shot(self, system: System, y: float, shot: Shot) -> None:
        p, palette, m = self._p, self._palette, self._m
        x0, x1 = self._span(system, shot.song_start_s, shot.song_end_s)
        angle = self._cut.angles.get(shot.angle_id)
        colour = palette.dim if angle is None else palette.theme.angle_colour(angle)
        place = QRectF(x0, y, x1 - x0, m.shots)
        p.fillRect(place, palette.tint(colour, STRONG if m.flows else TINT))
        p.fillRect(QRectF(x0, y + m.shots - 2, x1 - x0, 2), colour)
        begins = shot.song_start_s >= system.start_s
        if begins:
            # The cut stands out over the row, as a cut line does over a strip of film.
            wide = 1.0 if m.flows else 2.0
            p.fillRect(QRectF(round(x0), y - (1 if m.flows else 3), wide, m.shots + 3), palette.ink)
        if m.flows:
            return
        left = x0 + 6
        if self._cut.locked(shot):
            left += self._padlock(left, y + m.shots / 2, closed=True) + 3
        room, name = x1 - left - 3, self._cut.name(shot.angle_id)
        texts = [name, name[:1].upper()]
        if self._cut.locked(shot):
            texts.insert(0, f"{name} · locked")
        for text in texts:
            if palette.width(text, looks.SMALL) <= room:
                palette.draw(p, (left, y, room, m.shots), text, looks.SMALL, palette.ink)
                break

    def _unsatisfied(self, system: System, y: float, one: Unsatisfied) -> None:
        """A broken line over the passage, with a sign before it; a gap is hatched and says so."""
        p, palette, m = self._p, self._palette, self._m
        x0, x1 = self._span(system, one.song_start_s, one.song_end_s)
        if one.gap:
            p.save()
            p.setPen(QPen(palette.warm, 1))
            p.setBrush(palette.hatch)
            p.drawRect(QRectF(x0 + 0.5, y + 0.5, max(1.0, x1 - x0 - 1), m.shots - 1))
            p.restore()
            text = "no picture"
            if not m.flows and palette.width(text, looks.SMALL) <= x1 - x0 - 8:
                palette.draw(p, (x0 + 4, y, 0.0, m.shots), text, looks.SMALL, palette.warm, bold=True)
            return
        p.setPen(QPen(palette.warm, 1.5 if m.flows else 2, Qt.PenStyle.DashLine))
        p.drawLine(QLineF(x0 + 3, y + 1, max(x0 + 6, x1 - 2), y + 1))
        if not m.flows and one.song_start_s >= system.start_s:
            sign = palette.width("!", looks.SMALL, bold=True)
            place = (x1 - sign - 4, y, sign, m.shots)
            if x1 - x0 > 4 * sign:
                palette.draw(p, place, "!", looks.SMALL, palette.warm, bold=True)

    def _lock(self, system: System, y: float, fixed: FixedBars, *, met: bool) -> None:
        """A thick line under what is locked; broken, with an open padlock, where the lock is not met."""
        p, palette, m = self._p, self._palette, self._m
        x0, x1 = self._span(system, fixed.song_start_s, fixed.song_end_s)
        pen = QPen(palette.ink if met else palette.warm, 2 if m.flows else 3)
        pen.setCapStyle(Qt.PenCapStyle.FlatCap)
        if not met:
            pen.setStyle(Qt.PenStyle.DashLine)
        p.setPen(pen)
        bottom = y + m.shots + (1 if m.flows else 1.5)
        p.drawLine(QLineF(x0 + 2, bottom, max(x0 + 4, x1 - 1), bottom))
        if not met and not m.flows and fixed.song_start_s >= system.start_s:
            text = f"{self._cut.name(fixed.lock.angle_id)}: lock not met"
            room = x1 - x0 - 24
            if palette.width(text, looks.SMALL, bold=True) <= room:
                x = x1 - palette.width(text, looks.SMALL, bold=True) - 8
                palette.draw(p, (x, y, 0.0, m.shots), text, looks.SMALL, palette.warm, bold=True)

    def _padlock(self, x: float, middle: float, *, closed: bool) -> float:
        """A padlock with its left edge and middle there; gives its width."""
        p, em = self._p, self._m.em
        wide, high = round(em * 0.42), round(em * 0.34)
        p.save()
        p.setRenderHint(QPainter.RenderHint.Antialiasing)
        p.fillRect(QRectF(x, middle, wide, high), self._palette.ink)
        p.setPen(QPen(self._palette.ink, 1.6))
        arc = QRectF(x + wide * 0.2, middle - high * 0.85, wide * 0.6, high * 1.7)
        p.drawArc(arc.translated(0 if closed else wide * 0.35, 0), 0, 180 * 16)
        p.restore()
        return float(wide)
