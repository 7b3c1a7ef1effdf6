"""One place where a take could be: the place in words, and a bar for how well it fits."""

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QAbstractButton, QSizePolicy, QWidget

from app.window.parts import theme as looks
from app.window.parts.theme import Theme

MOST_PLACES = 9
"""Places of a take that are listed, each with a key of its own."""


class FitRow(QAbstractButton):
    """One of several places to choose from."""

    def __init__(
        self, theme: Theme, number: int, place: str, note: str, strength: float, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._theme, self._number = theme, number
        self._note, self._strength = note, min(max(strength, 0.0), 1.0)
        self.setText(place)
        self.setCheckable(True)
        self.setAutoExclusive(True)
        self.setAccessibleName(f"{place}, {note}")
        self.setToolTip(f"{place}, {note}. Look at this place without deciding ({number})")
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def sizeHint(self) -> QSize:
        em = self._theme.em()
        return QSize(round(em * 14), round(em * 2.7))

    def paintEvent(self, event: QPaintEvent) -> None:
        p = QPainter(self)
        theme, em = self._theme, self._theme.em()
        if self.isChecked():
            p.fillRect(self.rect(), theme.colour("chosen"))
            p.fillRect(QRectF(0, 0, 4, self.height()), theme.colour("ink"))
        font = theme.font(looks.TEXT, bold=self.isChecked())
        small = theme.font(looks.SMALL)
        high, low = QFontMetricsF(font).height(), QFontMetricsF(small).height()
        key = QRectF(em * 0.6, (self.height() - em * 1.4) / 2, em * 1.4, em * 1.4)
        p.setFont(small)
        p.setPen(QPen(theme.colour("edge"), 1))
        p.drawRoundedRect(key, 3, 3)
        p.setPen(theme.colour("ink"))
        p.drawText(key, Qt.AlignmentFlag.AlignCenter, str(self._number))
        left, top = em * 2.6, (self.height() - high - low) / 2
        width = self.width() - left - em * 0.4
        p.setFont(font)
        text = QFontMetricsF(font).elidedText(self.text(), Qt.TextElideMode.ElideRight, width)
        p.drawText(QRectF(left, top, width, high), Qt.AlignmentFlag.AlignLeft, text)
        room = QRectF(left, top + high + low / 2 - em * 0.25, em * 3, em * 0.5)
        p.fillRect(room, theme.mixed(theme.colour("ink"), 0.12))
        p.fillRect(room.adjusted(0, 0, -room.width() * (1 - self._strength), 0), theme.colour("edge"))
        p.setFont(small)
        p.setPen(theme.colour("dim"))
        beside = left + em * 3.5
        width = self.width() - beside - em * 0.4
        note = QFontMetricsF(small).elidedText(self._note, Qt.TextElideMode.ElideRight, width)
        p.drawText(QRectF(beside, top + high, width, low), Qt.AlignmentFlag.AlignLeft, note)
        if self.hasFocus():
            p.setPen(QPen(theme.colour("edge"), 1, Qt.PenStyle.DotLine))
            p.drawRect(QRectF(0.5, 0.5, self.width() - 1, self.height() - 1))
