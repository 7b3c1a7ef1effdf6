"""Keeps the columns of the table of clips as wide as the table, whatever its size, and what a person set."""

from PySide6.QtCore import QByteArray, QObject, Qt, Signal
from PySide6.QtGui import QFontMetricsF
from PySide6.QtWidgets import QTableView

from app.window.clips.clips_model import (
    ANGLE,
    FILE,
    HEADS,
    LENGTH,
    NOTE,
    PICTURES,
    PROPOSED,
    RATE,
    TAKES,
    VERDICT,
    WHY,
    ClipsModel,
)
from app.window.clips.column_widths import Need, SetWidth, fitted, from_text, to_text
from app.window.clips.picture_cell import strip_width
from app.window.parts.style_sheet import padding
from app.window.parts.theme import Theme

LEAST = {
    ANGLE: 4.5,
    PICTURES: 4.6,
    FILE: 6.0,
    VERDICT: 6.5,
    TAKES: 8.0,
    WHY: 9.0,
    PROPOSED: 3.2,
    NOTE: 3.2,
    LENGTH: 3.8,
    RATE: 3.8,
}
"""In heights of a line of text; without what is left out of a narrow table, they fit a window of 1280 pixels
at one and a half times the text."""
NARROW = 60
"""In a table of fewer heights of a line the frame rate is left out, and notes as long as there are none.
Faults proposed are left out of any table as long as there are none."""
FIRST = (FILE, ANGLE, VERDICT, LENGTH, PROPOSED, TAKES, PICTURES, RATE, NOTE, WHY)
"""Who gets the room that its text needs before others; the last has what is left."""
MEASURED = (FILE, ANGLE, NOTE)
"""Columns that are as wide as the longest of their texts; all others say the same in every shoot, so that
nothing moves as clips are placed."""
USUAL = {
    VERDICT: "?  unreadable",
    TAKES: "take 1: lead-in to bar 88, 8:88.888, ±8.8 ms",
    PROPOSED: "88",
    LENGTH: "88:88.8",
    RATE: "sound only",
}
WIDE, DECIDED = 90, "●  placed, confirmed"
"""From so many heights of a line on, a verdict has room for what a person said of it in one line; in a
narrower table it wraps, so that the reasons do not."""
OF_SONG = "lead-in to bar 88, 8:88.888, ±8.8 ms"
MOST = {FILE: 0.3, ANGLE: 0.15, NOTE: 0.15, TAKES: 0.3}
"""Share of the table that a measured column takes at most of itself."""
PICTURE_EVERY = 24
"""The wider the table, the more pictures: one for so many heights of a line; by eye."""


class ClipsColumns(QObject):
    """The columns of one table."""

    moved = Signal()
    """Columns have other widths than before."""
    chosen_changed = Signal()
    """A person set a width, or all go by themselves again."""

    def __init__(self, table: QTableView, clips: ClipsModel, theme: Theme) -> None:
        """``clips`` are all there are, shown or not: a search moves no column."""
        super().__init__(table)
        self._table, self._clips, self._theme = table, clips, theme
        self._chosen: dict[int, SetWidth] = {}
        self._fitting = False
        self._advances: dict[str, int] = {}
        header = table.horizontalHeader()
        header.setMinimumSectionSize(round(theme.em()))
        header.setStretchLastSection(False)
        table.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        header.sectionResized.connect(self._on_resized)

    @property
    def some_chosen(self) -> bool:
        """Whether a person set any width."""
        return bool(self._chosen)

    def fit(self) -> None:
        """Have the columns fill the table as it is now."""
        table, room = self._table, self._table.viewport().width()
        narrow = room < NARROW * self._theme.em()
        noted, proposed = any(self._clips.texts(NOTE)), any(self._clips.texts(PROPOSED))
        self._fitting = True
        for column, hidden in ((RATE, narrow), (NOTE, narrow and not noted), (PROPOSED, not proposed)):
            table.setColumnHidden(column, hidden)
        self._fitting = False
        chosen = {n: width for n, one in self._chosen.items() if (width := one.at(room)) is not None}
        shown = [n for n in range(len(HEADS)) if not table.isColumnHidden(n)]
        widths = fitted(room, {n: self._need(n, room) for n in shown}, FIRST, chosen)
        if widths == {n: table.columnWidth(n) for n in shown}:
            return
        self._fitting = True
        for n, width in widths.items():
            table.horizontalHeader().resizeSection(n, width)
        self._fitting = False
        self.moved.emit()

    def let_go(self) -> None:
        """Forget what a person set: all widths go by themselves again."""
        self._chosen = {}
        self.fit()
        self.chosen_changed.emit()

    def state(self) -> QByteArray:
        """What a person set, and the order of sorting, to be kept."""
        header = self._table.horizontalHeader()
        column = header.sortIndicatorSection()
        falls = header.sortIndicatorOrder() is Qt.SortOrder.DescendingOrder
        sort = (HEADS[column], falls) if 0 <= column < len(HEADS) else None
        text = to_text({HEADS[n]: one for n, one in self._chosen.items()}, sort)
        return QByteArray(text.encode())

    def restore(self, state: QByteArray) -> None:
        """Put back what was kept; columns are known by their names."""
        chosen, sort = from_text(bytes(state.data()).decode(errors="replace"))
        self._chosen = {HEADS.index(name): one for name, one in chosen.items() if name in HEADS}
        if sort is not None and sort[0] in HEADS:
            order = Qt.SortOrder.DescendingOrder if sort[1] else Qt.SortOrder.AscendingOrder
            self._table.sortByColumn(HEADS.index(sort[0]), order)
        self.fit()

    def _on_resized(self, column: int, before: int, now: int) -> None:
        if self._fitting:
            return
        self._chosen[column] = SetWidth(now, self._table.viewport().width())
        self.fit()
        self.moved.emit()
        self.chosen_changed.emit()

    def _need(self, column: int, room: int) -> Need:
        em = self._theme.em()
        least = round(LEAST[column] * em)
        if column == PICTURES:
            count = min(max(round(room / em) // PICTURE_EVERY, 2), 6)
            return Need(least, strip_width(em, count))
        if column == WHY:
            return Need(least, least)
        if column in MEASURED:
            widest = max(map(self._advance, [HEADS[column], *self._clips.texts(column)]))
            return Need(least, min(widest, max(least, round(MOST[column] * room))))
        usual = DECIDED if column == VERDICT and room >= WIDE * em else USUAL[column]
        if column == TAKES and self._clips.called:
            # Each take says its song before its place.
            longest = max(map(self._advance, (f"{one}: {OF_SONG}" for one in self._clips.called)))
            return Need(least, max(self._advance(usual), min(longest, round(MOST[TAKES] * room))))
        return Need(least, max(self._advance(usual), self._advance(HEADS[column])))

    def _advance(self, text: str) -> int:
        """Room for a line of text in a cell."""
        if text not in self._advances:
            line = QFontMetricsF(self._table.font()).horizontalAdvance(text)
            # Qt leaves a few pixels beside what the style sheet asks for.
            self._advances[text] = round(line) + 2 * padding(self._theme.em()) + 9
        return self._advances[text]
