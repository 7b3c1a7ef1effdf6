"""What went wrong or needs a word: told above the places until its cause is gone, or it is put away."""

from dataclasses import dataclass

from PySide6.QtGui import QKeySequence, Qt
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme

MOST = 3
"""Troubles told at a time; the oldest give way."""


@dataclass(frozen=True, slots=True)
class _Trouble:
    cause: str
    sentence: str


class Notice(QWidget):
    """Troubles in the warm colour, each with its cause; and one harmless remark in plain ink.

    Hidden as long as there is nothing to tell.
    """

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        em = round(theme.em())
        row = QHBoxLayout(self)
        row.setContentsMargins(em, em // 2, em, em // 2)
        lines = QVBoxLayout()
        lines.setSpacing(0)
        self.troubles = TextLabel(theme, role="warm")
        self.remark = TextLabel(theme)
        for label in (self.troubles, self.remark):
            label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
            lines.addWidget(label)
        close = QPushButton("Close")
        close.setShortcut(QKeySequence("Ctrl+."))
        close.setToolTip("Dismiss this message (Ctrl+.)")
        close.setAccessibleName("Dismiss the message")
        close.clicked.connect(self.clear)
        row.addLayout(lines, 1)
        row.addWidget(close)
        self._told: list[_Trouble] = []
        self._remark = ""
        self._show()

    @property
    def text(self) -> str:
        """What is told now."""
        return "\n".join(filter(None, [*(one.sentence for one in self._told), self._remark]))

    def tell(self, sentence: str, cause: str = "") -> None:
        """Tell a trouble, in the place of what was told of the same cause; ``mended`` takes it away."""
        cause = cause or sentence
        self._told = [*(one for one in self._told if one.cause != cause), _Trouble(cause, sentence)][-MOST:]
        self._show()

    def mended(self, cause: str) -> None:
        """What caused a trouble is gone, or is tried once more."""
        self._told = [one for one in self._told if one.cause != cause]
        self._show()

    def say(self, sentence: str) -> None:
        """Say something harmless, in the place of what was said before; ``go_on`` takes it away."""
        self._remark = sentence
        self._show()

    def go_on(self) -> None:
        """The person does something else: what was harmless needs no word any more."""
        self.say("")

    def clear(self) -> None:
        """Put everything away."""
        self._told = []
        self.say("")

    def _show(self) -> None:
        self.troubles.setText("\n".join(f"!  {one.sentence}" for one in self._told))
        self.remark.setText(f"·  {self._remark}")
        self.troubles.setVisible(bool(self._told))
        self.remark.setVisible(bool(self._remark))
        self.setAccessibleName(self.text)
        self.setVisible(bool(self.text))
