"""The left column: the places with their figures, and at the bottom how the shoot is kept."""

from collections.abc import Callable, Sequence
from pathlib import Path

from PySide6.QtCore import Qt, QTimer
from PySide6.QtGui import QAction, QFontMetricsF
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from app.model.document.change import Change
from app.model.on_song import SongView
from app.window.frame.song_switch import SongSwitch
from app.window.parts import figures, words
from app.window.parts import theme as looks
from app.window.parts.place import THINNED_MS
from app.window.parts.place_button import PlaceButton
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme
from app.window.session import Session

FIGURES: dict[str, Callable[[SongView], str]] = {
    "Clips": figures.clips_figure,
    "Song": figures.song_figure,
    "Plan": figures.plan_figure,
    "Check": figures.check_figure,
    "Score": figures.score_figure,
}


class PlacesColumn(QWidget):
    """Where one can go, and how things stand there."""

    def __init__(
        self, session: Session, theme: Theme, places: Sequence[QAction], parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._session = session
        self._reading = ""
        self._redone = False
        """The last step was one forward."""
        em = round(theme.em())
        self.setFixedWidth(round(em * 10))
        self.setAccessibleName("Places")
        box = QVBoxLayout(self)
        box.setContentsMargins(0, em, 0, em)
        box.setSpacing(0)
        self._title = TextLabel(theme, "Anglebook", size=looks.LARGE, italic=True, wrap=False)
        self._shoot = TextLabel(theme, size=looks.SMALL, role="dim")
        for line in (self._title, self._shoot):
            line.setContentsMargins(round(em * 1.3), 0, em // 2, 0)
            box.addWidget(line)
        self.songs = SongSwitch(session, theme)
        row = QHBoxLayout()
        row.setContentsMargins(em, em // 2, em, 0)
        row.addWidget(self.songs)
        box.addLayout(row)
        box.addSpacing(em // 2)
        self.buttons = [PlaceButton(theme, action) for action in places]
        for button in self.buttons:
            box.addWidget(button)
        box.addStretch(1)
        self._undone = TextLabel(theme, size=looks.SMALL)
        self._watched = TextLabel(theme, size=looks.SMALL, wrap=False)
        self._saved = TextLabel(theme, size=looks.SMALL, role="dim", wrap=False)
        self._summary = TextLabel(theme, size=looks.SMALL, role="dim", wrap=False)
        for line in (self._undone, self._watched, self._saved, self._summary):
            line.setContentsMargins(round(em * 1.3), 0, em // 2, 0)
            box.addWidget(line)
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.setInterval(THINNED_MS)
        self._timer.timeout.connect(self.refresh)
        session.changed.connect(self._on_session_changed)
        self.show_watched(None)
        self.refresh()

    @property
    def saved(self) -> str:
        """What is said of how the shoot is kept."""
        return self._saved.text()

    @property
    def summary(self) -> str:
        """What is said of the clips."""
        return self._summary.text()

    def figure(self, place: str) -> str:
        """What is said of a place."""
        return next(button.figure for button in self.buttons if button.text() == place)

    @property
    def undone(self) -> str:
        """What is said of the step that was undone or done again last; empty where Redo has nothing to do."""
        return self._undone.text()

    @property
    def watched(self) -> str:
        """What is said of the folder that is watched; empty where none is."""
        return self._watched.text()

    def show_watched(self, folder: Path | None) -> None:
        """Say at every place that a folder is watched."""
        name = "" if folder is None else folder.name or str(folder)
        metrics = QFontMetricsF(self._watched.font())
        short = metrics.elidedText(name, Qt.TextElideMode.ElideMiddle, self.width() * 0.45)
        self._watched.setText(f"◉ watching {short}" if name else "")
        self._watched.setToolTip(str(folder or ""))
        self._watched.setVisible(bool(name))

    def show_reading(self, song: str) -> None:
        """Say that a file is being read as the song; empty: none is."""
        if song != self._reading:
            self._reading = song
            self.refresh()

    def refresh(self) -> None:
        """Show how things stand."""
        shoot = self._session.view
        self._shoot.setText(self._session.title)
        for button in self.buttons:
            figure = FIGURES[button.text()](shoot) if button.text() in FIGURES else ""
            if button.text() == "Check":
                figure = figures.with_other_doubts(figure, shoot, self._session.views)
            if button.text() == "Song" and self._reading:
                figure = "reading…"
            wants = button.text() in ("Check", "Score") and figure[:1].isdigit()
            if button.text() == "Score" and words.to_be_placed(shoot):
                wants = False
            button.show_figure(figure, wants)
        state = figures.saved_state(self._session.path, self._session.modified, shoot)
        self._saved.setText(state)
        self._saved.setVisible(bool(state))
        label = self._session.redo_label
        done = self._session.undo_label if self._redone else None
        if label is None:
            self._undone.setText("")
        elif done is None:
            self._undone.setText(f"↶ undone: {label}; Redo brings it back")
        else:
            self._undone.setText(f"↷ redone: {done}; next Redo: {label}")
        self._undone.setVisible(label is not None)
        self._summary.setText(figures.clips_summary(self._session.everywhere).replace(" · ", "\n"))

    def _on_session_changed(self, change: Change, origin: str) -> None:
        if origin in ("undo", "redo"):
            self._redone = origin == "redo"
        if not self._timer.isActive():
            self._timer.start()
