"""The sections of the song as a table; letters and names are typed in place."""

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QAbstractItemView, QFrame, QHeaderView, QTableWidget, QTableWidgetItem, QWidget

from app.model.document.song import Section, Song
from app.model.song_map.bar_spans import bar_spans, song_sections
from app.model.song_map.levels import mean_level
from app.window.parts import words
from app.window.parts.theme import Theme

LETTER, NAME, BARS, FROM, TO, LENGTH, ALIKE, LEVEL = range(8)
HEADS = ("Letter", "Section", "Bars", "From", "To", "Length", "Sounds like", "Loudness")
TIPS = (
    "Rehearsal letter; double-click or press L to change it",
    "Name of the section; double-click or press F2 to change it. Guesses are marked",
    "Bars in the section",
    "Start, in minutes and seconds",
    "End, in minutes and seconds",
    "Length, in minutes and seconds",
    "Other sections that sound like this one",
    "Mean loudness; full scale is 0 dB",
)
WIDTHS = {LETTER: 4, BARS: 5, FROM: 5, TO: 5, LENGTH: 5, ALIKE: 6.5, LEVEL: 9}
"""Widths of the columns, in heights of a line of text."""
TYPED = (LETTER, NAME)


class SongTable(QTableWidget):
    """Rows are the sections in the order of the song."""

    chosen = Signal(int)
    """The section of a row was chosen."""
    lettered = Signal(int, str)
    renamed = Signal(int, str)

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(0, len(HEADS), parent)
        em = theme.em()
        self._filling = False
        self.setHorizontalHeaderLabels(HEADS)
        for column, tip in enumerate(TIPS):
            self.horizontalHeaderItem(column).setToolTip(tip)  # type: ignore[union-attr]
        self.setAccessibleName("Sections")
        self.setToolTip("The sections of the song. F2 renames one, L changes its letter.")
        self.setEditTriggers(
            QAbstractItemView.EditTrigger.DoubleClicked | QAbstractItemView.EditTrigger.EditKeyPressed
        )
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setTabKeyNavigation(False)
        self.setShowGrid(False)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.verticalHeader().hide()
        self.verticalHeader().setDefaultSectionSize(round(em * 2.1))
        header = self.horizontalHeader()
        header.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft)
        header.setHighlightSections(False)
        header.setMinimumSectionSize(round(em * 3))
        for column, width in WIDTHS.items():
            header.resizeSection(column, round(em * width))
        header.setSectionResizeMode(NAME, QHeaderView.ResizeMode.Stretch)
        self.setMinimumHeight(round(em * 3.5))
        self.itemChanged.connect(self._on_item_changed)
        self.currentCellChanged.connect(self._on_current_changed)

    def event(self, event: QEvent) -> bool:
        # Nobody who presses Delete on a section means the beat at the playhead.
        deletes = isinstance(event, QKeyEvent) and event.key() in (Qt.Key.Key_Delete, Qt.Key.Key_Backspace)
        if deletes and event.type() == QEvent.Type.ShortcutOverride:
            event.accept()
            return True
        return super().event(event)

    def show_song(self, song: Song) -> None:
        """Show the sections of a song."""
        self._filling = True
        sections = song_sections(song)
        self.setRowCount(len(sections))
        levels = [mean_level(song.map, s.start_s, s.end_s) for s in sections]
        for row, section in enumerate(sections):
            for column, text in enumerate(_cells(song, sections, section, levels)):
                item = self.item(row, column)
                if item is None:
                    item = _Cell(text)
                    self.setItem(row, column, item)
                item.setText(text)
                assert isinstance(item, _Cell)
                item.guess = column == NAME and section.suggested and bool(section.name)
                flags = Qt.ItemFlag.ItemIsSelectable | Qt.ItemFlag.ItemIsEnabled
                item.setFlags(flags | Qt.ItemFlag.ItemIsEditable if column in TYPED else flags)
                if column in TYPED:
                    item.setToolTip(TIPS[column])
        self._filling = False

    def choose(self, row: int) -> None:
        """Choose a row without telling."""
        if row != self.currentRow() and row < self.rowCount():
            self._filling = True
            self.setCurrentCell(row, NAME)
            self._filling = False

    def type_into(self, column: int) -> None:
        """Type the letter or the name of the selected section anew."""
        item = self.item(max(0, self.currentRow()), column)
        if item is not None:
            self.setCurrentItem(item)
            self.editItem(item)

    def _on_item_changed(self, item: QTableWidgetItem) -> None:
        if not self._filling and item.column() in TYPED:
            (self.lettered if item.column() == LETTER else self.renamed).emit(item.row(), item.text())

    def _on_current_changed(self, row: int) -> None:
        if not self._filling and row >= 0:
            self.chosen.emit(row)


class _Cell(QTableWidgetItem):
    """A cell that says of a guess that it is one, and gives the bare name to be typed over."""

    guess = False

    def data(self, role: int) -> object:
        said = super().data(role)
        return f"{said} (a guess)" if self.guess and role == Qt.ItemDataRole.DisplayRole else said


def _cells(
    song: Song, sections: tuple[Section, ...], section: Section, levels: list[float | None]
) -> tuple[str, ...]:
    alike = [s.letter for s in sections if s.family and s.family == section.family and s is not section]
    return (
        section.letter,
        section.name,
        _bars(song, section),
        words.song_time(section.start_s, 1),
        words.song_time(section.end_s, 1),
        words.song_time(section.end_s - section.start_s, 1),
        ", ".join(alike) or ("none" if section.family else "unknown"),
        _level(levels[sections.index(section)], levels),
    )


def _bars(song: Song, section: Section) -> str:
    if not song.map.bars_s:
        return ""
    inside = [
        b.number for b in bar_spans(song) if section.start_s <= (b.start_s + b.end_s) / 2 < section.end_s
    ]
    return f"{inside[0]}–{inside[-1]}" if inside[1:] else str(inside[0]) if inside else "none"


def _level(level: float | None, levels: list[float | None]) -> str:
    if level is None:
        return "unknown"
    known = [one for one in levels if one is not None]
    said = f"{level:.0f} dB".replace("-", "−")
    if len(known) > 1 and level == max(known):
        said += ", loudest"
    elif len(known) > 1 and level == min(known):
        said += ", quietest"
    return said
