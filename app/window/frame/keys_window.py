"""Help: the keys of the window and of each place, with a search."""

from collections.abc import Sequence

from PySide6.QtCore import QSize, Qt
from PySide6.QtWidgets import (
    QDialog,
    QFrame,
    QHBoxLayout,
    QLineEdit,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from app.window.parts import theme as looks
from app.window.parts.actions import KeyLine
from app.window.parts.buttons import close_button
from app.window.parts.key_list import KeyList
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme

MOST_COLUMNS = 3


class KeysWindow(QDialog):
    """Lists the keys, grouped by place; goes away with Esc."""

    def __init__(
        self, theme: Theme, groups: Sequence[tuple[str, Sequence[KeyLine]]], parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._theme, self._groups = theme, groups
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle("Keyboard shortcuts")
        em = round(theme.em())
        box = QVBoxLayout(self)
        box.setContentsMargins(em, em, em, em)
        self.search = QLineEdit()
        self.search.setPlaceholderText("Search: what you want to do, or a key")
        self.search.setAccessibleName("Search keys")
        self.search.setToolTip("Shows the lines that contain all these words")
        self.search.setClearButtonEnabled(True)
        self.search.textChanged.connect(lambda: self._show())
        box.addWidget(self.search)
        self._scroll = QScrollArea()
        self._scroll.setWidgetResizable(True)
        self._scroll.setFrameShape(QFrame.Shape.NoFrame)
        self._scroll.setAccessibleName("Keys")
        box.addWidget(self._scroll, 1)
        box.addWidget(close_button(self))
        room = self.screen().availableGeometry().size()
        for self._columns in range(MOST_COLUMNS, 0, -1):
            wanted = self._show()
            if wanted.width() + 4 * em <= room.width():
                break
        self.resize(
            min(wanted.width() + 4 * em, room.width()), min(wanted.height() + 8 * em, room.height() - 4 * em)
        )

    def _show(self) -> QSize:
        """Lay the groups out in columns of about the same height; gives the room they want."""
        em = round(self._theme.em())
        asked = self.search.text().casefold().split()
        groups = []
        for name, lines in self._groups:
            found = [line for line in lines if _has(asked, f"{name} {' '.join(line)}")]
            if found:
                groups.append((name, found))
        page = QWidget()
        page.setObjectName("keys")
        row = QHBoxLayout(page)
        row.setSpacing(em * 3)
        columns = [QVBoxLayout() for _ in range(self._columns)]
        for column in columns:
            column.setSpacing(em // 3)
        heights = [0] * self._columns
        for name, shown in groups:
            shortest = heights.index(min(heights))
            column = columns[shortest]
            column.addWidget(TextLabel(self._theme, name, size=looks.LARGE, bold=True, wrap=False))
            column.addWidget(KeyList(self._theme, shown, size=looks.TEXT))
            column.addSpacing(em)
            heights[shortest] += len(shown) + 3
        if not groups:
            columns[0].addWidget(TextLabel(self._theme, "No shortcut found.", role="dim"))
        for column in columns:
            column.addStretch(1)
            row.addLayout(column)
        row.addStretch(1)
        self._scroll.setWidget(page)
        return page.sizeHint()


def _has(words: Sequence[str], text: str) -> bool:
    return all(word in text.casefold() for word in words)
