"""A cell of the table whose height is that of its text as it is painted."""

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QSize
from PySide6.QtWidgets import QStyledItemDelegate, QStyleOptionViewItem, QWidget

from app.window.parts.style_sheet import padding
from app.window.parts.theme import Theme


class TableCell(QStyledItemDelegate):
    """Qt breaks lines for the height without the padding of the style sheet, and cuts the last word off."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme

    def sizeHint(self, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex) -> QSize:
        narrow = QStyleOptionViewItem(option)
        narrow.rect = option.rect.adjusted(0, 0, -2 * padding(self._theme.em()), 0)
        return super().sizeHint(narrow, index)
