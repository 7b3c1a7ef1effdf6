"""What is still missing in letters that can be read from three metres, for the set."""

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeySequence, QResizeEvent, QShortcut
from PySide6.QtWidgets import QDialog, QScrollArea, QVBoxLayout, QWidget

from app.model.coverage.missing import MissingPass, still_missing
from app.model.on_song import SongView
from app.window.parts.missing_list import missing_lines, total_words
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme

MOST_LINES, FEWEST_LINES = 13, 6
"""So many lines fill the window's height, as many as there are. On a screen 20 cm high thirteen have letters
of 10 mm, which are read from three metres at 1/300 of the distance (common practice for signs, from memory);
more than that is scrolled to."""


LEADING = 1.25
"""Height of a line with the room below it, in heights of its letters."""


class MissingWindow(QDialog):
    """Follows the session while it is open; goes away with Esc."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self._view = SongView()
        self._passes: tuple[MissingPass, ...] = ()
        self.labels: list[TextLabel] = []
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle("Still missing")
        self.setAccessibleName("Still missing, in large type")
        self._page = QWidget()
        self._box = QVBoxLayout(self._page)
        scroll = QScrollArea()
        scroll.setWidget(self._page)
        scroll.setWidgetResizable(True)
        scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        outer = QVBoxLayout(self)
        outer.setContentsMargins(0, 0, 0, 0)
        outer.addWidget(scroll)
        outer.addWidget(TextLabel(theme, "Esc closes · F11 leaves and fills the screen", role="dim"))
        full = QShortcut(QKeySequence("F11"), self)
        full.activated.connect(self.toggle_full)
        self.setToolTip("What to shoot next. F11 fills the screen, Esc closes.")
        em = round(theme.em())
        self.resize(em * 45, em * 30)

    def show_shoot(self, shoot: SongView) -> None:
        """Show what a shoot lacks."""
        self._view, self._passes = shoot, still_missing(shoot)
        self._lay_out()

    def _lay_out(self) -> None:
        """Fill the page anew in letters as large as the window has room for."""
        shoot, passes = self._view, self._passes
        while self._box.count():
            item = self._box.takeAt(0)
            widget = None if item is None else item.widget()
            if widget is not None:
                widget.hide()
                widget.deleteLater()
        # Three lines for each pass, the last a small one; one for all of them together.
        lines = min(MOST_LINES, max(FEWEST_LINES, 2 + 3 * len(passes)))
        size = max(1.6, self.height() / lines / self._theme.em() / LEADING)
        self.labels = [TextLabel(self._theme, total_words(shoot, passes), size=size * 0.7, role="dim")]
        for number, one in enumerate(passes, 1):
            where, whom, why = missing_lines(one, shoot)
            self.labels.append(TextLabel(self._theme, f"{number}. {where}", size=size, bold=True))
            self.labels.append(TextLabel(self._theme, whom, size=size * 0.8))
            self.labels.append(TextLabel(self._theme, why, size=size * 0.5, role="dim"))
        for label in self.labels:
            self._box.addWidget(label)
        self._box.addStretch(1)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._lay_out()

    def toggle_full(self) -> None:
        """Fill the screen, or no longer."""
        self.setWindowState(self.windowState() ^ Qt.WindowState.WindowFullScreen)
