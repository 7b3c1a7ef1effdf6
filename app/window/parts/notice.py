"""A line that tells what went wrong or needs a word, until it is put away."""

from PySide6.QtGui import QKeySequence, Qt
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QWidget

from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme


class Notice(QWidget):
    """Shows the last sentences told; hidden as long as there are none."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        em = round(theme.em())
        row = QHBoxLayout(self)
        row.setContentsMargins(em, em // 2, em, em // 2)
        self._text = TextLabel(theme, role="warm")
        self._text.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        close = QPushButton("Close")
        close.setShortcut(QKeySequence("Ctrl+."))
        close.setToolTip("Put this line away (Ctrl+.)")
        close.setAccessibleName("Put the message away")
        close.clicked.connect(self.clear)
        row.addWidget(self._text, 1)
        row.addWidget(close)
        self._sentences: list[str] = []
        self.hide()

    @property
    def text(self) -> str:
        """What is told now."""
        return "\n".join(self._sentences)

    def tell(self, sentence: str) -> None:
        """Show a sentence; the last three stay together."""
        if sentence in self._sentences:
            self._sentences.remove(sentence)
        self._sentences = [*self._sentences, sentence][-3:]
        self._text.setText("\n".join(f"!  {line}" for line in self._sentences))
        self.setAccessibleName(self.text)
        self.show()

    def clear(self) -> None:
        """Put everything away."""
        self._sentences = []
        self.hide()
