"""Needs above, set-ups below: how the height of Plan is shared out between them."""

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QSplitter, QVBoxLayout, QWidget

from app.window.plan.plan_grid import PlanGrid
from app.window.plan.set_up_list import SetUpList

SET_UPS_SHARE = 0.45
"""So much of the height the set-ups may have, below the needs."""


class PlanSplit(QSplitter):
    """The set-ups have the height of their rows and no more than a part, the grid the rest, until dragged."""

    def __init__(
        self, margin: int, grid: PlanGrid, over_grid: list[QWidget], set_ups: SetUpList, over: list[QWidget]
    ) -> None:
        """``over_grid`` and ``over`` stand above the two tables."""
        super().__init__(Qt.Orientation.Vertical)
        self._set_ups = set_ups
        self._dragged = False
        self._below = _Part(margin, [*over, set_ups])
        self.setChildrenCollapsible(False)
        self.addWidget(_Part(margin, [*over_grid, grid]))
        self.addWidget(self._below)
        self.splitterMoved.connect(self._on_moved)

    def share(self) -> None:
        """Share the height out anew, unless a person did."""
        if self._dragged or not self.height():
            return
        least = self._below.minimumSizeHint().height()
        wanted = least - self._set_ups.minimumHeight() + self._set_ups.full_height
        wanted = max(least, min(wanted, round(SET_UPS_SHARE * self.height())))
        self.setSizes([max(1, self.height() - self.handleWidth() - wanted), wanted])

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self.share()

    def _on_moved(self) -> None:
        self._dragged = True


class _Part(QWidget):
    """A table, which is the last, and what is above it."""

    def __init__(self, margin: int, widgets: list[QWidget]) -> None:
        super().__init__()
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(margin, margin // 2, margin, margin // 2)
        for widget in widgets:
            self._column.addWidget(widget, 1 if widget is widgets[-1] else 0)

    def minimumSizeHint(self) -> QSize:
        # At the width there is: at its narrowest, every button would have a line of its own.
        least = self._column.minimumSize()
        wide = max(self.width(), least.width())
        return QSize(least.width(), self._column.minimumHeightForWidth(wide))
