"""What became of the old master in the new one, and of all that hangs on it: to look at and to correct."""

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QDialog,
    QHBoxLayout,
    QListWidget,
    QListWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.model.document.masters import MasterPiece
from app.model.renewing.told_pieces import Told, told_pieces
from app.model.renewing.what_changes import Row
from app.window.master.master_actions import EDITING, NUDGES, Steps, master_actions
from app.window.master.piece_fields import PieceFields
from app.window.master.piece_words import DISAGREE, summary, told_words
from app.window.master.two_waves import Peak, TwoWaves
from app.window.parts import theme as looks
from app.window.parts.actions import ActionTable
from app.window.parts.button_row import ButtonRow
from app.window.parts.buttons import ActionButton, close_button
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme

MOST_NAMED = 60
"""So many things are named one by one; of more the rest is counted."""
NOTHING_FOUND = (
    "Nothing of the old master was found in this file. If you know where it runs, add a piece. "
    "If it is another song, cancel and use Add Song."
)


class MasterWindow(QDialog):
    """Shows and asks; what comes of it is done by whoever listens."""

    chosen = Signal()
    """Another piece is chosen, or none."""

    def __init__(
        self,
        theme: Theme,
        names: tuple[str, str],
        lengths_s: tuple[float, float],
        peaks: tuple[Sequence[Peak], Sequence[Peak]],
        steps: Steps | None,
        parent: QWidget | None = None,
    ) -> None:
        """``steps`` do what is asked for; None where an earlier change is only looked at."""
        super().__init__(parent)
        self._theme, self._lengths, self._editing = theme, lengths_s, steps is not None
        self.pieces: tuple[MasterPiece, ...] = ()
        self.told: tuple[Told, ...] = ()
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle("Replace the Song" if steps is not None else "Earlier Masters")
        self._heading = TextLabel(theme, f"{names[0]}  →  {names[1]}", size=looks.LARGE, bold=True)
        self._summary = TextLabel(theme)
        self.waves = TwoWaves(theme)
        self.waves.show_masters(names, lengths_s, peaks)
        self.list = _list("Pieces", "What became of each stretch, in the order of the new master")
        self.changes = _list("What changes", "What becomes of takes, sections, marks, plan and first pass")
        self.fields = PieceFields(theme)
        self.proof = TextLabel(theme, size=looks.SMALL, role="dim")
        self.said = TextLabel(theme, role="warm")
        self.said.hide()
        self.action_table = None if steps is None else ActionTable(self, master_actions(steps))
        self._arrange()
        self.waves.chosen.connect(self.list.setCurrentRow)
        self.list.currentRowChanged.connect(self._on_row)

    @property
    def number(self) -> int | None:
        """Number of the chosen piece; None where what is chosen is none."""
        row = self.list.currentRow()
        return self.told[row].number if 0 <= row < len(self.told) else None

    @property
    def piece(self) -> MasterPiece | None:
        """The chosen piece."""
        return None if self.number is None else self.pieces[self.number]

    def show_pieces(self, pieces: Sequence[MasterPiece], at_s: float | None = None) -> None:
        """Show the pieces as they are now; ``at_s``: choose the one that begins there in the new master."""
        row = max(0, self.list.currentRow())
        self.pieces = tuple(pieces)
        self.told = told_pieces(self.pieces, *self._lengths)
        known = [n for n, one in enumerate(self.told) if one.number is not None]
        numbers = [known.index(n) + 1 if n in known else None for n in range(len(self.told))]
        self.list.blockSignals(True)
        self.list.clear()
        for one, number in zip(self.told, numbers, strict=True):
            self.list.addItem(told_words(one, number))
        self.list.blockSignals(False)
        self.waves.show_told(self.told, numbers)
        self._summary.setText(summary(self.told) if self.pieces else NOTHING_FOUND)
        self._summary.set_role("ink" if self.pieces else "warm")
        if at_s is not None and known:
            row = min(known, key=lambda n: abs((self.told[n].new_s or (0.0, 0.0))[0] - at_s))
        elif known and row not in known:
            row = min(known, key=lambda n: abs(n - row))
        self.list.setCurrentRow(min(row, len(self.told) - 1))
        self._on_row(self.list.currentRow())

    def show_changes(self, rows: Sequence[Row]) -> None:
        """Show what changes; nothing as long as it is being worked out."""
        at = self.changes.currentRow()
        self.changes.clear()
        for row in rows:
            self.changes.addItem(_heading(self._theme, f"! {row.what}" if row.loses else row.what))
            self.changes.addItem(row.said)
            for name in row.named[:MOST_NAMED]:
                self.changes.addItem(f"    · {name}")
            if len(row.named) > MOST_NAMED:
                self.changes.addItem(f"    and {len(row.named) - MOST_NAMED} more")
        self.changes.setCurrentRow(min(at, self.changes.count() - 1))
        self.refresh()

    def show_proof(self, text: str) -> None:
        """Show how the two masters agree along the chosen piece."""
        self.proof.set_role("warm" if text.startswith(DISAGREE) else "dim")
        self.proof.setText(text)

    def say(self, sentence: str) -> None:
        """Say what is wrong; nothing where all is well."""
        self.said.setText(f"!  {sentence}" if sentence else "")
        self.said.setVisible(bool(sentence))

    def refresh(self) -> None:
        """Have buttons follow what can be done."""
        if self.action_table is not None:
            self.action_table.refresh()

    def _on_row(self, row: int) -> None:
        self.waves.choose(row)
        self.fields.show_piece(self.piece)
        self.proof.setText("")
        self.refresh()
        self.chosen.emit()

    def _arrange(self) -> None:
        em = round(self._theme.em())
        box = QVBoxLayout(self)
        box.setContentsMargins(em, em, em, em)
        box.setSpacing(em // 2)
        box.addWidget(self._heading)
        box.addWidget(self._summary)
        box.addWidget(self.waves, 5)
        left = QVBoxLayout()
        left.setSpacing(em // 3)
        left.addWidget(TextLabel(self._theme, "What became of the old master", bold=True))
        left.addWidget(self.list, 1)
        table = self.action_table
        if table is not None:
            left.addWidget(self.fields)
            gap = em // 3
            left.addWidget(ButtonRow(gap, [ActionButton(table[name]) for name in NUDGES]))
            left.addWidget(self.proof)
            left.addWidget(ButtonRow(gap, [ActionButton(table[name]) for name in EDITING]))
        right = QVBoxLayout()
        right.setSpacing(em // 3)
        heading = "What changes in the shoot" if self._editing else "What changed in the shoot"
        right.addWidget(TextLabel(self._theme, heading, bold=True))
        right.addWidget(self.changes, 1)
        columns = QHBoxLayout()
        columns.setSpacing(em)
        columns.addLayout(left, 5)
        columns.addLayout(right, 4)
        box.addLayout(columns, 6)
        box.addWidget(self.said)
        row = QHBoxLayout()
        if table is None:
            row.addWidget(close_button(self))
        else:
            row.addWidget(TextLabel(self._theme, "Undo brings everything back.", role="dim"), 1)
            row.addWidget(ActionButton(table["cancel"]))
            row.addWidget(ActionButton(table["replace"], main=True))
        box.addLayout(row)
        room = self.screen().availableGeometry()
        self.resize(min(em * 84, room.width() - 2 * em), min(em * 46, room.height() - 3 * em))


def _list(name: str, tip: str) -> QListWidget:
    made = QListWidget()
    made.setAccessibleName(name)
    made.setToolTip(tip)
    made.setWordWrap(True)
    made.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
    return made


def _heading(theme: Theme, text: str) -> QListWidgetItem:
    item = QListWidgetItem(text)
    item.setFont(theme.font(bold=True))
    return item
