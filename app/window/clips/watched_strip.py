"""A line that tells which folder is watched and what is going on in it, with the button that ends it."""

from PySide6.QtGui import QAction
from PySide6.QtWidgets import QHBoxLayout, QWidget

from app.window.clips.watched_folder import WatchedFolder
from app.window.parts.buttons import ActionButton
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme


class WatchStrip(QWidget):
    """Seen only while a folder is watched."""

    def __init__(
        self, theme: Theme, watch: WatchedFolder, stop: QAction, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._watch = watch
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(round(theme.em()))
        self._text = TextLabel(theme)
        row.addWidget(self._text, 1)
        row.addWidget(ActionButton(stop))
        watch.changed.connect(self._show)
        self._show()

    @property
    def text(self) -> str:
        """What is told now."""
        return self._text.text()

    def _show(self) -> None:
        words = self._watch.words()
        self.setVisible(bool(words))
        self._text.setText(f"◉  {words}")
        self._text.setToolTip(str(self._watch.folder or ""))
