"""What is still missing, as a list with minutes: beside the plan and beside the score."""

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QAbstractItemView, QFrame, QListWidgetItem, QVBoxLayout, QWidget

from app.model.coverage.missing import MissingPass, still_missing
from app.model.coverage.missing_words import (
    minutes_words,
    nothing_missing_words,
    passage_of,
    passes_words,
    reason_of,
    subjects_of,
)
from app.model.on_song import SongView
from app.window.parts import theme as looks
from app.window.parts.keyed_list import KeyedList
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme


class MissingList(QWidget):
    """The passes to shoot, what gains most for its minutes first."""

    opened = Signal(int)
    """Enter or a double click: number of the pass, from 0."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.passes: tuple[MissingPass, ...] = ()
        em = round(theme.em())
        box = QVBoxLayout(self)
        box.setContentsMargins(0, 0, 0, 0)
        box.setSpacing(em // 3)
        self.heading = TextLabel(theme, "Still missing", size=looks.LARGE, bold=True)
        box.addWidget(self.heading)
        self.total = TextLabel(theme, role="dim")
        box.addWidget(self.total)
        self.list = KeyedList()
        self.list.setAccessibleName("Still missing")
        self.list.setToolTip("What to shoot so that every need is met. Enter goes to its bars.")
        self.list.setWordWrap(True)
        self.list.setFrameShape(QFrame.Shape.NoFrame)
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.list.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.list.itemActivated.connect(lambda item: self.opened.emit(self.list.row(item)))
        box.addWidget(self.list, 1)

    def show_shoot(self, shoot: SongView) -> None:
        """Show what a shoot lacks."""
        passes = still_missing(shoot)
        self.total.setText(total_words(shoot, passes))
        lines = [missing_lines(one, shoot) for one in passes]
        if passes == self.passes and self.list.count() == len(lines):
            return
        self.passes = passes
        at = self.list.currentRow()
        self.list.clear()
        for number, (where, whom, why) in enumerate(lines, 1):
            item = QListWidgetItem(f"{number}. {where}\n{whom}\n{why}")
            item.setToolTip(why)
            self.list.addItem(item)
        self.list.setCurrentRow(min(max(at, 0), len(lines) - 1))
        self._fit()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit()

    def _fit(self) -> None:
        """Give each entry the height its lines need: the list itself forgets the edges around its text."""
        em = self.list.fontMetrics().height()
        room = self.list.viewport().width() - round(em * 2.2)
        for row in range(self.list.count()):
            item = self.list.item(row)
            flags = Qt.TextFlag.TextWordWrap
            text = self.list.fontMetrics().boundingRect(0, 0, room, 9999, flags, item.text())
            item.setSizeHint(QSize(0, text.height() + em))


def missing_lines(one: MissingPass, shoot: SongView) -> tuple[str, str, str]:
    """A pass in words: where, whom and for how long, and why."""
    assert shoot.song is not None
    where = passage_of(one, shoot.song)
    return where[:1].upper() + where[1:], f"{subjects_of(one)} · {minutes_words(one.minutes)}", reason_of(one)


def total_words(shoot: SongView, passes: tuple[MissingPass, ...]) -> str:
    """How much there is to shoot, on one line."""
    if shoot.song is None:
        return "There is no song yet."
    if not passes:
        return nothing_missing_words(shoot)
    total = minutes_words(sum(one.minutes for one in passes))
    return f"{passes_words(passes)}, {total} on set"
