"""One place where a take could be: a bar for how well it fits, and the place in words."""

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QAbstractButton, QSizePolicy, QWidget

from app.views import theme as looks
from app.views.theme import Theme


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
        self.setShortcut(str(number))
        self.setAccessibleName(f"{place}, {note}")
        self.setToolTip(f"Mark this place ({number})")
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def sizeHint(self) -> QSize:
        em = self._theme.em()
        return QSize(round(em * 26), round(em * 2.7))

    def paintEvent(self, event: QPaintEvent) -> None:
        p = QPainter(self)
        theme, em = self._theme, self._theme.em()
        if self.isChecked():
            p.fillRect(self.rect(), theme.colour("chosen"))
            p.fillRect(QRectF(0, 0, 4, self.height()), theme.colour("ink"))
        font = theme.font(looks.TEXT, bold=self.isChecked())
        small = theme.font(looks.SMALL)
        high, low = QFontMetricsF(font).height(), QFontMetricsF(small).height()
        p.setFont(small)
        p.setPen(theme.colour("dim"))
        key = QRectF(em * 0.8, (self.height() - em * 1.4) / 2, em * 1.4, em * 1.4)
        p.setPen(QPen(theme.colour("edge"), 1))
        p.drawRoundedRect(key, 3, 3)
        p.setPen(theme.colour("ink"))
        p.drawText(key, Qt.AlignmentFlag.AlignCenter, str(self._number))
        room = QRectF(em * 3, self.height() / 2 - em * 0.5, em * 8, em)
        p.fillRect(room, theme.mixed(theme.colour("ink"), 0.08))
        room.setWidth(room.width() * self._strength)
        p.fillRect(room, theme.colour("edge"))
        left, top = em * 12, (self.height() - high - low) / 2
        width = self.width() - left - em * 0.5
        p.setFont(font)
        p.setPen(theme.colour("ink"))
        text = QFontMetricsF(font).elidedText(self.text(), Qt.TextElideMode.ElideRight, width)
        p.drawText(QRectF(left, top, width, high), Qt.AlignmentFlag.AlignLeft, text)
        p.setFont(small)
        p.setPen(theme.colour("dim"))
        p.drawText(QRectF(left, top + high, width, low), Qt.AlignmentFlag.AlignLeft, self._note)
        if self.hasFocus():
            p.setPen(QPen(theme.colour("edge"), 1, Qt.PenStyle.DotLine))
            p.drawRect(QRectF(0.5, 0.5, self.width() - 1, self.height() - 1))
