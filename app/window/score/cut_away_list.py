"""Where to cut away from a fault: the takes that can be shown instead, in the side panel of the score."""

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QFrame, QListWidget, QVBoxLayout, QWidget

from app.model.coverage.cut_aways import CutAway, cut_aways
from app.model.coverage.usable import usable_takes
from app.model.on_song import SongView, Take
from app.window.parts import theme as looks
from app.window.parts import words
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme

MOST_SEEN = 5
"""So many entries are seen at once; further ones are scrolled to."""

AFTER_S = 1.0
"""So much is played after the fault, to see how the cut back would be."""


class CutAwayList(QWidget):
    """Keepers first, safeties last; seen only where one is at a fault."""

    wanted = Signal(str, float, float)
    """Enter or a click: play this take from where the fault begins to a little after its end (song, s)."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.options: tuple[CutAway, ...] = ()
        self._start_s = self._end_s = 0.0
        em = round(theme.em())
        self._em = em
        self.heading = TextLabel(theme, size=looks.TEXT, bold=True)
        self.list = QListWidget()
        self.list.setAccessibleName("Where to cut away")
        self.list.setToolTip("Enter or a click plays that take over the fault, and a second more.")
        self.list.setFrameShape(QFrame.Shape.NoFrame)
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.list.setWordWrap(True)
        self.list.itemActivated.connect(self._on_chosen)
        self.list.itemClicked.connect(self._on_chosen)
        box = QVBoxLayout(self)
        box.setContentsMargins(em, em, em, 0)
        box.setSpacing(em // 3)
        box.addWidget(self.heading)
        box.addWidget(self.list)
        self.hide()

    def show_stretch(self, shoot: SongView, stretch: tuple[Take, float, float] | None) -> None:
        """Show what can be cut to over a fault of a take, between two moments of the song; None hides it."""
        self.setVisible(stretch is not None)
        if stretch is None:
            self.options = ()
            return
        take, start_s, end_s = stretch
        self._start_s, self._end_s = start_s, end_s
        self.options = cut_aways(shoot, usable_takes(shoot), start_s, end_s, take.id)
        span = f"{words.song_time(start_s, 1)}–{words.song_time(end_s, 1)}"
        self.heading.setText(
            f"Fault at {span}: cut away to" if self.options else f"Fault at {span}: nothing to cut away to"
        )
        lines = _lines(shoot, self.options, end_s - start_s)
        if lines != [self.list.item(n).text() for n in range(self.list.count())]:
            self.list.clear()
            self.list.addItems(lines)
            self.list.setCurrentRow(0)
        high = self.list.sizeHintForRow(0) if lines else 0
        self.list.setFixedHeight(high * min(len(lines), MOST_SEEN) + 4)
        self.list.setVisible(bool(lines))

    def _on_chosen(self) -> None:
        row = self.list.currentRow()
        if 0 <= row < len(self.options):
            self.wanted.emit(self.options[row].take_id, self._start_s, self._end_s + AFTER_S)


def _lines(shoot: SongView, options: Sequence[CutAway], length_s: float) -> list[str]:
    """Each take by name, and how much of the fault it covers."""
    takes = {take.id: (clip, take) for clip in shoot.clips for take in clip.takes}
    names = {angle.id: angle.name for angle in shoot.angles}
    found = []
    for one in options:
        parts = [words.take_name(*takes[one.take_id])]
        parts += ["★ keeper"] if one.keeper_s else []
        parts += ["safety"] if one.safety else []
        parts.append("all of it" if one.wholly else f"{100 * one.usable_s / length_s:.0f} % of it")
        found.append(f"{names.get(one.angle_id, '')}\n{' · '.join(parts)}")
    return found
