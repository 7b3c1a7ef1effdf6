"""The table of clips: sorted by any column, angles typed in place."""

from collections import deque

from PySide6.QtCore import QElapsedTimer, QItemSelectionModel, QModelIndex, Qt, QTimer, Signal
from PySide6.QtGui import QMouseEvent, QResizeEvent
from PySide6.QtWidgets import QAbstractItemView, QFrame, QTableView, QWidget

from app.model.on_song import Clip
from app.window.clips.clips_columns import ClipsColumns
from app.window.clips.clips_model import ANGLE, FILE, NOTE, PICTURES, TAKES, VERDICT, WHY, ClipsModel
from app.window.clips.clips_proxy_model import ClipsProxyModel, Wanted
from app.window.clips.picture_cell import HIGH, PictureCell
from app.window.clips.table_cells import FileCell, TableCell, VerdictCell
from app.window.parts.clip_pictures import Pictures
from app.window.parts.place import THINNED_MS
from app.window.parts.style_sheet import padding
from app.window.parts.theme import Theme

LINES = (ANGLE, VERDICT, TAKES, WHY, NOTE)
"""Columns whose text may need several lines."""
PICTURES_MS = 100
"""Pictures that arrive are painted no more often; to paint all of the table for each would hold it up."""
FITTING_MS = 15
"""After so long, the remaining rows get their heights in another turn."""


