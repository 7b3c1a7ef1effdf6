"""The pieces of one playback file: which song runs where, at which speed; a person corrects them here."""

from collections.abc import Mapping, Sequence
from pathlib import PurePath

from PySide6.QtCore import QSignalBlocker, Qt, Signal
from PySide6.QtWidgets import (
    QAbstractItemView,
    QAbstractSpinBox,
    QDialog,
    QDoubleSpinBox,
    QFormLayout,
    QHBoxLayout,
    QHeaderView,
    QPushButton,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.engine.finding_pieces import DoubtfulPiece
from app.model.document.playback_file import PlaybackFile, PlaybackPiece
from app.model.edits.playback_edits import FASTEST, SLOWEST
from app.model.reasons import sentence
from app.window.parts import words
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme

HEADS = ("In the file", "Song", "Starts in the song", "Speed", "Accurate to")
STEP_S, STEP_PERCENT = 0.001, 0.01
LONGEST_S = 24 * 3600.0


class PiecesWindow(QDialog):
    """Shows and asks; what comes of it is done by whoever listens."""

    corrected = Signal(int, float, float)
    """Number of a piece, where it starts in the song (s), its speed."""
    used = Signal(int)
    """Number of a piece in doubt that a person takes for true."""
    again_wanted = Signal()

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self._pieces: Sequence[PlaybackPiece] = ()
        self._doubtful: Sequence[DoubtfulPiece] = ()
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.table = QTableWidget(0, len(HEADS))
        self.table.setHorizontalHeaderLabels(HEADS)
        self.table.verticalHeader().hide()
        self.table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.table.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.table.setTabKeyNavigation(False)
        self.table.setAccessibleName("Pieces")
        self.table.setToolTip("Where songs run through this file")
        self.why = TextLabel(theme)
        self.start = _field("Song start (s)", "Song time at the piece's start", 3, STEP_S, -60.0, LONGEST_S)
        self.speed = _field(
            "Speed (%)",
            "How fast the song runs in this piece, in percent of its own speed",
            4,
            STEP_PERCENT,
            100 * SLOWEST,
            100 * FASTEST,
        )
        self.use = _button("Use This Piece", "Take the piece in doubt for true", "Ctrl+Return")
        self.again = _button("Find Again", "Find the pieces anew; your corrections go", "Ctrl+R")
        self.said = TextLabel(theme)
        self._arrange()
        self.table.currentCellChanged.connect(lambda *_: self._show_row())
        self.start.editingFinished.connect(self._correct)
        self.speed.editingFinished.connect(self._correct)
        self.use.clicked.connect(lambda: self.used.emit(self.table.currentRow() - len(self._pieces)))
        self.again.clicked.connect(self.again_wanted)

    @property
    def doubtful(self) -> Sequence[DoubtfulPiece]:
        """The pieces in doubt as they are listed."""
        return self._doubtful

    def show_file(
        self, playback: PlaybackFile, songs: Mapping[str, str], doubtful: Sequence[DoubtfulPiece]
    ) -> None:
        """Show a file's pieces, and those in doubt; ``songs`` are their names by id."""
        name = PurePath(playback.media.path).name
        self.setWindowTitle(f"Pieces – {name}")
        self._pieces = playback.pieces
        self._doubtful = [one for one in doubtful if not _covered(one.piece, playback.pieces)]
        row = max(0, self.table.currentRow())
        with QSignalBlocker(self.table):
            self.table.setRowCount(len(self._pieces) + len(self._doubtful))
            for number, piece in enumerate([*self._pieces, *(one.piece for one in self._doubtful)]):
                sure = number < len(self._pieces)
                for column, text in enumerate(_texts(piece, songs, playback, sure)):
                    item = QTableWidgetItem(text)
                    item.setToolTip(
                        "" if sure else sentence(self._doubtful[number - len(self._pieces)].reason)
                    )
                    self.table.setItem(number, column, item)
            self.table.setCurrentCell(min(row, self.table.rowCount() - 1), 0)
        self.again.setEnabled(not playback.made)
        self._show_row()

    def say(self, told: str, *, warm: bool = False) -> None:
        """Say what came of it."""
        self.said.set_role("warm" if warm else "ink")
        self.said.setText(f"!  {told}" if warm and told else told)

    def _show_row(self) -> None:
        row, sure = self.table.currentRow(), len(self._pieces)
        doubt = self._doubtful[row - sure] if row >= sure and self._doubtful else None
        piece = None if row < 0 else self._pieces[row] if doubt is None else doubt.piece
        for field in (self.start, self.speed):
            field.setEnabled(piece is not None and doubt is None)
        self.use.setVisible(doubt is not None)
        if piece is not None:
            for field, value in ((self.start, piece.song_start_s), (self.speed, 100 * piece.speed)):
                with QSignalBlocker(field):
                    field.setValue(value)
        if doubt is not None:
            self.why.setText(f"?  In doubt. {sentence(doubt.reason)}")
        elif piece is None:
            self.why.setText("No song was found in this file.")
        else:
            self.why.setText("Type, or use the arrow keys (Ctrl for larger steps). Enter applies.")

    def _correct(self) -> None:
        row = self.table.currentRow()
        if not 0 <= row < len(self._pieces):
            return
        piece = self._pieces[row]
        # What was only shown rounded is not changed.
        start_s = self.start.value()
        speed = self.speed.value() / 100
        start_s = piece.song_start_s if abs(start_s - piece.song_start_s) < STEP_S / 2 else start_s
        speed = piece.speed if abs(speed - piece.speed) < 5e-7 else speed
        if (start_s, speed) != (piece.song_start_s, piece.speed):
            self.corrected.emit(row, start_s, speed)

    def _arrange(self) -> None:
        em = round(self._theme.em())
        form = QFormLayout()
        form.addRow("&Song start (s)", self.start)
        form.addRow("S&peed (%)", self.speed)
        for field in (self.start, self.speed):
            field.setFixedWidth(em * 10)
        box = QVBoxLayout(self)
        box.setSpacing(em // 2)
        box.addWidget(self.table, 1)
        box.addWidget(self.why)
        box.addLayout(form)
        row = QHBoxLayout()
        for button in (self.use, self.again):
            row.addWidget(button)
        row.addStretch(1)
        box.addLayout(row)
        box.addWidget(self.said)
        head = self.table.horizontalHeader()
        head.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        head.setSectionResizeMode(1, QHeaderView.ResizeMode.Stretch)
        self.resize(em * 48, em * 26)


def _texts(
    piece: PlaybackPiece, songs: Mapping[str, str], playback: PlaybackFile, sure: bool
) -> tuple[str, ...]:
    """A piece in the columns of the table."""
    if not sure:
        how = "? in doubt"
    elif playback.made:
        how = "made here"
    elif piece.uncertainty_s == 0.0:
        how = "by hand"
    else:
        how = f"±{piece.uncertainty_s * 1000:.1f} ms"
    return (
        f"{words.song_time(piece.start_s, 1)} – {words.song_time(piece.end_s, 1)}",
        songs.get(piece.song_id, piece.song_id),
        words.song_time(piece.song_start_s),
        f"{100 * piece.speed:.4f}".rstrip("0").rstrip(".") + " %",
        how,
    )


def _covered(piece: PlaybackPiece, pieces: Sequence[PlaybackPiece]) -> bool:
    """Whether most of a piece in doubt is explained by others."""
    over_s = sum(max(0.0, min(piece.end_s, one.end_s) - max(piece.start_s, one.start_s)) for one in pieces)
    return over_s > (piece.end_s - piece.start_s) / 2


def _field(name: str, tip: str, digits: int, step: float, least: float, most: float) -> QDoubleSpinBox:
    field = QDoubleSpinBox()
    field.setDecimals(digits)
    field.setRange(least, most)
    field.setSingleStep(step)
    field.setKeyboardTracking(False)
    field.setCorrectionMode(QAbstractSpinBox.CorrectionMode.CorrectToNearestValue)
    field.setAccessibleName(name)
    field.setToolTip(tip)
    return field


def _button(text: str, tip: str, key: str) -> QPushButton:
    button = QPushButton(text)
    button.setAutoDefault(False)
    button.setAccessibleName(text)
    button.setShortcut(key)
    button.setToolTip(f"{tip} ({button.shortcut().toString().replace('Return', 'Enter')})")
    return button
