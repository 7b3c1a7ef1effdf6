"""A list in a place whose letters are keys: none of them jumps to an entry that begins so."""

from PySide6.QtWidgets import QListWidget


class KeyedList(QListWidget):
    """A letter whose action cannot be used at the moment does nothing, instead of choosing another entry."""

    def keyboardSearch(self, search: str) -> None:
        pass
