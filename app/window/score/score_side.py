"""The side panel of the score: moving pictures, and below them the chosen bars or the list of the angles."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QStackedWidget, QVBoxLayout, QWidget

from app.window.parts.theme import Theme
from app.window.playing.watch_panel import WatchPanel
from app.window.score.angles_panel import AnglesPanel
from app.window.score.bar_panel import BarPanel

FIRST = 1000
"""Stretch of the side panel, and of the pictures in it, which take as much as they may."""


class ScoreSide(QWidget):
    """Shows one of the two, and pictures or none."""

    def __init__(
        self,
        theme: Theme,
        watch: WatchPanel,
        panel: BarPanel,
        angles: AnglesPanel,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._theme, self._watch, self._panel, self._angles = theme, watch, panel, angles
        self.watching = False
        """Whether moving pictures are shown."""
        self._room = (0, 0)
        margin = round(theme.em())
        self._stack = QStackedWidget()
        self._stack.addWidget(panel)
        self._stack.addWidget(angles)
        self.setObjectName("sidePanel")
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        box = QVBoxLayout(self)
        box.setContentsMargins(0, 0, 0, 0)
        box.setSpacing(0)
        frame = QVBoxLayout()
        frame.setContentsMargins(margin, margin // 2, margin, 0)
        frame.addWidget(watch)
        box.addLayout(frame, FIRST)
        box.addWidget(self._stack, 1)
        watch.hide()
        watch.controls.changed.connect(self._fit)

    @property
    def lists_angles(self) -> bool:
        """Whether the angles are listed."""
        return self._stack.currentWidget() is self._angles

    def toggle_angles(self) -> None:
        """List the angles, or tell of the bars again."""
        self._stack.setCurrentWidget(self._panel if self.lists_angles else self._angles)

    def toggle_watching(self) -> None:
        """Show moving pictures, or no longer."""
        self.watching = not self.watching
        self._watch.setVisible(self.watching)
        self._fit()

    def fit(self, width: int, height: int) -> None:
        """Take a fair part of a place of that size; more of it while pictures move here."""
        self._room = width, height
        self._fit()

    def _fit(self) -> None:
        em, (room, high) = self._theme.em(), self._room
        part, least = (0.36, 24) if self.watching else (0.22, 20)
        width = min(max(part * room, least * em), 60 * em, max(0.36 * room, 14 * em))
        self.setMaximumWidth(round(width))
        self._panel.show_picture(not self.watching)
        # One picture is as high as the side panel is wide; several may have more, to be larger.
        controls = self._watch.controls
        one = width * 9 / 16 + controls.sizeHint().height() + em
        most = 0.6 * high
        self._watch.setMaximumHeight(round(most if controls.many else min(one, most)))
