"""Which songs are handed off: the one in hand, or all of them."""

from collections.abc import Mapping

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QComboBox, QHBoxLayout, QWidget

from app.window.parts.drop_down import DropDown
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme

LABEL = "Hand off (&8)"
SHORTEST = 12
"""Letters the list shows at least of what is chosen."""


class SongsChoice(QWidget):
    """Hidden where the shoot has one song; emits ``changed`` when a person chooses."""

    changed = Signal()

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.list = DropDown(theme)
        self.list.setAccessibleName("Songs to hand off")
        self.list.setToolTip(
            "The song in hand alone, or every song of the shoot: each gets a folder of its own in the folder "
            "below (Alt+8)"
        )
        self.list.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        self.list.setMinimumContentsLength(SHORTEST)
        self.list.addItems(["", ""])
        self.list.activated.connect(self.changed)
        label = TextLabel(theme, LABEL, role="dim", wrap=False)
        label.setBuddy(self.list)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.addWidget(label)
        row.addWidget(self.list, 1)
        self.hide()

    @property
    def all_songs(self) -> bool:
        """Whether every song is handed off, where there are several."""
        return self.list.currentIndex() == 1

    def choose(self, *, all_songs: bool) -> None:
        """Choose, as it was saved."""
        self.list.setCurrentIndex(int(all_songs))

    def show_songs(self, names: Mapping[str, str], here: str) -> None:
        """Offer the songs by their names; ``here`` is the id of the one in hand."""
        self.list.setItemText(0, f"Only {names.get(here, '')}")
        self.list.setItemText(1, f"All {len(names)} songs, a folder each")
        self.setVisible(len(names) > 1)
