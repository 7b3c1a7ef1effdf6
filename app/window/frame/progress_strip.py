"""What is being done, how far it is, and the button that stops it."""

from PySide6.QtCore import Qt
from PySide6.QtGui import QAction, QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QProgressBar, QSizePolicy, QWidget

from app.window.parts import theme as looks
from app.window.parts.buttons import ActionButton
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme
from app.window.work.running import Running


class ProgressStrip(QWidget):
    """A line seen only while something is being done."""

    def __init__(self, theme: Theme, running: Running, stop: QAction, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._running = running
        em = round(theme.em())
        row = QHBoxLayout(self)
        row.setContentsMargins(em, em // 2, em, em // 2)
        row.setSpacing(em)
        self._said = ""
        self._words = TextLabel(theme, size=looks.TEXT, wrap=False)
        # A long name is cut rather than widening the window.
        self._words.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        self._bar = QProgressBar()
        self._bar.setRange(0, 1000)
        self._bar.setTextVisible(False)
        self._bar.setFixedHeight(max(6, round(em * 0.5)))
        self._bar.setAccessibleName("Progress")
        self._bar.setToolTip("Progress of the work")
        row.addWidget(self._words, 3)
        row.addWidget(self._bar, 2)
        self.button = ActionButton(stop)
        # Only by its key, a click or Tab: the space bar must never stop anything by chance.
        self.button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        row.addWidget(self.button)
        running.moved.connect(self._show)
        self._show()

    @property
    def text(self) -> str:
        """What is being done, as it is told."""
        return self._said

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit()

    def _show(self) -> None:
        doing = self._running.doing
        self.setVisible(bool(doing))
        if not doing:
            return
        self.button.setVisible(not self._running.stopping)
        self._said = " · ".join(one.words for one in doing)
        self._words.setToolTip(self._said)
        self._fit()
        fractions = [one.fraction for one in doing if one.fraction is not None]
        # An unknown share is told by a bar that runs to and fro.
        self._bar.setRange(0, 1000 if fractions else 0)
        if fractions:
            self._bar.setValue(round(1000 * sum(fractions) / len(fractions)))
            self._bar.setAccessibleDescription(f"{round(100 * sum(fractions) / len(fractions))} percent")

    def _fit(self) -> None:
        metrics = self._words.fontMetrics()
        room = self._words.width()
        self._words.setText(metrics.elidedText(self._said, Qt.TextElideMode.ElideMiddle, room))
