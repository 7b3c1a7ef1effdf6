"""Paints the rows of the subjects that the plan asks for: shape and words tell how they stand."""

from PySide6.QtCore import QLineF, QRectF, Qt
from PySide6.QtGui import QPainter, QPen

from app.model.coverage.needs import NeedState
from app.window.parts import theme as looks
from app.window.score.score_boxes import NeedRow, NeedRun, System
from app.window.score.score_metrics import Metrics
from app.window.score.score_palette import ScorePalette

WORDS = {NeedState.MET: "✓ met", NeedState.PARTLY: "◐ partly", NeedState.UNMET: "○ missing"}


class NeedPainter:
    """Paints them above the staves of a system."""

    def __init__(self, painter: QPainter, palette: ScorePalette, metrics: Metrics) -> None:
        self._p, self._palette, self._m = painter, palette, metrics

    def needs(self, system: System) -> None:
        """Paint all rows of a system, and before its line the subjects."""
        for row in system.need_rows:
            if system.leads:
                self._label(row)
            for run in system.need_runs(row):
                self._run(row, run)

    def _label(self, row: NeedRow) -> None:
        m, palette = self._m, self._palette
        if m.flows:
            return
        width = m.label - m.em * 0.7
        text = palette.elided(row.bars.subject, width, looks.SMALL, italic=True)
        place = (m.margin, row.y, width, row.height)
        palette.draw(self._p, place, text, looks.SMALL, palette.dim, italic=True, along=1)

    def _run(self, row: NeedRow, run: NeedRun) -> None:
        """A solid line where it is met, a broken one where partly; an open box where it is missing."""
        p, palette, small = self._p, self._palette, self._m.flows
        x0, x1 = run.x0 + 1.5, run.x1 - 1.5
        if x1 <= x0:
            x0, x1 = run.x0, run.x1
        middle = round(row.y + row.height / 2)
        if run.state is NeedState.UNMET:
            p.setPen(QPen(palette.thin, 1 if small else 1.2))
            p.setBrush(Qt.BrushStyle.NoBrush)
            edge = 0.5 if small else 1.5
            p.drawRect(QRectF(x0 + 0.5, row.y + edge, x1 - x0 - 1, row.height - 2 * edge))
        x = x0
        if not small:
            text, colour = WORDS[run.state], palette.dim if run.state is NeedState.MET else palette.thin
            room = x1 - x0 - 6
            if palette.width(text, looks.SMALL) > room:
                text = text.partition(" ")[0]
            if palette.width(text, looks.SMALL) <= room:
                place = (x0 + 3, row.y, 0.0, row.height)
                x += 3 + palette.draw(p, place, text, looks.SMALL, colour) + 4
        if run.state is NeedState.UNMET or x >= x1:
            return
        pen = QPen(palette.ink, 2) if run.state is NeedState.MET else QPen(palette.thin, 2)
        if run.state is NeedState.PARTLY:
            pen.setStyle(Qt.PenStyle.DashLine)
        p.setPen(pen)
        p.drawLine(QLineF(x, middle, x1, middle))
