"""What Clips shows before there are any: three lines on what to do, the sample shoot, and recent shoots."""

from collections.abc import Callable, Sequence
from pathlib import Path

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QAction, QFontMetricsF, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from app.window.parts import theme as looks
from app.window.parts.buttons import ActionButton
from app.window.parts.recent import Recent
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme

HEADING = "Start with the song and the clips"
LINES = (
    "1.  Drop the song here, or all songs of the evening: the recordings everybody played to.",
    "2.  Drop the folder with the clips. Files are only read, never changed.",
    "3.  Wait a little: each clip is placed in the song, or you are told why not.",
    "Nothing shot yet? The song alone is enough to begin to plan.",
)
SHOWN = 4
"""Recent shoots shown; the menu has all."""


class FirstPage(QWidget):
    """A page in a dashed frame: files can be dropped on it."""

    def __init__(
        self,
        theme: Theme,
        take_in: Sequence[QAction],
        sample: QAction,
        redo: QAction,
        recent: Recent,
        open_shoot: Callable[[Path], None],
        parent: QWidget | None = None,
    ) -> None:
        """``take_in`` are the actions that choose song and clips, ``sample`` opens the sample shoot,
        ``redo`` brings back what was undone."""
        super().__init__(parent)
        theme.changed.connect(self.update)
        self._theme, self._recent, self._open = theme, recent, open_shoot
        em = round(theme.em())
        self.setAccessibleName(HEADING)
        self.setAccessibleDescription(" ".join(LINES))
        self.lines = [TextLabel(theme, line, size=looks.LARGE) for line in LINES]
        self.buttons = [ActionButton(action) for action in take_in]
        self.sample = ActionButton(sample)
        self.sample.setVisible(sample.isVisible())
        middle = QHBoxLayout(self)
        middle.setContentsMargins(em * 4, em * 2, em * 4, em * 2)
        middle.addStretch(1)
        box = QVBoxLayout()
        middle.addLayout(box, 6)
        middle.addStretch(1)
        box.setSpacing(round(em * 0.7))
        box.addStretch(3)
        self.undone = TextLabel(theme, role="warm")
        self._redo = ActionButton(redo)
        box.addWidget(self.undone)
        box.addLayout(_row(em, [self._redo]))
        box.addSpacing(em)
        self.show_undone(None)
        box.addWidget(TextLabel(theme, HEADING, size=looks.HEADING, bold=True))
        box.addSpacing(em // 2)
        for line in self.lines:
            box.addWidget(line)
        box.addSpacing(em // 2)
        box.addLayout(_row(em, self.buttons))
        box.addSpacing(em)
        if sample.isVisible():
            words = "No footage at hand? Try the sample shoot that comes with Anglebook."
            box.addWidget(TextLabel(theme, words, role="dim"))
            box.addLayout(_row(em, [self.sample]))
            box.addSpacing(em // 2)
        self._heading = TextLabel(theme, "Recent", role="dim")
        box.addWidget(self._heading)
        self._shown: list[QPushButton] = []
        self._shoots = QHBoxLayout()
        self._shoots.setSpacing(em // 2)
        box.addLayout(self._shoots)
        box.addStretch(4)
        recent.changed.connect(self.show_recent)
        self.show_recent()

    @property
    def shoots(self) -> list[QPushButton]:
        """The buttons of the recent shoots."""
        return self._shown

    def show_undone(self, label: str | None) -> None:
        """Say what was undone, where nothing is left after that; None: nothing was."""
        self.undone.setText(f"Undone: {label}. Nothing is lost: Redo brings it back.")
        self.undone.setVisible(label is not None)
        self._redo.setVisible(label is not None)

    def show_recent(self) -> None:
        """Show the shoots opened last."""
        for button in self._shown:
            self._shoots.removeWidget(button)
            button.hide()
            button.deleteLater()
        while self._shoots.count():
            self._shoots.takeAt(0)
        self._shown = []
        paths = self._recent.paths[:SHOWN]
        self._heading.setVisible(bool(paths))
        for number, path in enumerate(paths, 1):
            button = QPushButton(self._short(path.stem))
            key = f"Alt+{number}"
            button.setShortcut(key)
            button.setToolTip(f"Open {path} ({key})")
            button.setAccessibleName(f"Open {path.stem}")
            button.clicked.connect(lambda _=False, path=path: self._open(path))
            self._shoots.addWidget(button)
            self._shown.append(button)
        self._shoots.addStretch(1)

    def paintEvent(self, event: QPaintEvent) -> None:
        p = QPainter(self)
        p.setRenderHint(QPainter.RenderHint.Antialiasing)
        em = self._theme.em()
        p.setPen(QPen(self._theme.colour("edge"), 1.5, Qt.PenStyle.DashLine))
        p.drawRoundedRect(QRectF(self.rect()).adjusted(em, em, -em, -em), em * 0.6, em * 0.6)

    def _short(self, name: str) -> str:
        metrics = QFontMetricsF(self._theme.font())
        short = metrics.elidedText(name, Qt.TextElideMode.ElideMiddle, self._theme.em() * 12)
        return short.replace("&", "&&")


def _row(em: int, buttons: Sequence[QWidget]) -> QHBoxLayout:
    row = QHBoxLayout()
    row.setSpacing(em)
    for button in buttons:
        row.addWidget(button)
    row.addStretch(1)
    return row
