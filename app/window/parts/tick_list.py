"""A list whose entries can be ticked; their boxes have an edge that is seen on any ground."""

from collections.abc import Sequence

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, Qt, Signal
from PySide6.QtGui import QPainter, QPen
from PySide6.QtWidgets import (
    QListWidget,
    QListWidgetItem,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
)

from app.window.parts.theme import Theme

_ROLE = Qt.ItemDataRole.UserRole


class TickList(QListWidget):
    """Every list needs an accessible name and a tip of its own. Space ticks."""

    ticked_changed = Signal()

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self.setItemDelegate(_Edged(theme, self))
        self.itemChanged.connect(self.ticked_changed)
        theme.changed.connect(self.viewport().update)

    def fill(self, rows: Sequence[tuple[str, object]], ticked: Sequence[object]) -> None:
        """List rows of words and what they stand for, in the place of those before."""
        self.blockSignals(True)
        self.clear()
        for words, value in rows:
            item = QListWidgetItem(words)
            item.setData(_ROLE, value)
            item.setFlags(item.flags() | Qt.ItemFlag.ItemIsUserCheckable)
            item.setCheckState(Qt.CheckState.Checked if value in ticked else Qt.CheckState.Unchecked)
            self.addItem(item)
        self.setCurrentRow(0)
        self.blockSignals(False)

    @property
    def ticked(self) -> list[object]:
        """What the ticked rows stand for, in their order."""
        items = [self.item(number) for number in range(self.count())]
        return [item.data(_ROLE) for item in items if item.checkState() is Qt.CheckState.Checked]


class _Edged(QStyledItemDelegate):
    def __init__(self, theme: Theme, parent: QListWidget) -> None:
        super().__init__(parent)
        self._theme, self._list = theme, parent

    def paint(
        self,
        painter: QPainter,
        option: QStyleOptionViewItem,
        index: QModelIndex | QPersistentModelIndex,
    ) -> None:
        super().paint(painter, option, index)
        self.initStyleOption(option, index)
        element = QStyle.SubElement.SE_ItemViewItemCheckIndicator
        box = self._list.style().subElementRect(element, option, self._list)
        painter.save()
        painter.setPen(QPen(self._theme.colour("edge"), 1))
        painter.drawRect(box.adjusted(0, 0, -1, -1))
        painter.restore()
