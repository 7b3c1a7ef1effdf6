"""The grid of needs: sections by subjects, filled by click or key."""

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QAbstractItemView, QFrame, QHeaderView, QTableWidget, QTableWidgetItem, QWidget

from app.model.coverage.needs import NeedResult, NeedState
from app.model.on_song import SongView
from app.window.parts.theme import Theme
from app.window.plan.plan_rows_shown import Grid, GridCell, GridRow, grid_rows, grid_subjects


class PlanGrid(QTableWidget):
    """Rows are passages, columns subjects; a cell says what is asked for there, and how it stands."""

    filled = Signal(int, str)
    """An empty cell was clicked: row and subject."""
    moved = Signal()
    """Another cell was chosen."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self.rows: list[GridRow] = []
        self.subjects: tuple[str, ...] = ()
        self._cells: dict[tuple[int, int], GridCell | None] = {}
        self._filling = False
        em = theme.em()
        self.setAccessibleName("Needs")
        self.setToolTip(
            "Who must be seen where. Click an empty cell or press Enter to add a need; Delete removes it."
        )
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setTabKeyNavigation(False)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setWordWrap(False)  # lines are broken where they mean something
        self.setCornerButtonEnabled(False)
        header = self.horizontalHeader()
        header.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft)
        header.setHighlightSections(True)
        header.setMinimumSectionSize(round(em * 6))
        header.setDefaultSectionSize(round(em * 8.5))
        side = self.verticalHeader()
        side.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        side.setMinimumSectionSize(round(em * 2.4))
        side.setMinimumWidth(round(em * 9))
        side.setMaximumWidth(round(em * 15))
        side.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        self.setMinimumHeight(round(em * 5))
        self.cellClicked.connect(self._on_clicked)
        self.currentCellChanged.connect(self._on_current_changed)

    def show_shoot(self, shoot: SongView, typed: Sequence[str], results: Sequence[NeedResult]) -> None:
        """Show the needs of a shoot and how they stand; the chosen cell stays chosen while it is there."""
        at = (self.passage_row, self.subject)
        self._filling = True
        self.rows = grid_rows(shoot)
        self.subjects = grid_subjects(shoot, typed, self.subjects)
        self.setRowCount(len(self.rows))
        self.setColumnCount(len(self.subjects))
        self.setHorizontalHeaderLabels([subject[:1].upper() + subject[1:] for subject in self.subjects])
        self.setVerticalHeaderLabels([f"{row.title}\n{row.detail}".strip() for row in self.rows])
        grid = Grid(shoot, self.rows, results)
        self._cells = {
            (row, column): grid.cell(row, subject)
            for row in range(len(self.rows))
            for column, subject in enumerate(self.subjects)
        }
        for (row, column), cell in self._cells.items():
            self._fill(row, column, cell)
        self._go_back(*at)
        self._filling = False
        self.moved.emit()

    @property
    def full_height(self) -> int:
        """Height in pixels at which all rows are seen."""
        edges = (self.horizontalHeader(), self.horizontalScrollBar())
        return self.verticalHeader().length() + sum(edge.sizeHint().height() for edge in edges)

    @property
    def passage_row(self) -> GridRow | None:
        """The passage that is chosen."""
        return self.rows[self.currentRow()] if 0 <= self.currentRow() < len(self.rows) else None

    @property
    def subject(self) -> str:
        """The subject that is chosen; empty where none is."""
        column = self.currentColumn()
        return self.subjects[column] if 0 <= column < len(self.subjects) else ""

    @property
    def cell(self) -> GridCell | None:
        """What is asked for in the chosen cell."""
        return self._cells.get((self.currentRow(), self.currentColumn()))

    def choose(self, row: int, subject: str) -> None:
        """Choose a cell."""
        if subject in self.subjects:
            self.setCurrentCell(row, self.subjects.index(subject))

    def _fill(self, row: int, column: int, cell: GridCell | None) -> None:
        item = self.item(row, column)
        if item is None:
            item = QTableWidgetItem()
            self.setItem(row, column, item)
        item.setText("" if cell is None else cell.text)
        place = f"{self.subjects[column]} in {self.rows[row].title}"
        state = "no need" if cell is None else cell.text.replace("\n", ", ")
        item.setData(Qt.ItemDataRole.AccessibleTextRole, f"{place}: {state}")
        if cell is None:
            item.setToolTip(f"{place}: no need. Click or press Enter to add one.")
            return
        more = ["This is one need for all sections that sound alike."] if cell.family else []
        more += [need.note for need in cell.needs if need.note]
        item.setToolTip(" ".join([f"{place}: {state}.", *more]))
        item.setForeground(self._theme.colour("dim" if cell.state is NeedState.MET else "ink"))
        font = self._theme.font(bold=cell.state is NeedState.UNMET)
        item.setFont(font)

    def _go_back(self, row: GridRow | None, subject: str) -> None:
        """Choose again what was chosen, or the first section."""
        passages = [one.passage for one in self.rows]
        at = passages.index(row.passage) if row is not None and row.passage in passages else 0
        column = self.subjects.index(subject) if subject in self.subjects else 0
        if self.rows and self.subjects:
            self.setCurrentCell(at, column)

    def _on_clicked(self, row: int, column: int) -> None:
        if self._cells.get((row, column)) is None:
            self.filled.emit(row, self.subjects[column])

    def _on_current_changed(self) -> None:
        if not self._filling:
            self.moved.emit()
