"""The buttons of Song: what corrects bars and beats, tempo and sections, and detects them again."""

from collections.abc import Sequence

from PySide6.QtCore import QPoint, QSize, Qt, Signal
from PySide6.QtGui import QAction, QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from app.window.parts import words
from app.window.parts.actions import ActionTable
from app.window.parts.button_row import ButtonRow
from app.window.parts.buttons import ActionButton
from app.window.parts.drop_down import DropDown
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme
from app.window.song.beat_actions import BAR_BUTTONS, BEAT_BUTTONS, METRES, TEMPO_BUTTONS
from app.window.song.song_actions import SECTION_BUTTONS

ASK = "Beats per bar…"
LEAST = 46
"""Least width, in heights of a line of text."""


class SongTools(QWidget):
    """Buttons in groups, which go on in another line where the window is narrow."""

    more_wanted = Signal(QPoint)
    """The menu with the other corrections, at a place on the screen."""
    metre_chosen = Signal(int)
    """So many beats per bar from here on."""

    def __init__(self, theme: Theme, actions: ActionTable, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self._gap = gap = round(theme.em() * 0.4)
        self._least = round(theme.em() * LEAST)
        self.metre = DropDown(theme)
        self.metre.addItems([ASK, *(f"{beats} beats per bar from here on" for beats in METRES)])
        # As wide as what it says at rest; its list opens as wide as it needs.
        self.metre.setSizeAdjustPolicy(DropDown.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        self.metre.setMinimumContentsLength(len(ASK))
        self.metre.view().setMinimumWidth(round(theme.em() * 14))
        self.metre.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self.metre.setAccessibleName("Beats per bar from here on")
        self.metre.setToolTip("Set the beats per bar from here on (2 to 7)")
        self.metre.activated.connect(self._on_chosen)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        self.more = QPushButton("More…")
        self.more.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self.more.setAccessibleName("More corrections")
        self.more.setToolTip("More corrections (Shift+F10, or right-click the map)")
        self.more.clicked.connect(self._on_more)
        bars, beats, tempo, sections = (
            self._group(title, actions.several(*names))
            for title, names in (
                ("Bars", BAR_BUTTONS),
                ("Beats", BEAT_BUTTONS),
                ("Tempo", TEMPO_BUTTONS),
                ("Sections", SECTION_BUTTONS),
            )
        )
        self.row = ButtonRow(gap, [*bars, self.metre, *beats, *tempo, *sections], self.more)
        column.addWidget(self.row)

    def minimumSizeHint(self) -> QSize:
        # As high as at the width there is: at its narrowest, every button would have a line of its own.
        return QSize(self._least, self.heightForWidth(max(self.width(), self._least)))

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self.updateGeometry()

    def show_metre(self, beats: int | None) -> None:
        """Show how bars are counted where one is (None: not known)."""
        said = ASK if beats is None else f"{words.count(beats, 'beat')} per bar"
        if said != self.metre.itemText(0):  # asked for with every step of the music
            self.metre.setItemText(0, said)
        self.metre.setEnabled(beats is not None)

    def _on_chosen(self, index: int) -> None:
        self.metre.setCurrentIndex(0)
        if index:
            self.metre_chosen.emit(METRES[index - 1])

    def _on_more(self) -> None:
        self.more_wanted.emit(self.more.mapToGlobal(QPoint(0, self.more.height())))

    def _group(self, title: str, actions: Sequence[QAction]) -> list[QWidget]:
        """Buttons; the title stands with the first, so that it never ends a line alone."""
        buttons: list[QWidget] = [ActionButton(action) for action in actions]
        for button in buttons:
            # A click leaves the keyboard with the map: the space bar goes on to play.
            button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        head = QWidget()
        row = QHBoxLayout(head)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(self._gap)
        row.addWidget(TextLabel(self._theme, title, bold=True, wrap=False))
        row.addWidget(buttons[0])
        return [head, *buttons[1:]]
