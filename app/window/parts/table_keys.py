"""Keys that belong to a table: those of a cell being typed in, and those that would act elsewhere."""

from collections.abc import Iterable

from PySide6.QtCore import QEvent, QKeyCombination, QObject, Qt
from PySide6.QtGui import QKeyEvent, QKeySequence
from PySide6.QtWidgets import QStyledItemDelegate, QTableWidget

ENTER = (Qt.Key.Key_Return, Qt.Key.Key_Enter)
_OF_EDITOR = (*ENTER, Qt.Key.Key_Tab, Qt.Key.Key_Backtab)


class TypingCell(QStyledItemDelegate):
    """Enter and Tab end what is typed into a cell, whatever they do in the place around the table."""

    def eventFilter(self, editor: QObject, event: QEvent) -> bool:
        # Qt asks the control that has the keyboard before a key becomes an action; a line edit leaves Enter.
        typed = isinstance(event, QKeyEvent) and event.type() == QEvent.Type.ShortcutOverride
        if typed and event.key() in _OF_EDITOR:  # type: ignore[attr-defined]
            event.accept()
            return True
        return super().eventFilter(editor, event)


class KeyedTable(QTableWidget):
    """A table in a place whose letters are keys: none jumps to a row, and some are kept from the place."""

    def __init__(self, rows: int, columns: int) -> None:
        super().__init__(rows, columns)
        self._kept: frozenset[str] = frozenset()
        self.setItemDelegate(TypingCell(self))

    def keep_keys(self, keys: Iterable[QKeySequence]) -> None:
        """Keep these keys from the place around it as long as this table has the keyboard."""
        self._kept = frozenset(key.toString() for key in keys)

    def event(self, event: QEvent) -> bool:
        if event.type() == QEvent.Type.ShortcutOverride and isinstance(event, QKeyEvent):
            # Figures of the keypad are the same figures.
            held = event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier
            key = QKeySequence(QKeyCombination(held, Qt.Key(event.key())))
            if key.toString() in self._kept:
                event.accept()
                return True
        return super().event(event)

    def keyboardSearch(self, search: str) -> None:
        pass
