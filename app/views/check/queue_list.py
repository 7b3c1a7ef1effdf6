"""The list of takes to be looked at, with a choice of which."""

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QFrame, QListWidget, QListWidgetItem, QVBoxLayout, QWidget

from app.model.check_queue import Entry, Shown, queue
from app.model.shoot import Shoot
from app.views.check import check_words
from app.views.parts import theme as looks
from app.views.parts import words
from app.views.parts.drop_down import DropDown
from app.views.parts.ink import Ink
from app.views.parts.theme import Theme

FILTER_KEY = "F"


class QueueList(QWidget):
    """Shows the queue; tells which entry is chosen."""

    chosen = Signal()
    shown_changed = Signal()

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.entries: Sequence[Entry] = ()
        self._picked = False
        """Whether a person chose an entry; before that, the first is looked at, whatever still comes."""
        em = round(theme.em())
        self.filter = DropDown(theme)
        self.filter.addItems([one.value for one in Shown])
        self.filter.setAccessibleName("Which takes are listed")
        self.filter.setToolTip(f"Which takes are listed ({FILTER_KEY})")
        self.filter.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self.filter.currentIndexChanged.connect(lambda _: self.shown_changed.emit())
        self.list = QListWidget()
        self.list.setFrameShape(QFrame.Shape.NoFrame)
        self.list.setTextElideMode(Qt.TextElideMode.ElideRight)
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.list.setSpacing(1)
        self.list.setAccessibleName("Takes")
        self.list.setToolTip("Takes, those in doubt first; ↑ and ↓ go from one to the next")
        self.list.currentRowChanged.connect(self._pick)
        self._count = Ink(theme, size=looks.SMALL, role="dim")
        box = QVBoxLayout(self)
        box.setContentsMargins(0, 0, 0, 0)
        box.setSpacing(em // 2)
        box.addWidget(self.filter)
        box.addWidget(self._count)
        box.addWidget(self.list, 1)

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

    def show_shoot(self, shoot: Shoot, key: str | None, *, picked: bool = False) -> None:
        """List a shoot's takes and choose the one of that key, or what stands where the last one stood.

        ``picked``: a person went there.
        """
        self._picked |= picked
        row = max(0, self.list.currentRow())
        self.entries = queue(shoot, self.shown)
        self.list.blockSignals(True)
        self.list.clear()
        for entry in self.entries:
            self.list.addItem(self._item(shoot, entry))
        keys = [entry.key for entry in self.entries]
        self._picked &= bool(keys)
        if not self._picked:
            key, row = None, 0
        self.list.setCurrentRow(keys.index(key) if key in keys else min(row, len(keys) - 1))
        self.list.blockSignals(False)
        doubts = len(words.open_takes(shoot))
        self._count.setText(f"{doubts} in doubt" if doubts else "nothing in doubt")
        self._count.set_role("warm" if doubts else "dim")

    def _pick(self, row: int) -> None:
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

    def _item(self, shoot: Shoot, entry: Entry) -> QListWidgetItem:
        name = shoot.angle(entry.clip.angle_id).name
        file = words.file_name(entry.clip).rpartition(".")[0] or words.file_name(entry.clip)
        if entry.take is not None and len(entry.clip.takes) > 1:
            file = words.take_name(entry.clip, entry.take)
        item = QListWidgetItem(f"{name}\n{check_words.state(entry)} · {file}")
        take = entry.take
        record = entry.clip.decided if take is None else take.decided
        reason = entry.clip.reason if take is None else take.reason or entry.clip.reason
        item.setToolTip("\n".join(filter(None, (f"{name} · {file}", reason, check_words.decided(record)))))
        return item
