"""What a person chooses for the match of a take: its transfer function, and which figures are found."""

from collections.abc import Sequence

from PySide6.QtCore import QSignalBlocker, Signal
from PySide6.QtWidgets import QGridLayout, QSizePolicy, QWidget

from app.model.document.decisions import TakeSettings
from app.window.parts import theme as looks
from app.window.parts.drop_down import DropDown
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme

TRANSFER_KEY, FIGURES_KEY = "T", "G"
FIGURES = (
    ("Slope and offset", (False, False)),
    ("Slope, offset, power", (False, True)),
    ("Slope, offset, saturation", (True, False)),
    ("All four figures", (True, True)),
)
"""What a match may find, with whether saturation and power are among it."""
UNKNOWN = "As the file says: unknown"


class MatchChoices(QWidget):
    """Two lists to choose from; what is chosen is told, never shown before it is so."""

    transfer_chosen = Signal(str)
    """The word of a transfer function; empty: as the file says."""
    figures_chosen = Signal(bool, bool)
    """Whether saturation and power are to be found."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._functions: tuple[tuple[str, str], ...] = ()
        self.transfer, self.figures = DropDown(theme), DropDown(theme)
        self.transfer.setAccessibleName("Transfer function of this take")
        self.transfer.setToolTip(
            "How the camera encoded light in this take. Choose it where the file does not say, or says it "
            f"wrongly, as many log recordings do ({TRANSFER_KEY})"
        )
        self.figures.setAccessibleName("What the match of this take finds")
        self.figures.setToolTip(
            "The figures of the ASC CDL that are found for this take; the others stay neutral "
            f"({FIGURES_KEY})"
        )
        for text, which in FIGURES:
            self.figures.addItem(text, which)
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setSpacing(round(theme.em() * 0.4))
        grid.setColumnStretch(1, 10)
        grid.setColumnStretch(2, 1)
        for n, (text, box) in enumerate((("Transfer function:", self.transfer), ("Match:", self.figures))):
            label = TextLabel(theme, text, size=looks.SMALL, role="dim", wrap=False)
            label.setBuddy(box)
            grid.addWidget(label, n, 0)
            grid.addWidget(box, n, 1)
            box.setSizeAdjustPolicy(DropDown.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
            box.setMinimumContentsLength(6)
            box.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
            box.setMaximumWidth(round(theme.em() * 18))
        self.transfer.activated.connect(lambda n: self.transfer_chosen.emit(self.transfer.itemData(n)))
        self.figures.activated.connect(lambda n: self.figures_chosen.emit(*self.figures.itemData(n)))

    def show_take(
        self,
        settings: TakeSettings,
        functions: Sequence[tuple[str, str]],
        tagged: str | None,
        *,
        is_reference: bool,
    ) -> None:
        """Show what is chosen for a take.

        ``functions`` are all there are, each by its word and name; ``tagged`` is the one that the file tells
        of, empty where it does not, None as long as that is being read. The reference itself has no match.
        """
        names = dict(functions)
        with QSignalBlocker(self.transfer):
            if tuple(functions) != self._functions:
                self._functions = tuple(functions)
                self.transfer.clear()
                self.transfer.addItem("", "")
                for word, name in functions:
                    self.transfer.addItem(name, word)
            said = "As the file says" if tagged is None else UNKNOWN
            self.transfer.setItemText(0, f"As the file says: {names[tagged]}" if tagged in names else said)
            self.transfer.setCurrentIndex(self.transfer.findData(settings.transfer))
        wanted = (settings.saturation, settings.power)
        with QSignalBlocker(self.figures):
            self.figures.setCurrentIndex([which for _, which in FIGURES].index(wanted))
        self.figures.setEnabled(not is_reference)
