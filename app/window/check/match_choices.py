"""What a person chooses for the match of a take: its transfer function, and which figures are found."""

from collections.abc import Sequence

from PySide6.QtCore import QSignalBlocker, QSize, Signal
from PySide6.QtGui import QResizeEvent
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
WIDE_FROM_EM = 34
"""Width from which on the two lie side by side."""
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
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setSpacing(round(theme.em() * 0.4))
        self._pairs = [
            (TextLabel(theme, text, size=looks.SMALL, role="dim", wrap=False), box)
            for text, box in (("Transfer function:", self.transfer), ("Match:", self.figures))
        ]
        for label, box in self._pairs:
            label.setBuddy(box)
            box.setSizeAdjustPolicy(DropDown.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
            box.setMinimumContentsLength(6)
            box.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
            box.setMaximumWidth(round(theme.em() * 18))
        self._wide_from = round(theme.em() * WIDE_FROM_EM)
        self._in_a_row: bool | None = None
        self._lay_out(in_a_row=False)
        self.transfer.activated.connect(lambda n: self.transfer_chosen.emit(self.transfer.itemData(n)))
        self.figures.activated.connect(lambda n: self.figures_chosen.emit(*self.figures.itemData(n)))

    def minimumSizeHint(self) -> QSize:
        """As narrow as one of the two, whichever way they lie."""
        gap = self._grid.spacing()
        widths = [
            label.sizeHint().width() + gap + box.minimumSizeHint().width() for label, box in self._pairs
        ]
        return QSize(max(widths), super().minimumSizeHint().height())

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._lay_out(in_a_row=self.width() >= self._wide_from)

    def _lay_out(self, *, in_a_row: bool) -> None:
        if in_a_row == self._in_a_row:
            return
        self._in_a_row = in_a_row
        for n, pair in enumerate(self._pairs):
            for column, widget in enumerate(pair):
                self._grid.removeWidget(widget)
                at = (0, 2 * n + column) if in_a_row else (n, column)
                self._grid.addWidget(widget, *at)
        for column, stretch in enumerate((0, 10, 0, 10, 1) if in_a_row else (0, 10, 1, 0, 0)):
            self._grid.setColumnStretch(column, stretch)

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
