"""Needs above, set-ups below: how the height of Plan is shared out between them."""

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QSplitter, QVBoxLayout, QWidget

from app.window.plan.plan_grid import PlanGrid
from app.window.plan.set_up_list import SetUpList

SET_UPS_SHARE = 0.45
"""So much of the height the set-ups may have, below the needs; less where the grid has rows for more."""


class PlanSplit(QSplitter):
    """Both have the height of their rows where there is room; where not, the set-ups no more than a part.

    So it is until somebody drags the border.
    """

    def __init__(
        self, margin: int, grid: PlanGrid, over_grid: list[QWidget], set_ups: SetUpList, over: list[QWidget]
    ) -> None:
        """``over_grid`` and ``over`` stand above the two tables."""
        super().__init__(Qt.Orientation.Vertical)
        self._grid, self._set_ups = grid, set_ups
        self._dragged = False
        self._below = _Part(margin, [*over, set_ups])
        self.setChildrenCollapsible(False)
        self._above = _Part(margin, [*over_grid, grid])
        self.addWidget(self._above)
        self.addWidget(self._below)
        self.splitterMoved.connect(self._on_moved)

    def share(self) -> None:
        """Share the height out anew, unless a person did."""
        if self._dragged or not self.height():
            return
        room = self.height() - self.handleWidth()
        least = self._below.minimumSizeHint().height()
        over = self._above.minimumSizeHint().height() - self._grid.minimumHeight()
        left = room - over - self._grid.full_height
        wanted = max(left, least - self._set_ups.minimumHeight() + self._set_ups.full_height)
        wanted = max(least, min(wanted, round(SET_UPS_SHARE * room)))
        self.setSizes([max(1, room - wanted), wanted])

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
