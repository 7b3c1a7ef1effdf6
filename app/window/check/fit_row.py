"""One place where a take could be: the place and its time, and a bar for how well it fits."""

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QAbstractButton, QSizePolicy, QWidget

from app.window.parts import theme as looks
from app.window.parts.theme import Theme

MOST_KEYS = 9
"""So many places of a take have a key each."""


class FitRow(QAbstractButton):
    """One of several places to choose from."""

    def __init__(
        self,
        theme: Theme,
        number: int,
        place: str,
        time: str,
        note: str,
        strength: float,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._theme, self._key = theme, str(number) if number <= MOST_KEYS else ""
        self._place, self._note, self._strength = place, f"{time} · {note}", min(max(strength, 0.0), 1.0)
        self.setText(f"{place} · {time}")
        self.setCheckable(True)
        self.setAutoExclusive(True)
        self.setAccessibleName(f"{place}, {time}, {note}")
        by_key = f" ({self._key})" if self._key else ""
        self.setToolTip(f"{place}, {time}, {note}. Preview this place without deciding{by_key}")
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def sizeHint(self) -> QSize:
        em = self._theme.em()
        return QSize(round(em * 14), round(self._theme.em() + self._theme.em(looks.SMALL) + em * 0.45))

    def paintEvent(self, event: QPaintEvent) -> None:
        p = QPainter(self)
        theme, em = self._theme, self._theme.em()
        if self.isChecked():
            p.fillRect(self.rect(), theme.colour("chosen"))
            p.fillRect(QRectF(0, 0, 4, self.height()), theme.colour("ink"))
        font = theme.font(looks.TEXT, bold=self.isChecked())
        small = theme.font(looks.SMALL)
        high, low = QFontMetricsF(font).height(), QFontMetricsF(small).height()
        if self._key:
            key = QRectF(em * 0.6, (self.height() - em * 1.4) / 2, em * 1.4, em * 1.4)
            p.setFont(small)
            p.setPen(QPen(theme.colour("edge"), 1))
            p.drawRoundedRect(key, 3, 3)
            p.setPen(theme.colour("ink"))
            p.drawText(key, Qt.AlignmentFlag.AlignCenter, self._key)
        p.setPen(theme.colour("ink"))
        left, top = em * 2.6, (self.height() - high - low) / 2
        width = self.width() - left - em * 0.4
        p.setFont(font)
        text = QFontMetricsF(font).elidedText(self._place, Qt.TextElideMode.ElideRight, width)
        p.drawText(QRectF(left, top, width, high), Qt.AlignmentFlag.AlignLeft, text)
        room = QRectF(left, top + high + low / 2 - em * 0.25, em * 2.2, em * 0.5)
        p.fillRect(room, theme.mixed(theme.colour("ink"), 0.12))
        p.fillRect(room.adjusted(0, 0, -room.width() * (1 - self._strength), 0), theme.colour("edge"))
        p.setFont(small)
        p.setPen(theme.colour("dim"))
        beside = left + em * 2.6
        width = self.width() - beside - em * 0.4
        note = QFontMetricsF(small).elidedText(self._note, Qt.TextElideMode.ElideRight, width)
        p.drawText(QRectF(beside, top + high, width, low), Qt.AlignmentFlag.AlignLeft, note)
        if self.hasFocus():
            p.setPen(QPen(theme.colour("edge"), 1, Qt.PenStyle.DotLine))
            p.drawRect(QRectF(0.5, 0.5, self.width() - 1, self.height() - 1))
