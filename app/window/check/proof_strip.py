"""The proof strip: one moment of song and take, large, with the clip's frames as its ruler; the take can be
slid along it."""

from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QImage, QMouseEvent, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.engine.checking import SHOWN_S, SLIDE_S
from app.window.check import check_words
from app.window.check.frame_row import draw_frames
from app.window.check.proof_painter import Held, ProofPainter
from app.window.parts import theme as looks
from app.window.parts.clip_pictures import Pictures
from app.window.parts.theme import Theme

if TYPE_CHECKING:
    from app.engine.checking import Proof

TIP = (
    "Song above, take below, 150 ms either side of this moment. Drag to slide the take. Both went through "
    "the same filter, made from the pitches they share, so that hits stand out from noise. The grey hill "
    "below shows where the take fits best; the mark above it shows where it is now."
)


class ProofStrip(QWidget):
    """Shows one moment; tells when it is slid by hand."""

    sliding = Signal(float)
    """Seconds of song by which the take is being slid."""
    slid = Signal(float)
    """The same, when it is let go."""

    def __init__(self, theme: Theme, pictures: Pictures, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme, self._pictures = theme, pictures
        self._held: Held | None = None
        self.proof: Proof | None = None
        self._behind_s = 0.0
        self.colour = QColor()
        self._note, self._above = "", "song"
        self._beats: tuple[float, ...] = ()
        self._grabbed: float | None = None
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setMinimumHeight(round(theme.em() * 6))
        self.setCursor(Qt.CursorShape.SizeHorCursor)
        self.setAccessibleName("Proof strip")
        self.setToolTip(TIP)
        theme.changed.connect(self.update)
        pictures.arrived.connect(self._on_pictures_arrived)

    def _on_pictures_arrived(self) -> None:
        if self.proof is not None and self.proof.silent:
            self.update()

    def sizeHint(self) -> QSize:
        em = self._theme.em()
        return QSize(round(em * 34), round(em * 14))

    def show_moment(
        self,
        held: Held | None,
        proof: "Proof | None",
        behind_s: float,
        colour: QColor,
        beats: tuple[float, ...] = (),
        note: str = "",
        above: str = "song",
    ) -> None:
        """Show a take at a moment.

        ``behind_s``: how much earlier in the song the take lay when the proof was made. ``note`` is said
        where there is no proof; ``above`` names what the take is compared with.
        """
        self._above = above
        self._held, self.proof, self._behind_s = held, proof, behind_s
        self.colour, self._beats, self._note = colour, beats, note
        self.setAccessibleDescription(self.words)
        self.update()

    @property
    def words(self) -> str:
        """What the strip shows, in a sentence."""
        if self.proof is None or self._held is None:
            return self._note
        if self.proof.silent:
            return "The clip has no sound here."
        late_s = self._late_s()
        if late_s is None:
            return "The lag cannot be measured here."
        unsure = f"±{max(self.proof.uncertainty_s * 1000, 0.1):.1f} ms"
        return f"The take is {check_words.late(late_s, self._held.clip)}, {unsure}."

    def _late_s(self) -> float | None:
        """How late the take is where it is now."""
        assert self.proof is not None
        assert self._held is not None
        measured = self.proof.late_s
        return None if measured is None else measured + self._behind_s + self._held.slide_s

    def mousePressEvent(self, event: QMouseEvent) -> None:
        if event.button() == Qt.MouseButton.LeftButton and self._held is not None:
            self._grabbed = event.position().x()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        if self._grabbed is not None:
            self.sliding.emit(self._by(event))

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        if self._grabbed is not None:
            by = self._by(event)
            self._grabbed = None
            self.slid.emit(by)

    def _by(self, event: QMouseEvent) -> float:
        assert self._grabbed is not None
        by = (event.position().x() - self._grabbed) / max(1.0, self._area().width()) * 2 * SHOWN_S
        return min(max(by, -SLIDE_S), SLIDE_S)

    def _area(self) -> QRectF:
        em = self._theme.em()
        return QRectF(self.rect()).adjusted(1, 1, -1, -round(em * 3.4))

    def paintEvent(self, event: QPaintEvent) -> None:
        p = QPainter(self)
        theme, em, area = self._theme, self._theme.em(), self._area()
        p.fillRect(QRectF(self.rect()), theme.colour("panel"))
        held, proof = self._held, self.proof
        proof_painter = ProofPainter(p, theme, area, self.colour)
        ruler = area.bottom() + em * 1.4
        if held is not None and held.clip.frame_rate is not None:
            proof_painter.this_frame(held)
        if held is not None and proof is not None:
            proof_painter.curves(proof, self._behind_s + held.slide_s)
            if proof.silent and held.clip.frame_rate is not None:
                below = area.adjusted(0, area.height() / 2, 0, 0)
                draw_frames(p, theme, proof_painter, below, held, self._picture)
            self._draw_beats(p, proof_painter, area, held)
        else:
            p.setFont(theme.font())
            p.setPen(theme.colour("dim"))
            flags = Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap
            p.drawText(area.adjusted(em, 0, -em, 0), flags, self._note)
        if proof is not None:
            p.setPen(QPen(theme.colour("rule"), 1))
            p.drawLine(QPointF(area.left(), area.center().y()), QPointF(area.right(), area.center().y()))
        if held is not None and held.clip.frame_rate is not None:
            proof_painter.frames(held, area.bottom(), ruler, named=True)
        band = QRectF(area.left(), ruler, area.width(), em * 1.9)
        if held is not None and proof is not None and not proof.silent:
            proof_painter.fit(proof, band)
            self._draw_mark(p, proof_painter, band, held)
        if held is not None:
            if proof is not None:
                proof_painter.moment(area.top(), area.bottom())
            self._draw_names(p, area, band, proof is not None)
        p.setPen(QPen(theme.colour("rule"), 1))
        p.setBrush(Qt.BrushStyle.NoBrush)
        p.drawRect(QRectF(self.rect()).adjusted(0.5, 0.5, -0.5, -0.5))

    def _picture(self, number: int, high: int) -> QImage | None:
        assert self._held is not None
        return self._pictures.frame(self._held.clip, number, high, self.devicePixelRatioF())

    def _draw_names(self, p: QPainter, area: QRectF, band: QRectF, proved: bool) -> None:
        theme, em = self._theme, self._theme.em()
        p.setFont(theme.font(looks.SMALL))
        inner = area.adjusted(em * 0.5, em * 0.25, -em * 0.5, -em * 0.25)
        left = Qt.AlignmentFlag.AlignLeft
        top, bottom = Qt.AlignmentFlag.AlignTop, Qt.AlignmentFlag.AlignBottom
        silent = self.proof is not None and self.proof.silent
        self._boxed(p, inner, left | top, self._above)
        below = "frames" if silent else "take"
        taken = p.fontMetrics().horizontalAdvance(below) + em
        self._boxed(p, inner, left | bottom, below)
        if proved:
            if not silent:
                self._boxed(p, band.adjusted(em * 0.5, 0, 0, 0), left | Qt.AlignmentFlag.AlignVCenter, "fit")
            p.setFont(theme.font(looks.SMALL, bold=True))
            if p.fontMetrics().horizontalAdvance(self.words) > inner.width() - taken:
                # With large text the two do not stand on one line.
                inner.adjust(0, 0, 0, -p.fontMetrics().height())
            self._boxed(p, inner, Qt.AlignmentFlag.AlignRight | bottom, self.words)

    def _boxed(self, p: QPainter, rect: QRectF, flags: Qt.AlignmentFlag, text: str) -> None:
        """Text that can be read over a curve."""
        box = p.boundingRect(rect, flags, text)
        ground = self._theme.colour("panel")
        ground.setAlphaF(0.85)
        p.fillRect(box.adjusted(-3, 0, 3, 0), ground)
        p.setPen(self._theme.colour("ink"))
        p.drawText(rect, flags, text)

    def _draw_beats(self, p: QPainter, proof_painter: ProofPainter, area: QRectF, held: Held) -> None:
        p.setPen(QPen(self._theme.colour("edge"), 1, Qt.PenStyle.DotLine))
        for beat in self._beats:
            off = beat - held.song_s
            if abs(off) < SHOWN_S and abs(off) > 0.002:
                x = round(proof_painter.x(off)) + 0.5
                p.drawLine(QPointF(x, area.top()), QPointF(x, area.center().y()))

    def _draw_mark(self, p: QPainter, proof_painter: ProofPainter, band: QRectF, held: Held) -> None:
        """Where the take is, on the fit's ground."""
        x, em = proof_painter.x(self._behind_s + held.slide_s), self._theme.em()
        p.setRenderHint(QPainter.RenderHint.Antialiasing)
        p.setPen(Qt.PenStyle.NoPen)
        p.setBrush(self._theme.colour("warm"))
        half = em * 0.3
        p.drawPolygon(
            QPolygonF(
                [
                    QPointF(x, band.top() + em * 0.65),
                    QPointF(x - half, band.top() + em * 0.1),
                    QPointF(x + half, band.top() + em * 0.1),
                ]
            )
        )
        p.setRenderHint(QPainter.RenderHint.Antialiasing, False)
