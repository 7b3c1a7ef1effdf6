"""What moves over the score: the chosen bar, range and angle, the playing position, a stave being dragged."""

from dataclasses import dataclass

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPen, QPolygonF

from app.window.score.chosen import Chosen
from app.window.score.score_boxes import Stave, System
from app.window.score.score_metrics import Metrics
from app.window.score.score_painter import ScorePainter
from app.window.score.score_palette import ScorePalette
from app.window.score.score_takes import bar_of

NOBODY = Chosen()
HEAD = 6.0
"""Half the width of the playing position's head."""


@dataclass(frozen=True, slots=True)
class Overlay:
    """What lies over the lines just now."""

    chosen: Chosen = NOBODY
    playing_s: float | None = None
    heard_id: str | None = None
    """The take that is heard."""
    loop: tuple[float, float] | None = None
    """What is played again and again: song time in seconds, from and to."""
    mark_id: str = ""
    """The fault or keeper one is at."""
    dropping: tuple[str, str | None] | None = None
    """A stave is being dragged: its angle, and the one before which it would stand (None: behind all)."""


def paint_over(
    p: QPainter, palette: ScorePalette, metrics: Metrics, names: ScorePainter, system: System, over: Overlay
) -> None:
    """Paint what lies over one system."""
    chosen = over.chosen
    mine = next((s for s in system.staves if s.angle.id == chosen.angle_id), None)
    _range(p, palette, metrics, system, chosen)
    bar = bar_of(system, chosen.bar)
    if bar is not None:
        top = system.top + metrics.heading
        p.fillRect(QRectF(bar.x0, top, bar.x1 - bar.x0, system.bottom - top), palette.over)
        p.setPen(QPen(palette.ink, 1))
        p.setBrush(Qt.BrushStyle.NoBrush)
        p.drawRect(QRectF(round(bar.x0) + 0.5, top + 0.5, round(bar.x1 - bar.x0), system.bottom - top))
        if mine is not None:
            p.setPen(QPen(palette.ink, 2.5))
            p.drawRect(QRectF(bar.x0, mine.y - 1, bar.x1 - bar.x0, max(3.0, mine.height + 2)))
    if mine is not None and system.leads:
        _name(p, palette, metrics, names, system, mine)
    if over.heard_id is not None:
        _heard(p, palette, system, over.heard_id)
    if over.mark_id:
        _mark(p, palette, system, over.mark_id)
    if over.loop is not None:
        _loop(p, palette, metrics, system, over.loop)
    if over.dropping is not None:
        _drop(p, palette, system, over.dropping[1])
    if over.playing_s is not None and system.start_s <= over.playing_s < system.end_s:
        _playing(p, palette, metrics, system, over.playing_s)


def _name(
    p: QPainter, palette: ScorePalette, metrics: Metrics, names: ScorePainter, system: System, stave: Stave
) -> None:
    left = metrics.margin * 0.3
    place = QRectF(left, stave.y - 1, system.x0 - metrics.em * 0.55 - left, max(3.0, stave.height + 2))
    p.fillRect(place, palette.theme.colour("chosen"))
    p.fillRect(QRectF(left, place.y(), 3, place.height()), palette.ink)
    names.label(stave, chosen=True)


def _range(p: QPainter, palette: ScorePalette, metrics: Metrics, system: System, chosen: Chosen) -> None:
    if chosen.span is None:
        return
    first, last = chosen.span
    boxes = [b for b in system.bars if first <= b.coverage.bar.number <= last]
    if not boxes:
        return
    top, x0, x1 = system.top + metrics.heading, boxes[0].x0, boxes[-1].x1
    p.fillRect(QRectF(x0, top, x1 - x0, system.bottom - top), palette.over)
    p.setPen(QPen(palette.ink, 3))
    p.drawLine(QLineF(x0, top, x1, top))
    if boxes[0].coverage.bar.number == first:
        p.drawLine(QLineF(x0, top, x0, system.bottom))
    if boxes[-1].coverage.bar.number == last:
        p.drawLine(QLineF(x1, top, x1, system.bottom))


