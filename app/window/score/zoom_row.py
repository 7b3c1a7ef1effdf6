"""The row over the score: what is hidden or thin, and the size of the score."""

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtGui import QAction, QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QSlider, QWidget

from app.model.coverage.thinness import NOT_NAMED
from app.window.parts import theme as looks
from app.window.parts import words
from app.window.parts.buttons import ActionButton
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme
from app.window.score.score_canvas import ScoreCanvas


class ZoomRow(QWidget):
    """Tells how many angles are hidden, with a way back; zooms the score."""

    def __init__(
        self,
        theme: Theme,
        view: ScoreCanvas,
        show_hidden: QAction,
        actions: Sequence[QAction],
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._view = view
        self._counted = "bar"
        self.summary = TextLabel(theme, size=looks.SMALL, role="dim", wrap=False)
        self._back = ActionButton(show_hidden)
        self.size_label = TextLabel(theme, size=looks.SMALL, role="dim", wrap=False)
        self.size_label.setMinimumWidth(self.size_label.fontMetrics().horizontalAdvance("88 bars"))
        self.size_label.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        self.slider = QSlider(Qt.Orientation.Horizontal)
        # Where text is large and the screen small, the slider gives way.
        self.slider.setMinimumWidth(round(theme.em() * 2.5))
        self.slider.setMaximumWidth(round(theme.em() * 9))
        self.slider.setPageStep(2)
        self.slider.setAccessibleName("Zoom")
        self.slider.setToolTip(
            "Zoom, from the whole song on one screen to a few bars (+ and −, or Ctrl+wheel)"
        )
        self.slider.valueChanged.connect(lambda step: view.zoom_to(step))
        self._gap = round(theme.em() * 0.4)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(self._gap)
        row.addWidget(self.summary)
        row.addWidget(self._back)
        row.addStretch(1)
        row.addWidget(self.size_label)
        row.addWidget(self.slider)
        # A click leaves the keyboard with the score.
        self.slider.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self._buttons = [ActionButton(action) for action in actions]
        for button in self._buttons:
            button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
            row.addWidget(button)
        # Where text is large and the window small, the menu has the first one.
        self._buttons[0].hide()
        view.zoom_changed.connect(self.refresh)
        self.refresh()

    def show_facts(
        self, hidden: int, thin: Sequence[str], waiting: int = 0, *, not_named: bool = False
    ) -> None:
        """Tell how many angles are hidden, which places are thin, and how many clips are still to come.

        ``not_named``: there may be more thin places, but angles are not named yet.
        """
        parts = [words.count(len(thin), "thin place")] if thin else [] if not_named else ["no thin places"]
        if len(thin) == 1:
            # Which bars is worth more than that it is one place; why is told where one points.
            parts = [f"thin: {thin[0].partition(':')[0]}"]
        if waiting:
            parts = [f"{len(thin)} thin so far", f"{waiting} waiting"]
        if not_named:
            parts.append(NOT_NAMED)
        self.summary.setToolTip("\n".join(thin))
        if hidden:
            parts.append(f"{words.count(hidden, 'angle')} hidden")
        self.summary.setText(" · ".join(parts))
        self._back.setVisible(hidden > 0)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        first = self._buttons[0]
        wanted = self.sizeHint().width()
        if first.isHidden():
            wanted += first.sizeHint().width() + self._gap
        first.setVisible(wanted <= self.width())

    def count_by(self, what: str) -> None:
        """Size is told in bars, or in sections where the song has no bars."""
        self._counted = what
        self.refresh()

    def refresh(self) -> None:
        """Show the step of zoom."""
        view = self._view
        self.slider.blockSignals(True)
        self.slider.setRange(view.zoom.lowest, view.zoom.highest)
        self.slider.setValue(view.step)
        self.slider.blockSignals(False)
        self.slider.setEnabled(view.zoom.highest > view.zoom.lowest)
        if view.step == view.zoom.lowest:
            self.size_label.setText(f"all {self._counted}s")
        else:
            across = max((len(system.bars) for system in view.score.systems), default=0)
            self.size_label.setText(words.count(across, self._counted))
