"""Where one piece begins and how fast it runs, to be typed or nudged."""

from collections.abc import Callable
from dataclasses import replace

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QGridLayout, QLineEdit, QWidget

from app.model.document.masters import MasterPiece
from app.window.master.piece_words import typed_speed, typed_time
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme
from app.window.parts.words import song_time

FIELDS = (
    ("&From", "Where the piece begins in the old master, as minutes and seconds"),
    ("&To", "Where the piece ends in the old master"),
    ("&Starts at", "Where the piece begins in the new master"),
    ("Spee&d", "How long a second of the old master is in the new one: below 1 the new one is faster"),
)


class PieceFields(QWidget):
    """Four fields; what is typed is told when Enter is pressed or the field is left."""

    typed = Signal(object)
    """The piece as it is meant (`MasterPiece`)."""
    wrong = Signal(str)
    """What was typed cannot be read: a sentence."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._piece: MasterPiece | None = None
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(round(theme.em() * 0.5))
        grid.setVerticalSpacing(round(theme.em() * 0.3))
        self.fields: list[QLineEdit] = []
        for number, (label, tip) in enumerate(FIELDS):
            field = QLineEdit()
            field.setAccessibleName(label.replace("&", ""))
            field.setToolTip(f"{tip} (Alt+{label[label.index('&') + 1].upper()})")
            field.setAcceptDrops(False)
            field.editingFinished.connect(self._on_typed)
            named = TextLabel(theme, label, role="dim", wrap=False)
            named.setBuddy(field)
            grid.addWidget(named, 0, number)
            grid.addWidget(field, 1, number)
            self.fields.append(field)
        self.show_piece(None)

    def show_piece(self, piece: MasterPiece | None) -> None:
        """Show a piece; None where none is chosen."""
        self._piece = piece
        texts = ("", "", "", "") if piece is None else _texts(piece)
        for field, text in zip(self.fields, texts, strict=True):
            field.setText(text)
            field.setCursorPosition(0)
            field.setEnabled(piece is not None)

    def _on_typed(self) -> None:
        if self._piece is None:
            return
        old, new = _texts(self._piece), [field.text() for field in self.fields]
        if list(old) == new:
            return
        try:
            piece = self._read(list(old), new)
        except ValueError as error:
            self.wrong.emit(str(error))
            return
        self.typed.emit(piece)

    def _read(self, old: list[str], new: list[str]) -> MasterPiece:
        """The piece with what was typed; what nobody touched keeps its exact value."""
        piece = self._piece
        assert piece is not None

        def value(number: int, exact: float, read: Callable[[str], float]) -> float:
            return exact if old[number] == new[number] else read(new[number])

        start_s = value(0, piece.old_start_s, typed_time)
        at_s = piece.new_start_s
        if old[2] != new[2]:
            at_s = typed_time(new[2])
        elif start_s != piece.old_start_s:
            at_s = piece.line.song_time(start_s)  # its line stays
        return replace(
            piece,
            old_start_s=start_s,
            old_end_s=value(1, piece.old_end_s, typed_time),
            new_start_s=at_s,
            speed=value(3, piece.speed, typed_speed),
        )


def _texts(piece: MasterPiece) -> tuple[str, str, str, str]:
    speed = f"{piece.speed:.7f}".rstrip("0").rstrip(".")
    return song_time(piece.old_start_s), song_time(piece.old_end_s), song_time(piece.new_start_s), speed
