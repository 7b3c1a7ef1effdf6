"""The buttons of Song: what corrects bars and beats, tempo and sections, and detects them again."""

from collections.abc import Sequence

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QAction, QResizeEvent
from PySide6.QtWidgets import QVBoxLayout, QWidget

from app.window.parts import words
from app.window.parts.actions import ActionTable
from app.window.parts.buttons import ActionButton
from app.window.parts.drop_down import DropDown
from app.window.parts.flow_layout import FlowBox
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme
from app.window.song.beat_actions import BAR_BUTTONS, BEAT_BUTTONS, METRES, TEMPO_BUTTONS
from app.window.song.song_actions import SECTION_BUTTONS

ASK = "Beats per bar …"
LEAST = 36
"""Least width, in heights of a line of text."""


class SongTools(QWidget):
    """Rows of buttons that go on in another line where the window is narrow."""

    metre_chosen = Signal(int)
    """So many beats per bar from here on."""

    def __init__(self, theme: Theme, actions: ActionTable, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        gap = round(theme.em() * 0.4)
        self._least = round(theme.em() * LEAST)
        self.metre = DropDown(theme)
        self.metre.addItems([ASK, *(f"{beats} beats per bar from here on" for beats in METRES)])
        # As wide as what it says at rest; its list opens as wide as it needs.
        self.metre.setSizeAdjustPolicy(DropDown.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        self.metre.setMinimumContentsLength(len(ASK))
        self.metre.view().setMinimumWidth(round(theme.em() * 14))
        self.metre.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self.metre.setAccessibleName("Beats per bar from here on")
        self.metre.setToolTip("Set the beats per bar from here on (2 … 7)")
        self.metre.activated.connect(self._on_chosen)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(gap)
        bars, beats, tempo, sections = (
            [TextLabel(theme, title, bold=True, wrap=False), *_buttons(actions.several(*names))]
            for title, names in (
                ("Bars", BAR_BUTTONS),
                ("Beats", BEAT_BUTTONS),
                ("Tempo", TEMPO_BUTTONS),
                ("Sections", SECTION_BUTTONS),
            )
        )
        for row in ([*bars, self.metre, *beats], tempo, sections):
            column.addWidget(FlowBox(gap, row))

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


def _buttons(actions: Sequence[QAction]) -> list[QWidget]:
    buttons: list[QWidget] = [ActionButton(action) for action in actions]
    for button in buttons:
        # A click leaves the keyboard with the map: the space bar goes on to play.
        button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
    return buttons
