"""The verdict of a clip in the table; a bar as long as the clip is being placed."""

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QRectF, Qt
from PySide6.QtGui import QPainter
from PySide6.QtWidgets import QStyle, QStyleOptionViewItem, QWidget

from app.window.clips.clips_model import PROGRESS
from app.window.clips.table_cell import TableCell


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
        em = self._theme.em()
        painter.save()
        painter.setFont(self._theme.font())
        painter.setPen(self._theme.colour("ink"))
        text = f"placing, {round(100 * fraction)} %"
        painter.drawText(cell.adjusted(em * 0.6, 0, 0, -em * 0.35), Qt.AlignmentFlag.AlignVCenter, text)
        bar = QRectF(cell.left() + em * 0.6, cell.bottom() - em * 0.45, cell.width() - em, 3)
        painter.fillRect(bar, self._theme.colour("rule"))
        bar.setWidth(bar.width() * min(max(fraction, 0.0), 1.0))
        painter.fillRect(bar, self._theme.colour("ink"))
        painter.restore()
