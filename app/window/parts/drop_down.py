"""A field with a list to choose from; the style sheet gives its edges, the arrow is painted here."""

from PySide6.QtCore import QEvent, QObject, QPointF, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPolygonF
from PySide6.QtWidgets import (
    QComboBox,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionComboBox,
    QStylePainter,
    QWidget,
)

from app.window.parts.theme import Theme

MOST = 20
"""Entries seen at once; more of them are scrolled."""


class DropDown(QComboBox):
    """Every choice needs an accessible name and a tip of its own."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self.setMaxVisibleItems(MOST)
        self.setItemDelegate(QStyledItemDelegate(self))  # the style sheet gives its entries room
        self.view().installEventFilter(self)
        theme.changed.connect(self.update)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() == QEvent.Type.ShortcutOverride and watched is self.view():
            # While the list is open all keys are its own, such as the arrows that else change the take.
            # What it does with them is done further on.
            event.accept()
        return super().eventFilter(watched, event)

    def showPopup(self) -> None:
        """Show the list as wide as its longest entry, be the field narrower."""
        bar = self.view().verticalScrollBar().sizeHint().width() if self.count() > MOST else 0
        self.view().setMinimumWidth(self.view().sizeHintForColumn(0) + bar + 2 * self.view().frameWidth())
        super().showPopup()

    def paintEvent(self, event: QPaintEvent) -> None:
        style, option = QStylePainter(self), QStyleOptionComboBox()
        self.initStyleOption(option)
        field = self.style().subControlRect(
            QStyle.ComplexControl.CC_ComboBox, option, QStyle.SubControl.SC_ComboBoxEditField, self
        )
        option.currentText = self.fontMetrics().elidedText(
            option.currentText, Qt.TextElideMode.ElideRight, field.width()
        )
        style.drawComplexControl(QStyle.ComplexControl.CC_ComboBox, option)
        if not self.isEditable():
            style.drawControl(QStyle.ControlElement.CE_ComboBoxLabel, option)
        style.end()
        p = QPainter(self)
        p.setRenderHint(QPainter.RenderHint.Antialiasing)
        em = self._theme.em()
        right, middle, half = self.width() - em * 0.6, self.height() / 2, em * 0.25
        colour = self._theme.colour("dim" if self.isEnabled() else "edge")
        p.setPen(colour)
        p.setBrush(colour)
        corners = (
            (right - 2 * half, middle - half / 2),
            (right, middle - half / 2),
            (right - half, middle + half),
        )
        p.drawPolygon(QPolygonF([QPointF(x, y) for x, y in corners]))
