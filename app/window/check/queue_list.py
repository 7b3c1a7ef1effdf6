"""The list of takes to be looked at, with a choice of which."""

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QFrame, QListWidgetItem, QVBoxLayout, QWidget

from app.model.check_queue import Entry, Shown, kept_in_place, queue
from app.model.document.decisions import Action, Decided
from app.model.on_song import SongView
from app.model.reasons import sentence
from app.window.check import check_words
from app.window.check.queue_row import TAIL, QueueRow
from app.window.parts import theme as looks
from app.window.parts import words
from app.window.parts.buttons import ActionButton
from app.window.parts.drop_down import DropDown
from app.window.parts.flow_layout import FlowBox
from app.window.parts.keyed_list import KeyedList
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme

FILTER_KEY = "F"
SORT_KEY = "Shift+F"
NONE_OF = {
    Shown.ALL: "There are no takes.",
    Shown.DOUBT: "No take is in doubt.",
    Shown.UNDECIDED: "You have decided on every take.",
    Shown.DECIDED: "You have not decided on any take yet.",
    Shown.WITHOUT: "Every clip has a take.",
}


class QueueList(QWidget):
    """Shows the queue; tells which entry is chosen. Rows stay where they are until they are sorted again."""

    chosen = Signal()
    shown_changed = Signal()

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.entries: Sequence[Entry] = ()
        self._picked = False
        """Whether a person chose an entry; before that, the first is looked at, whatever still comes."""
        self._to_sort = True
        em = round(theme.em())
        self.filter = DropDown(theme)
        self.filter.addItems([one.value for one in Shown])
        self.filter.setAccessibleName("Takes to list")
        self.filter.setToolTip(f"Takes to list ({FILTER_KEY})")
        self.filter.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self.filter.currentIndexChanged.connect(lambda _: self.sort_again())
        self.list = KeyedList()
        self.list.setFrameShape(QFrame.Shape.NoFrame)
        self._row = QueueRow(theme)
        self.list.setItemDelegate(self._row)
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.list.setSpacing(1)
        self.list.setAccessibleName("Takes")
        self.list.setToolTip(
            "Takes, those in doubt first. ↑ and ↓ go from one to the next. "
            f"A take you decide on keeps its row until you sort the list again ({SORT_KEY})"
        )
        self.list.currentRowChanged.connect(self._on_row_changed)
        self._count = TextLabel(theme, size=looks.SMALL, role="dim", wrap=False)
        self._doubts = FlowBox(round(em * 0.6), [self._count])
        box = QVBoxLayout(self)
        box.setContentsMargins(0, 0, 0, 0)
        box.setSpacing(em // 2)
        box.addWidget(self.filter)
        box.addWidget(self._doubts)
        box.addWidget(self.list, 1)

    def add_button(self, action: QAction) -> None:
        """Put a button beside the number of takes in doubt."""
        self._doubts.add(ActionButton(action))

    @property
    def shown(self) -> Shown:
        """Which takes are listed."""
        return list(Shown)[self.filter.currentIndex()]

    @property
    def current(self) -> Entry | None:
        """The chosen entry."""
        row = self.list.currentRow()
        return self.entries[row] if 0 <= row < len(self.entries) else None

    def next_filter(self) -> None:
        """List the next kind of takes."""
        self.filter.setCurrentIndex((self.filter.currentIndex() + 1) % self.filter.count())

    def sort_again(self) -> None:
        """List the takes in order, those in doubt first."""
        self._to_sort = True
        self.shown_changed.emit()

    def start_over(self) -> None:
        """Another shoot: nobody chose an entry of it yet."""
        self._picked, self._to_sort = False, True

    def reveal(self, shoot: SongView, key: str) -> None:
        """Have the list show an entry: all takes, where the kind that is listed leaves it out."""
        listed = {one.key for one in (*self.entries, *queue(shoot, self.shown))}
        if key not in listed:
            self.filter.setCurrentIndex(list(Shown).index(Shown.ALL))

    def show_shoot(self, shoot: SongView, key: str | None, *, picked: bool = False) -> None:
        """List a shoot's takes and choose the one of that key, or what stands where the last one stood.

        ``picked``: a person went there.
        """
        self._picked |= picked
        row = max(0, self.list.currentRow())
        if self._to_sort or not self._picked:
            self.entries = queue(shoot, self.shown)
        else:
            self.entries = kept_in_place(self.entries, shoot, self.shown)
        self._to_sort = False
        self.list.blockSignals(True)
        self.list.clear()
        apart = words.told_apart(shoot.clips)
        for entry in self.entries:
            self.list.addItem(self._item(shoot, entry, apart.get(entry.clip.id, "")))
        keys = [entry.key for entry in self.entries]
        self._picked &= bool(keys)
        if not self._picked:
            key, row = None, 0
        self.list.setCurrentRow(keys.index(key) if key in keys else min(row, len(keys) - 1))
        self.list.blockSignals(False)
        doubts = len(words.open_takes(shoot))
        self._count.setText(f"{doubts} in doubt" if doubts else "nothing in doubt")
        self._count.set_role("warm" if doubts else "dim")

    def _on_row_changed(self, row: int) -> None:
        self._picked = True
        self.chosen.emit()

    def step(self, by: int) -> None:
        """Go to a neighbour."""
        if self.entries:
            self.list.setCurrentRow(min(max(self.list.currentRow() + by, 0), len(self.entries) - 1))

    def next_doubt(self) -> bool:
        """Go to the next take in doubt; tells whether there is one."""
        row, count = self.list.currentRow(), len(self.entries)
        for ahead in range(1, count + 1):
            number = (row + ahead) % count
            if check_words.state(self.entries[number]).startswith("?"):
                self.list.setCurrentRow(number)
                return True
        return False

    def _item(self, shoot: SongView, entry: Entry, apart: str) -> QListWidgetItem:
        angle = shoot.angle(entry.clip.angle_id).name
        name, tail = check_words.name(entry, apart)
        item = QListWidgetItem(f"{name}\n{check_words.state(entry)} · {angle}")
        item.setData(TAIL, tail)
        take = entry.take
        record = entry.clip.decided if take is None else take.decided
        reason = sentence(entry.clip.reason if take is None else take.reason or entry.clip.reason)
        if entry.refused is not None:
            record, reason = Decided(Action.REFUSED, entry.refused.at), "Press N to unmark it."
        elif entry.refused_clip:
            reason += " Press N to unmark it."
        item.setToolTip(
            "\n".join(
                filter(None, (name, angle, check_words.state(entry), reason, check_words.decided(record)))
            )
        )
        return item
