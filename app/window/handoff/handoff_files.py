"""The files of a hand-off, planned or written, with their sizes; and the notes on the selected one."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QAbstractItemView,
    QFrame,
    QHeaderView,
    QPlainTextEdit,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.handoff.neighbour import size_words
from app.handoff.outcome import Planned
from app.window.parts.theme import Theme

HEADS = ("State", "Size", "File")
PLANNED, WRITTEN, MISSED, EARLIER = "○ planned", "✓ written", "– not written", "• from earlier"
STATES = {
    PLANNED: "Will be written",
    WRITTEN: "Written, read back and checked against the shoot",
    MISSED: "Not written, or not completely",
    EARLIER: "Written by an earlier hand-off, and not part of this one",
}
EARLIER_NOTE = (
    "An earlier hand-off wrote this, and it is not part of this one. Anglebook leaves it there. Delete it if "
    "you no longer need it, so that nobody edits with it by mistake."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """A file as it is listed."""

    state: str
    """A glyph and words."""
    name: str
    size: str
    lines: tuple[str, ...]


class HandoffFiles(QWidget):
    """A list of files, and below it the notes of the one chosen."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        em = round(theme.em())
        self._entries: tuple[Entry, ...] = ()
        self.table = QTableWidget(0, len(HEADS))
        self.table.setHorizontalHeaderLabels(HEADS)
        self.table.setAccessibleName("Files of the hand-off")
        self.table.setToolTip("Files to be written, or written; ↑ and ↓ show the notes on each")
        self.table.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.table.setTabKeyNavigation(False)
        self.table.setShowGrid(False)
        self.table.setTextElideMode(Qt.TextElideMode.ElideMiddle)  # names differ at their ends
        self.table.setFrameShape(QFrame.Shape.NoFrame)
        self.table.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.table.verticalHeader().hide()
        self.table.verticalHeader().setDefaultSectionSize(round(em * 1.8))
        self.table.horizontalHeader().setDefaultAlignment(Qt.AlignmentFlag.AlignLeft)
        self.table.horizontalHeader().setHighlightSections(False)
        modes = QHeaderView.ResizeMode
        for column, mode in enumerate((modes.ResizeToContents, modes.ResizeToContents, modes.Stretch)):
            self.table.horizontalHeader().setSectionResizeMode(column, mode)
        self.notes = QPlainTextEdit()
        self.notes.setReadOnly(True)
        self.notes.setFrameShape(QFrame.Shape.NoFrame)
        self.notes.setTabChangesFocus(True)
        self.notes.setAcceptDrops(False)  # files dropped anywhere belong to the window
        self.notes.setAccessibleName("Notes on the file")
        self.notes.setToolTip("Checks, sub-frame offsets, and what the format cannot carry")
        box = QVBoxLayout(self)
        box.setContentsMargins(0, 0, 0, 0)
        box.setSpacing(em // 2)
        box.addWidget(self.table, 4)
        box.addWidget(self.notes, 5)
        self.table.currentCellChanged.connect(self._show_notes)

    @property
    def entries(self) -> tuple[Entry, ...]:
        """What is listed."""
        return self._entries

    def show_entries(self, entries: Sequence[Entry]) -> None:
        """List files; the row that was chosen stays chosen."""
        row = max(0, self.table.currentRow())
        self._entries = tuple(entries)
        self.table.setRowCount(len(entries))
        for n, entry in enumerate(entries):
            self._fill(n, entry)
        if entries:
            self.table.setCurrentCell(min(row, len(entries) - 1), 0)
        self._show_notes()

    def mark(self, entry: Entry) -> None:
        """List a file in the place of the one of its name."""
        others = [one.name for one in self._entries]
        if entry.name not in others:
            self.show_entries([*self._entries, entry])
            return
        row = others.index(entry.name)
        self._entries = (*self._entries[:row], entry, *self._entries[row + 1 :])
        self._fill(row, entry)
        if row == self.table.currentRow():
            self._show_notes()

    def show_planned(self, planned: Sequence[Planned]) -> None:
        """List what would be written; what is there from earlier stays listed behind it."""
        new = [
            Entry(state=PLANNED, name=one.name, size=size_text(one.size_bytes), lines=one.lines)
            for one in planned
        ]
        self.show_entries([*new, *(one for one in self._entries if one.state == EARLIER)])

    def show_earlier(self, names: Sequence[str]) -> None:
        """List what an earlier hand-off left, behind the files of this one."""
        left = [Entry(state=EARLIER, name=name, size="", lines=(EARLIER_NOTE,)) for name in names]
        own = [one for one in self._entries if one.state != EARLIER]
        if [*own, *left] != list(self._entries):
            self.show_entries([*own, *left])

    def end(self) -> None:
        """Whatever is still planned was not written."""
        self._turn({PLANNED: MISSED})

    def forget(self) -> None:
        """What was written, or missed, is no longer what is asked for: all of it is planned anew."""
        self._turn({WRITTEN: PLANNED, MISSED: PLANNED})

    def _turn(self, states: dict[str, str]) -> None:
        entries = [replace(one, state=states.get(one.state, one.state)) for one in self._entries]
        if entries != list(self._entries):
            self.show_entries(entries)

    def _fill(self, row: int, entry: Entry) -> None:
        for column, text in enumerate((entry.state, entry.size, entry.name)):
            item = QTableWidgetItem(text)
            item.setToolTip(STATES.get(text, text))
            if column == 1:
                item.setTextAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
            self.table.setItem(row, column, item)

    def _show_notes(self, *_: int) -> None:
        row = self.table.currentRow()
        lines = self._entries[row].lines if 0 <= row < len(self._entries) else ()
        # A file name may hold line ends; a sentence stays on its line.
        self.notes.setPlainText("\n".join(" ".join(line.splitlines()) for line in lines))


def size_text(size_bytes: int) -> str:
    """A size, or a dash where nobody knows it before."""
    return size_words(size_bytes) if size_bytes else "–"
