"""One of the moments of a take, small: whether song and take agree there; chosen, it is shown large."""

import re
from typing import TYPE_CHECKING

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFontMetrics, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QAbstractButton, QSizePolicy, QWidget

from app.window.check import check_words
from app.window.check.proof_painter import Held, ProofPainter
from app.window.parts import theme as looks
from app.window.parts.theme import Theme

if TYPE_CHECKING:
    from app.engine.checking import Proof


UNITS = re.compile(r"bar |frames? |ms ")


class ProofCell(QAbstractButton):
    """A moment of the take."""

    def __init__(self, theme: Theme, tip: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self.proof: Proof | None = None
        self._held: Held | None = None
        self._behind_s = 0.0
        self._colour = QColor()
        self._figure = ""
        self.setCheckable(True)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setToolTip(tip)
        theme.changed.connect(self.update)

    def sizeHint(self) -> QSize:
        em = self._theme.em()
        return QSize(round(em * 6), round(em * 4.6))

    def show_moment(
        self, name: str, held: Held | None, proof: "Proof | None", behind_s: float, colour: QColor
    ) -> None:
        """Show a moment of the take; see `ProofStrip.show_moment`."""
        self.setText(name)
        self._held, self.proof, self._behind_s, self._colour = held, proof, behind_s, colour
        self._figure = "" if held is None else "…"
        if proof is not None and held is not None:
            late = proof.late_s
            none = "no sound" if proof.silent else "? no lag"
            self._figure = none if late is None else _short(late + behind_s + held.slide_s, held)
        self.setAccessibleName(f"{name}: {self._figure}".removesuffix(": "))
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        p = QPainter(self)
        theme, em = self._theme, self._theme.em()
        low = theme.em(looks.SMALL)
        area = QRectF(self.rect()).adjusted(1, 1, -1, -round(low * 2.2))
        p.fillRect(QRectF(self.rect()), theme.colour("chosen" if self.isChecked() else "paper"))
        p.fillRect(area, theme.colour("panel"))
        proof_painter = ProofPainter(p, theme, area, self._colour)
        if self.proof is not None and self._held is not None:
            proof_painter.curves(self.proof, self._behind_s + self._held.slide_s)
            proof_painter.moment(area.top(), area.bottom())
        p.setBrush(Qt.BrushStyle.NoBrush)
        p.setPen(QPen(theme.colour("ink" if self.isChecked() else "rule"), 2 if self.isChecked() else 1))
        p.drawRect(QRectF(self.rect()).adjusted(0.5, 0.5, -0.5, -0.5))
        p.setFont(theme.font(looks.SMALL, bold=self.isChecked()))
        room = QRectF(em * 0.2, area.bottom() + 1, self.width() - em * 0.4, low)
        metrics = p.fontMetrics()
        for text, role in ((self.text(), "ink"), (self._figure, "dim")):
            p.setPen(theme.colour("warm" if text.startswith("?") else role))
            shown = fitted(text, metrics, round(room.width()))
            p.drawText(room, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter, shown)
            room.translate(0, low)


def _short(late_s: float, held: Held) -> str:
    """A lag in as few words as there is room for."""
    if abs(late_s) < check_words.ON_TIME_S:
        return "on time"
    if held.clip.frame_rate is None:
        return f"{abs(late_s) * 1000:.1f} ms {'late' if late_s > 0 else 'early'}"
    by = late_s * float(held.clip.frame_rate)
    return f"{check_words.frames(by)} {'late' if by > 0 else 'early'}"


def fitted(text: str, metrics: QFontMetrics, width: int) -> str:
    """A moment or a lag with the words left out that there is no room for: its unit first.

    What must not go is which moment it is, and which way the lag goes.
    """
    bare = UNITS.sub("", text)
    for one in (text, bare, bare.partition(",")[0]):
        if metrics.horizontalAdvance(one) <= width:
            return one
    return metrics.elidedText(bare, Qt.TextElideMode.ElideRight, width)
