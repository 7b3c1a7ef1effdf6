"""What came of a hand-off, in one line with the button that opens its folder; and what is to be told."""

from collections.abc import Sequence

from PySide6.QtGui import QAction
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from app.handoff.leftovers import left_words
from app.handoff.neighbour import size_words
from app.window.parts import words
from app.window.parts.buttons import ActionButton
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme


class HandoffOutcome(QWidget):
    """Hidden line by line where there is nothing to say."""

    def __init__(self, theme: Theme, open_folder: QAction, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        em = round(theme.em())
        self.done = TextLabel(theme, bold=True, wrap=False)
        """That it is done, how many files, and how large."""
        self.told = TextLabel(theme, role="warm")
        """Troubles, and what a person is to know."""
        self.left = TextLabel(theme, role="warm")
        """What earlier hand-offs left in the folder."""
        self.button = ActionButton(open_folder)
        box = QVBoxLayout(self)
        box.setContentsMargins(0, 0, 0, 0)
        box.setSpacing(em // 2)
        row = QHBoxLayout()
        row.setSpacing(em)
        row.addWidget(self.done)
        row.addWidget(self.button)
        row.addStretch(1)
        box.addLayout(row)
        box.addWidget(self.told)
        box.addWidget(self.left)
        self.clear()

    def clear(self) -> None:
        """Nothing came of anything yet; what is left in the folder stays told."""
        self.done.hide()
        self.button.hide()
        self.say("")

    def show_done(self, files: int, size_bytes: int, *, wholly: bool) -> None:
        """Say how much was written."""
        much = f"{words.count(files, 'file')}, {size_words(size_bytes)}"
        self.done.setText(f"✓ Done: {much}" if wholly else f"! Done in part: {much}")
        self.done.show()

    def say(self, text: str) -> None:
        """Tell of a trouble, or of nothing."""
        self.told.setText(text)
        self._show()

    def tell_left(self, names: Sequence[str]) -> None:
        """Name what earlier hand-offs left."""
        self.left.setText(left_words(names))
        self._show()

    def _show(self) -> None:
        for label in (self.told, self.left):
            label.setVisible(bool(label.text()))
