"""Paints faults and keepers over takes: hatching, shape and words tell them, never colour alone."""

from PySide6.QtCore import QLineF, QRectF, Qt
from PySide6.QtGui import QPainter, QPen

from app.model.document.marks import FaultReason, Mark, MarkKind, MarkState
from app.model.faults_seen import CALLED
from app.window.parts import theme as looks
from app.window.score.score_boxes import MarkBox, TakeBox
from app.window.score.score_palette import ScorePalette

FAULT, KEEPER, PROPOSED = "✕", "★", "?"
BAND = 5.0
"""Height of the band over a keeper, where there is room (pixels)."""
WORDS_FROM = 9.0
"""Takes lower than so many pixels have no room for hatching that one could tell from another."""


class MarkPainter:
    """Paints the marks of takes."""

    def __init__(self, painter: QPainter, palette: ScorePalette) -> None:
        self._p, self._palette = painter, palette

    def marks(self, box: TakeBox, area: QRectF) -> None:
        """Paint the marks of a take that lies in an area; keepers first, faults count more."""
        for mark in sorted(box.marks, key=lambda one: one.mark.kind is MarkKind.FAULT):
            place = QRectF(mark.x0, area.top(), max(2.0, mark.x1 - mark.x0), area.height())
            if mark.mark.state is MarkState.PROPOSED:
                self._proposed(mark, place)
            elif mark.mark.kind is MarkKind.FAULT:
                self._fault(mark, place)
            else:
                self._keeper(mark, place)

    def _fault(self, mark: MarkBox, place: QRectF) -> None:
        """What cannot be used is covered with paper and struck out with ink."""
        p, palette = self._p, self._palette
        p.save()
        p.fillRect(place, palette.veil)
        if place.height() >= WORDS_FROM:
            p.fillRect(place, palette.struck)
        p.setPen(QPen(palette.ink, 1.5 if place.height() >= WORDS_FROM else 1.0))
        p.setBrush(Qt.BrushStyle.NoBrush)
        if place.height() >= WORDS_FROM:
            p.drawRect(place.adjusted(0.75, 0.75, -0.75, -0.75))
        else:
            p.drawLine(QLineF(place.left(), place.top(), place.right(), place.bottom()))
            p.drawLine(QLineF(place.left(), place.bottom(), place.right(), place.top()))
        p.restore()
        self._plate(mark, place, 0.5)

    def _keeper(self, mark: MarkBox, place: QRectF) -> None:
        """A thick band over the pictures, which stay to be seen."""
        p, palette = self._p, self._palette
        high = min(BAND, place.height() / 2)
        # Paper on either side: ink alone would drown in dark pictures.
        edge = 2.0 if place.height() >= WORDS_FROM else 0.0
        p.fillRect(QRectF(place.left(), place.top(), place.width(), high + 2 * edge), palette.paper)
        p.fillRect(QRectF(place.left(), place.top() + edge, place.width(), high), palette.ink)
        self._plate(mark, place, 0.0)

    def _proposed(self, mark: MarkBox, place: QRectF) -> None:
        """Lightly: it does not count yet."""
        p, palette = self._p, self._palette
        p.setBrush(Qt.BrushStyle.NoBrush)
        # Dashes of ink on paper, or they would drown in dark pictures.
        for pen in (QPen(palette.paper, 1.5), QPen(palette.ink, 1.5, Qt.PenStyle.DashLine)):
            p.setPen(pen)
            p.drawRect(place.adjusted(0.75, 0.75, -0.75, -0.75))
        self._plate(mark, place, 0.5)

    def _plate(self, mark: MarkBox, place: QRectF, down: float) -> None:
        """The mark in words, at its start; a sign where there is no room for words."""
        palette, size = self._palette, looks.SMALL
        high = palette.font(size)[1].height()
        if place.height() < high * 0.8:
            return
        room, proposed = place.width() - 6, mark.mark.state is MarkState.PROPOSED
        text = mark_words(mark.mark)
        if palette.width(text, size, italic=proposed) > room:
            sign = text.partition(" ")[0]
            text = palette.elided(text, room, size, italic=proposed) if room > 3 * high else sign
        wide = palette.width(text, size, italic=proposed) + 6
        if wide > place.width() + 2:
            return
        high = min(high, place.height())
        left = place.left() + (2 if place.width() > wide + 2 else 0)
        spare = place.height() - high
        # Below a keeper's band where there is room for both.
        top = place.top() + (BAND + 2 if not down and spare >= BAND + 2 else spare / 2)
        plate = (left, top, wide, high)
        self._p.fillRect(QRectF(*plate), palette.panel)
        colour = palette.dim if proposed else palette.ink
        palette.draw(self._p, plate, text, size, colour, italic=proposed, along=0.5)


def mark_words(mark: Mark) -> str:
    """A mark in a few words, after its sign.

    >>> mark_words(Mark("m", "c", MarkKind.FAULT, 0.0, 1.0, FaultReason.FOCUS, "on the wall"))
    '✕ focus: on the wall'
    >>> mark_words(Mark("m", "c", MarkKind.FAULT, 0.0, 1.0, words="a dog")), mark_words(Mark("m", "c", \
MarkKind.KEEPER, 0.0, 1.0))
    ('✕ a dog', '★ keeper')
    >>> mark_words(Mark("m", "c", MarkKind.FAULT, 0.0, 1.0, FaultReason.LIGHT, by="over", \
state=MarkState.PROPOSED))
    '? overexposed'
    """
    if mark.kind is MarkKind.KEEPER:
        what = f"keeper: {mark.words}" if mark.words else "keeper"
    elif mark.state is MarkState.PROPOSED and mark.by in CALLED:
        what = CALLED[mark.by]
    elif mark.reason is FaultReason.OTHER:
        what = mark.words or "fault"
    else:
        what = f"{mark.reason.value}: {mark.words}" if mark.words else mark.reason.value
    sign = PROPOSED if mark.state is MarkState.PROPOSED else FAULT if mark.kind is MarkKind.FAULT else KEEPER
    return f"{sign} {what}"
