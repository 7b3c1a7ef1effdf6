"""One entry of the left column: the name of a place and a small figure below it."""

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QAction, QFontMetricsF, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QAbstractButton, QSizePolicy, QWidget

from app.window.parts import theme as looks
from app.window.parts.theme import Theme


class PlaceButton(QAbstractButton):
    """Goes to a place; marked while one is there."""

    def __init__(self, theme: Theme, action: QAction, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme, self._action = theme, action
        self._figure, self._wants_look = "", False
        self.setText(action.text().replace("&", ""))
        self.setToolTip(action.toolTip())
        self.setAccessibleName(self.text())
        self.setCheckable(True)
        self.setAutoExclusive(True)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.clicked.connect(action.trigger)
        action.toggled.connect(self.setChecked)
        self.setChecked(action.isChecked())
        theme.changed.connect(self.update)

    @property
    def figure(self) -> str:
        """What is said below the name."""
        return self._figure

    def show_figure(self, figure: str, wants_look: bool) -> None:
        """Say something small below the name, in the warm colour where it wants a look."""
        self._figure, self._wants_look = figure, wants_look
        self.setAccessibleDescription(figure)
        self.update()

    def sizeHint(self) -> QSize:
        em = self._theme.em()
        return QSize(round(em * 8), round(em * 3.4))

    def paintEvent(self, event: QPaintEvent) -> None:
        p = QPainter(self)
        theme, em = self._theme, self._theme.em()
        if self.isChecked():
            p.fillRect(QRectF(0, em * 0.2, 5, self.height() - em * 0.4), theme.colour("warm"))
        elif self.underMouse():
            p.fillRect(QRectF(0, em * 0.2, 5, self.height() - em * 0.4), theme.colour("rule"))
        left, width = em * 1.3, self.width() - em * 1.5
        name_font = theme.font(looks.LARGE, bold=self.isChecked())
        figure_font = theme.font(looks.SMALL)
        name_h, figure_h = QFontMetricsF(name_font).height(), QFontMetricsF(figure_font).height()
        top = (self.height() - name_h - figure_h) / 2
        p.setFont(name_font)
        p.setPen(theme.colour("ink"))
        p.drawText(QRectF(left, top, width, name_h), Qt.AlignmentFlag.AlignLeft, self.text())
        p.setFont(figure_font)
        p.setPen(theme.colour("warm" if self._wants_look else "dim"))
        figure = QFontMetricsF(figure_font).elidedText(self._figure, Qt.TextElideMode.ElideRight, width)
        p.drawText(QRectF(left, top + name_h, width, figure_h), Qt.AlignmentFlag.AlignLeft, figure)
        if self.hasFocus():
            p.setPen(QPen(theme.colour("edge"), 1, Qt.PenStyle.DotLine))
            p.drawRect(QRectF(left - em * 0.4, 1.5, width + em * 0.4, self.height() - 3))