def _heard(p: QPainter, palette: ScorePalette, system: System, take_id: str) -> None:
    """An arrow before the take that is heard, and a line over it."""
    box = next((t for s in system.staves for t in s.takes if t.take.id == take_id), None)
    if box is None:
        return
    half = min(HEAD - 1, max(2.0, box.height / 2))
    middle = box.y + min(box.height / 2, 2 * HEAD)
    p.fillRect(QRectF(box.x0, box.y, box.x1 - box.x0, min(2.0, box.height)), palette.ink)
    p.setRenderHint(QPainter.RenderHint.Antialiasing)
    p.setBrush(palette.ink)
    p.setPen(QPen(palette.paper, 1))
    tip = [(box.x0 - 1.6 * half, middle - half), (box.x0 - 1.6 * half, middle + half), (box.x0, middle)]
    p.drawPolygon(QPolygonF([QPointF(x, y) for x, y in tip]))
    p.setRenderHint(QPainter.RenderHint.Antialiasing, False)
    p.setBrush(Qt.BrushStyle.NoBrush)


def _mark(p: QPainter, palette: ScorePalette, system: System, mark_id: str) -> None:
    """A thick frame around the fault or keeper one is at."""
    for box in (take for stave in system.staves for take in stave.takes):
        for mark in box.marks:
            if mark.mark.id == mark_id:
                place = QRectF(mark.x0, box.y, max(2.0, mark.x1 - mark.x0), box.height)
                p.setBrush(Qt.BrushStyle.NoBrush)
                p.setPen(QPen(palette.paper, 5))
                p.drawRect(place.adjusted(-1.5, -1.5, 1.5, 1.5))
                p.setPen(QPen(palette.ink, 3))
                p.drawRect(place.adjusted(-1.5, -1.5, 1.5, 1.5))


def _loop(
    p: QPainter, palette: ScorePalette, metrics: Metrics, system: System, loop: tuple[float, float]
) -> None:
    """Repeat signs where the loop begins and ends: a thick line and two dots on the inner side."""
    top = system.top + metrics.heading
    middle, apart = (top + system.bottom) / 2, min(metrics.em * 0.5, (system.bottom - top) / 4)
    for song_s, inner in ((loop[0], 1), (loop[1], -1)):
        # The end of one line is the beginning of the next: a sign stands on its own side.
        if inner > 0 and not system.start_s <= song_s < system.end_s:
            continue
        if inner < 0 and not system.start_s < song_s <= system.end_s:
            continue
        x = system.x(song_s)
        p.fillRect(QRectF(x - 2, top, 4, system.bottom - top), palette.ink)
        p.setRenderHint(QPainter.RenderHint.Antialiasing)
        p.setBrush(palette.ink)
        p.setPen(QPen(palette.paper, 1))
        for y in (middle - apart, middle + apart):
            p.drawEllipse(QPointF(x + inner * 8, y), 3.5, 3.5)
        p.setRenderHint(QPainter.RenderHint.Antialiasing, False)
        p.setBrush(Qt.BrushStyle.NoBrush)


def _drop(p: QPainter, palette: ScorePalette, system: System, before: str | None) -> None:
    if not system.leads or not system.staves:
        return
    last = system.staves[-1]
    stave = next((s for s in system.staves if s.angle.id == before), None)
    y = stave.y - 3 if stave is not None else last.y + last.height + 2
    p.setPen(QPen(palette.ink, 3))
    p.drawLine(QLineF(0, y, system.x1, y))


def position_strip(metrics: Metrics, system: System, song_s: float) -> QRectF:
    """Where the playing position is painted on a system."""
    x = system.x(song_s)
    top = system.top + metrics.heading - HEAD
    return QRectF(x - HEAD - 2, top - 1, 2 * HEAD + 4, system.bottom - top + 3)


def _playing(p: QPainter, palette: ScorePalette, metrics: Metrics, system: System, song_s: float) -> None:
    x, top = system.x(song_s), system.top + metrics.heading
    p.setPen(QPen(palette.paper, 4))
    p.drawLine(QLineF(x, top, x, system.bottom))
    p.setPen(QPen(palette.ink, 2))
    p.drawLine(QLineF(x, top, x, system.bottom))
    p.setRenderHint(QPainter.RenderHint.Antialiasing)
    p.setBrush(palette.ink)
    p.setPen(QPen(palette.paper, 1))
    head = [QPointF(x - HEAD, top - HEAD + 1), QPointF(x + HEAD, top - HEAD + 1), QPointF(x, top + 5)]
    p.drawPolygon(QPolygonF(head))
    p.setRenderHint(QPainter.RenderHint.Antialiasing, False)
    p.setBrush(Qt.BrushStyle.NoBrush)