class ClipsTable(QTableView):
    """Shows a `ClipsModel`; selection goes by whole rows."""

    opened = Signal(str, int)
    """A clip was double-clicked, or Enter was pressed on it: its id, and the number of the take that the
    mouse was at, counted from 0; -1 where it was at none."""

    def __init__(
        self, model: ClipsModel, theme: Theme, pictures: Pictures, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.clips = model
        self._theme = theme
        self._proxy = ClipsProxyModel(model, self)
        self.setModel(self._proxy)
        self.setItemDelegate(TableCell(theme, self))
        self.setItemDelegateForColumn(PICTURES, PictureCell(theme, pictures, self))
        self.setItemDelegateForColumn(FILE, FileCell(theme, self))
        self.setItemDelegateForColumn(VERDICT, VerdictCell(theme, self))
        self.setAccessibleName("Clips")
        self.setToolTip(
            "Space plays the clip, Enter or a double-click opens it in Check, F2 changes the angle, Delete "
            "removes it from the shoot. Your files are never touched."
        )
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setShowGrid(False)
        self.setTextElideMode(Qt.TextElideMode.ElideRight)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setEditTriggers(
            QAbstractItemView.EditTrigger.DoubleClicked | QAbstractItemView.EditTrigger.EditKeyPressed
        )
        self._pointed_y: float | None = None
        self.activated.connect(self._on_activated)
        self.setTabKeyNavigation(False)
        self.setSortingEnabled(True)
        self.sortByColumn(-1, Qt.SortOrder.AscendingOrder)
        self.verticalHeader().hide()
        em = theme.em()
        self.verticalHeader().setMinimumSectionSize(round(em * HIGH) + 2 * padding(em) + 1)
        header = self.horizontalHeader()
        header.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        header.setHighlightSections(False)
        self.columns = ClipsColumns(self, model, theme)
        # Laying text out is slow: what was laid out once in these widths keeps its height, wherever its row
        # goes, and never so much is laid out at a time that the window would be felt to stop.
        self._heights: dict[tuple[object, ...], int] = {}
        self._widths: tuple[int, ...] = ()
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.timeout.connect(self.fit_rows)
        self._arrived = QTimer(self)
        self._arrived.setSingleShot(True)
        self._arrived.setInterval(PICTURES_MS)
        self._arrived.timeout.connect(self._paint_pictures)
        pictures.arrived.connect(self._on_arrived)
        self._rows: deque[int] = deque()
        """Rows that are still to be fitted."""
        self._on = QTimer(self)
        self._on.setSingleShot(True)
        self._on.timeout.connect(self._fit_on)
        self.columns.moved.connect(lambda: self._timer.start(THINNED_MS))
        proxy = self._proxy
        for moved in (proxy.layoutChanged, proxy.rowsInserted, proxy.rowsRemoved, proxy.modelReset):
            moved.connect(lambda: self._timer.start(0))

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        current = self.currentIndex()
        if current.isValid() and 0 <= self.visualRect(current).top() < event.oldSize().height():
            self.scrollTo(current)  # what was in view stays there, also where another view opens below
        self.columns.fit()
        self._timer.start(THINNED_MS)

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        self._pointed_y = event.position().y()
        super().mouseDoubleClickEvent(event)
        self._pointed_y = None

    @property
    def fitted(self) -> bool:
        """Whether every row has the height it needs."""
        return not self._rows and not self._timer.isActive()

    def fit_rows(self) -> None:
        """Fit the columns, and give a clip with several takes, or a long reason, its lines; soon where
        there are many."""
        self.columns.fit()
        # Qt asks those columns only that lie in the viewport, which is narrow as long as it is not seen.
        widths = (self.viewport().width(), *(self.columnWidth(column) for column in LINES))
        if widths != self._widths:
            self._widths, self._heights = widths, {}
        rows = range(self._proxy.rowCount())
        first, last = self.rowAt(0), self.rowAt(self.viewport().height())
        seen = rows[max(first, 0) : last + 1 if last >= 0 else None]
        self._rows = deque([*seen, *rows[: seen.start], *rows[seen.stop :]])
        self._fit_on()

    def _fit_on(self) -> None:
        """Fit rows from where the last turn ended, those in view first, for as long as a turn may last."""
        clock = QElapsedTimer()
        clock.start()
        while self._rows:
            if clock.elapsed() > FITTING_MS:
                self._on.start()
                return
            row = self._rows.popleft()
            said = tuple(self._proxy.index(row, column).data() for column in LINES)
            if said not in self._heights:
                self.resizeRowToContents(row)
                self._heights[said] = self.rowHeight(row)
            elif self.rowHeight(row) != self._heights[said]:
                self.setRowHeight(row, self._heights[said])
        self._on.stop()

    def selected_ids(self) -> list[str]:
        """Ids of the selected clips, in the order of the rows."""
        rows = sorted(index.row() for index in self.selectionModel().selectedRows())
        return [self.clips.clip(self._source_row(row)).id for row in rows]

    @property
    def selected_clip(self) -> Clip | None:
        """The selected clip; of several the one that the keyboard is at, or the first."""
        rows = [index.row() for index in self.selectionModel().selectedRows()]
        if not rows:
            return None
        current = self.currentIndex().row()
        return self.clips.clip(self._source_row(current if current in rows else min(rows)))

    @property
    def shown(self) -> int:
        """How many clips are shown."""
        return self._proxy.rowCount()

    def show_wanted(self, wanted: Wanted) -> None:
        """Show these clips only; what is no longer shown is no longer selected."""
        self._proxy.show_wanted(wanted)
        self.fit_rows()

    def select_ids(self, ids: list[str]) -> None:
        """Select clips again after the rows were made anew."""
        self.clearSelection()
        model = self.selectionModel()
        for row in range(self._proxy.rowCount()):
            if self.clips.clip(self._source_row(row)).id in ids:
                flag = model.SelectionFlag.Select | model.SelectionFlag.Rows
                model.select(self._proxy.index(row, 0), flag)

    def edit_angle(self) -> None:
        """Type the angle of the chosen clips anew, in the current one of them; they stay chosen."""
        self._edit_cell(ANGLE)

    def _on_arrived(self) -> None:
        if self.isVisible() and not self._arrived.isActive():
            self._arrived.start()

    def _paint_pictures(self) -> None:
        left, width = self.columnViewportPosition(PICTURES), self.columnWidth(PICTURES)
        self.viewport().update(left, 0, width, self.viewport().height())

    def _on_activated(self, index: QModelIndex) -> None:
        clip = self.clips.clip(self._source_row(index.row()))
        number = -1
        if self._pointed_y is not None and index.column() == TAKES and clip.takes:
            cell = self.visualRect(index)
            share = (self._pointed_y - cell.top()) / max(1, cell.height())
            number = min(max(int(share * len(clip.takes)), 0), len(clip.takes) - 1)
        self.opened.emit(clip.id, number)

    def _edit_cell(self, column: int) -> None:
        row = self.currentIndex().row()
        chosen = sorted(index.row() for index in self.selectionModel().selectedRows())
        if chosen and row not in chosen:
            row = chosen[0]
        elif row < 0 and self._proxy.rowCount():
            row = 0
        if row < 0:
            return
        index = self._proxy.index(row, column)
        if chosen:
            self.selectionModel().setCurrentIndex(index, QItemSelectionModel.SelectionFlag.NoUpdate)
        else:
            self.setCurrentIndex(index)
        self.edit(index)

    def _source_row(self, row: int) -> int:
        return self._proxy.mapToSource(self._proxy.index(row, 0)).row()
