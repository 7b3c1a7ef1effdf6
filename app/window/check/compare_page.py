"""The page of Check on which a take is compared with the reference: figures, pictures, takes by distance."""

from collections.abc import Sequence

from PySide6.QtGui import QAction
from PySide6.QtWidgets import QSizePolicy, QVBoxLayout, QWidget

from app.window.check.compare_pictures import ComparePictures
from app.window.check.distance_list import DistanceList
from app.window.check.match_choices import MatchChoices
from app.window.parts import theme as looks
from app.window.parts.button_row import ButtonRow
from app.window.parts.buttons import ActionButton
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme

DECIDING = "To confirm or move this take, go back to the proof."
NEVER_APPLIED = "A preview: the match is handed off as an ASC CDL, never applied to your files."


class ComparePage(QWidget):
    """Its widgets, put together."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        em = round(theme.em())
        self.apart = TextLabel(theme, size=looks.TEXT, bold=True)
        self.after = TextLabel(theme)
        self.doubts = TextLabel(theme, size=looks.SMALL, role="warm")
        self.note = TextLabel(theme, DECIDING, size=looks.SMALL, role="dim")
        self.pictures = ComparePictures(theme)
        self.choices = MatchChoices(theme)
        self.distances = DistanceList(theme)
        self._gap = round(em * 0.4)
        box = QVBoxLayout(self)
        box.setContentsMargins(0, 0, 0, 0)
        box.setSpacing(round(em * 0.4))
        for label in (self.apart, self.after, self.doubts):
            box.addWidget(label)
        box.addWidget(self.pictures, 3)
        box.addWidget(self.choices)
        box.addWidget(self.note)
        box.addWidget(self.distances, 2)
        box.addStretch(0)
        self._box = box
        for label in (self.apart, self.after, self.doubts, self.note):
            label.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Maximum)

    def add_buttons(self, actions: Sequence[QAction]) -> None:
        """Put buttons below all, once; where they have no room side by side, in several lines."""
        self._box.addWidget(ButtonRow(self._gap, [ActionButton(action) for action in actions]))

    def tell(
        self, apart: str, after: str = "", doubts: Sequence[str] = (), *, previewed: bool = False
    ) -> None:
        """Say how far the take sits from the reference; ``previewed``: a match is shown."""
        self.apart.setText(apart)
        for label, text in ((self.after, after), (self.doubts, " ".join(f"? {one}" for one in doubts))):
            label.setText(text)
            label.setVisible(bool(text))
        self.note.setText(f"{NEVER_APPLIED} {DECIDING}" if previewed else DECIDING)
        self.setAccessibleName(" ".join(filter(None, (apart, after, *doubts))))
