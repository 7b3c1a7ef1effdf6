"""The set-ups in the order of the day, ticked as takes arrive."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QAbstractItemView, QFrame, QHeaderView, QTableWidget, QTableWidgetItem, QWidget

from app.model.coverage.missing_words import ranges_words
from app.model.coverage.needs import NeedState
from app.model.coverage.passages import passage_words
from app.model.coverage.set_ups_done import SetUpResult, set_up_results
from app.model.document.plan import SetUp
from app.model.on_song import SongView
from app.window.parts.theme import Theme

DONE, ANGLE, SUBJECTS, PASSAGE, NOTE = range(5)
HEADS = ("Shot", "Angle", "Shows", "Passage", "Note")
TIPS = (
    "Whether takes of this angle cover the passage",
    "What the camera is set up to show; F2 renames it",
    "Who or what it shows",
    "The part of the song to play",
    "What to remember about it; F2 changes it",
)
SAID = {NeedState.MET: "✓ done", NeedState.PARTLY: "◐ partly", NeedState.UNMET: "○ open"}
TYPED = (ANGLE, SUBJECTS, NOTE)


class SetUpList(QTableWidget):
    """A row per set-up."""

    typed = Signal(str, int, str)
    """Id of the set-up, column, and what was typed there."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(0, len(HEADS), parent)
        self._filling = False
        self.set_ups: tuple[SetUp, ...] = ()
        em = theme.em()
        self.setHorizontalHeaderLabels(HEADS)
        for column, tip in enumerate(TIPS):
            self.horizontalHeaderItem(column).setToolTip(tip)  # type: ignore[union-attr]
        self.setAccessibleName("Set-ups")
        self.setToolTip("What to shoot, in order. F2 types in a cell, Alt+Up and Alt+Down move a row.")
        self.setEditTriggers(
            QAbstractItemView.EditTrigger.DoubleClicked | QAbstractItemView.EditTrigger.EditKeyPressed
        )
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setTabKeyNavigation(False)
        self.setShowGrid(False)
        self.setCornerButtonEnabled(False)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.verticalHeader().setDefaultSectionSize(round(em * 2.1))
        self.verticalHeader().setToolTip("Set-ups in shooting order")
        header = self.horizontalHeader()
        header.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft)
        header.setHighlightSections(False)
        for column, share in {DONE: 6.5, ANGLE: 10, SUBJECTS: 9, PASSAGE: 11}.items():
            header.resizeSection(column, round(em * share))
        header.setSectionResizeMode(NOTE, QHeaderView.ResizeMode.Stretch)
        self.setMinimumHeight(round(em * 3.5))
        self.itemChanged.connect(self._on_item_changed)

    def show_shoot(self, shoot: SongView) -> None:
        """Show the set-ups of a shoot; the chosen one stays chosen."""
        kept = self.chosen_id
        results = set_up_results(shoot)
        self._filling = True
        self.set_ups = tuple(one.set_up for one in results)
        self.setRowCount(len(results))
        for row, result in enumerate(results):
            for column, text in enumerate(_cells(shoot, result)):
                item = self.item(row, column)
                if item is None:
                    item = QTableWidgetItem()
                    self.setItem(row, column, item)
                item.setText(text)
                flags = Qt.ItemFlag.ItemIsSelectable | Qt.ItemFlag.ItemIsEnabled
                item.setFlags(flags | Qt.ItemFlag.ItemIsEditable if column in TYPED else flags)
            missing = ranges_words(result.missing_bars) if result.missing_bars else ""
            self.item(row, DONE).setToolTip(f"Not yet: {missing}" if missing else TIPS[DONE])  # type: ignore[union-attr]
        self.choose(kept)
        self._filling = False

    @property
    def full_height(self) -> int:
        """Height in pixels at which all rows are seen, and room for one more."""
        rows = (self.rowCount() + 1) * self.verticalHeader().defaultSectionSize()
        edges = (self.horizontalHeader(), self.horizontalScrollBar())
        return rows + sum(edge.sizeHint().height() for edge in edges)

    @property
    def chosen_id(self) -> str:
        """Id of the chosen set-up; empty where none is."""
        row = self.currentRow()
        return self.set_ups[row].id if 0 <= row < len(self.set_ups) else ""

    def choose(self, set_up_id: str) -> None:
        """Choose a set-up, if it is there."""
        for row, one in enumerate(self.set_ups):
            if one.id == set_up_id:
                self.setCurrentCell(row, max(self.currentColumn(), ANGLE))

    def _on_item_changed(self, item: QTableWidgetItem) -> None:
        if not self._filling and item.column() in TYPED:
            self.typed.emit(self.set_ups[item.row()].id, item.column(), item.text())


def _cells(shoot: SongView, result: SetUpResult) -> tuple[str, ...]:
    assert shoot.song is not None
    one = result.set_up
    speed = "" if one.speed == 1 else f", at {float(one.speed):.4g} times the speed"
    return (
        SAID[result.state],
        one.angle,
        ", ".join(one.subjects),
        f"{passage_words(one.passage, shoot.song)}{speed}",
        one.note,
    )
