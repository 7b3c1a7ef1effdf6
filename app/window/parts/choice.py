"""A question with a button for each answer; with many answers, a list."""

from collections.abc import Sequence

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QIcon
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QLabel,
    QListWidget,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

CANCEL = "&Cancel"
BUTTONS = 4
"""More answers than this are told in a list."""
WIDEST_EM = 48
"""Width of a list, in heights of a line of text; longer answers are elided."""
LINES, LINE_EMS = 14, 1.8
"""Answers of a list that are seen without scrolling, and the height of one in heights of a line of text."""


class Choice(QDialog):
    """``chosen`` is the number of the answer, counted from 0; None where the person left it."""

    def __init__(
        self,
        title: str,
        question: str,
        answers: Sequence[str],
        parent: QWidget | None = None,
        *,
        leave: str = CANCEL,
    ) -> None:
        """``leave`` is written on the button that answers nothing."""
        super().__init__(parent)
        self.chosen: int | None = None
        self.setWindowTitle(title)
        em = self.fontMetrics().height()
        box = QVBoxLayout(self)
        box.setContentsMargins(em, em, em, em)
        box.setSpacing(em // 2)
        said = QLabel(question)
        said.setWordWrap(True)
        said.setMinimumWidth(em * 28)
        box.addWidget(said)
        box.addSpacing(em // 2)
        if len(answers) <= BUTTONS:
            for number, answer in enumerate(answers):
                button = QPushButton(answer)
                button.setAccessibleName(answer)
                button.setToolTip(f"{answer} ({number + 1})")
                button.setShortcut(str(number + 1))
                button.setDefault(number == 0)
                button.clicked.connect(lambda _=False, number=number: self._take(number))
                box.addWidget(button)
        else:
            self._list = QListWidget()
            self._list.addItems(list(answers))
            self._list.setCurrentRow(0)
            self._list.setAccessibleName(title)
            self._list.setToolTip("↑ and ↓ go through the answers, Enter takes one")
            width = max(em * 28, min(self._list.sizeHintForColumn(0) + em * 2, em * WIDEST_EM))
            self._list.setTextElideMode(Qt.TextElideMode.ElideMiddle)
            self._list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
            self._list.setMinimumSize(QSize(width, round(em * (1 + LINE_EMS * min(len(answers), LINES)))))
            self._list.itemActivated.connect(lambda: self._take(self._list.currentRow()))
            box.addWidget(self._list)
        kinds = QDialogButtonBox.StandardButton
        buttons = QDialogButtonBox(kinds.Cancel if len(answers) <= BUTTONS else kinds.Ok | kinds.Cancel)
        buttons.button(kinds.Cancel).setText(leave)
        for below in buttons.buttons():
            below.setIcon(QIcon())  # words alone, for drawn signs drown in the dark
        buttons.accepted.connect(lambda: self._take(self._list.currentRow()))
        buttons.rejected.connect(self.reject)
        box.addWidget(buttons)

    def _take(self, number: int) -> None:
        self.chosen = number
        self.accept()
