"""How the cells of the table of clips are measured and painted."""

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QRectF, QSize, Qt
from PySide6.QtGui import QPainter
from PySide6.QtWidgets import QStyle, QStyledItemDelegate, QStyleOptionViewItem, QWidget

from app.window.clips.clips_model import PROGRESS
from app.window.parts.style_sheet import padding
from app.window.parts.theme import Theme


class TableCell(QStyledItemDelegate):
    """Qt breaks lines for the height without the padding of the style sheet, and cuts the last word off."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.theme = theme

    def sizeHint(self, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex) -> QSize:
        narrow = QStyleOptionViewItem(option)
        narrow.rect = option.rect.adjusted(0, 0, -2 * padding(self.theme.em()), 0)
        return super().sizeHint(narrow, index)


class FileCell(TableCell):
    """Where there is no room for a name, its middle gives way: names of one camera differ at their ends."""

    def initStyleOption(
        self, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex
    ) -> None:
        super().initStyleOption(option, index)
        option.textElideMode = Qt.TextElideMode.ElideMiddle
        option.features &= ~QStyleOptionViewItem.ViewItemFeature.WrapText


class VerdictCell(TableCell):
    """Paints progress over the cell of a clip that is being placed."""

    def paint(
        self, painter: QPainter, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex
    ) -> None:
        fraction = index.data(PROGRESS)
        if fraction is None:
            super().paint(painter, option, index)
            return
        empty = QStyleOptionViewItem(option)
        self.initStyleOption(empty, index)
        empty.text = ""
        widget = self.parent()
        assert isinstance(widget, QWidget)
        widget.style().drawControl(QStyle.ControlElement.CE_ItemViewItem, empty, painter, widget)
        cell = QRectF(option.rect)
        em = self.theme.em()
        painter.save()
        painter.setFont(self.theme.font())
        painter.setPen(self.theme.colour("ink"))
        text = f"placing, {round(100 * fraction)} %"
        painter.drawText(cell.adjusted(em * 0.6, 0, 0, -em * 0.35), Qt.AlignmentFlag.AlignVCenter, text)
        bar = QRectF(cell.left() + em * 0.6, cell.bottom() - em * 0.45, cell.width() - em, 3)
        painter.fillRect(bar, self.theme.colour("rule"))
        bar.setWidth(bar.width() * min(max(fraction, 0.0), 1.0))
        painter.fillRect(bar, self.theme.colour("ink"))
        painter.restore()
