"""One angle while angles are named: its picture, its name, and its clips."""

from PySide6.QtCore import QStringListModel, Qt, Signal
from PySide6.QtWidgets import QCompleter, QFrame, QHBoxLayout, QLineEdit, QVBoxLayout, QWidget

from app.model.naming import NEW_ANGLE, Entry
from app.model.on_song import Clip
from app.model.timebase import rate_words
from app.window.clips.naming_clips import NamingClips, shown_moment
from app.window.parts import theme as looks
from app.window.parts import words
from app.window.parts.clip_pictures import Pictures
from app.window.parts.picture_box import PictureBox
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme

LEAST_EM, MOST_EM = 12, 24
"""Widths of a picture."""
TIP = "What this camera shows, such as Singer close; the same name twice makes one angle (Enter: next)"


class NamingRow(QFrame):
    """A picture, a field for the name, and the clips."""

    typed = Signal(str)
    done = Signal()
    """Enter was pressed in the field."""
    dropped = Signal(object)
    """Ids of clips that were dropped here, a list."""

    def __init__(self, theme: Theme, pictures: Pictures, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme, em = theme, theme.em()
        self._picture = PictureBox(theme, pictures, em * LEAST_EM)
        self.field = QLineEdit()
        self.field.setFont(theme.font(looks.LARGE))
        self.field.setToolTip(TIP)
        self.field.setAcceptDrops(False)  # it would take the names of dragged clips as text
        self.field.textEdited.connect(self.typed)
        self.field.returnPressed.connect(self.done)
        self._offered = QStringListModel(self)
        completer = QCompleter(self._offered, self.field)
        completer.setCaseSensitivity(Qt.CaseSensitivity.CaseInsensitive)
        self.field.setCompleter(completer)
        self._facts = TextLabel(theme, size=looks.SMALL, role="dim")
        self.clips = NamingClips(theme, pictures)
        self.clips.dropped.connect(self.dropped)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(round(em))
        row.addWidget(self._picture, 0, Qt.AlignmentFlag.AlignTop)
        column = QVBoxLayout()
        column.setSpacing(round(em * 0.3))
        head = QHBoxLayout()
        head.setSpacing(round(em))
        self.field.setFixedWidth(round(em * 20))
        head.addWidget(self.field)
        head.addWidget(self._facts, 1)
        column.addLayout(head)
        column.addWidget(self.clips)
        column.addStretch(1)
        row.addLayout(column, 1)

    @property
    def facts(self) -> str:
        """What is told of the clips."""
        return self._facts.text()

    def fit_picture(self, height: float) -> None:
        """Make the picture about that high (pixels), as far as it may."""
        em = self._theme.em()
        self._picture.set_width(min(max(height * 16 / 9, LEAST_EM * em), MOST_EM * em))

    def show_entry(self, entry: Entry, names: list[str]) -> None:
        """Show an entry; ``names`` are those of angles there are, offered while one types."""
        called = entry.known_as or NEW_ANGLE
        if entry.set_up:
            called += f", set-up {entry.set_up}"
        if self.field.text().strip() != entry.name:
            self.field.setText(entry.name)
        same = f"Same angle as {entry.like}" if entry.like else "Same angle as the row above"
        self.field.setPlaceholderText(same if entry.like or entry.set_up > 1 else called)
        self.field.setAccessibleName(f"Name of {called}")
        self.clips.setAccessibleName(f"Clips of {called}")
        self.setAccessibleName(called)
        self._offered.setStringList(names)
        self._facts.setText(_facts(entry, called))
        best = max(entry.clips, key=lambda clip: (clip.frame_rate is not None, _shown_s(clip)))
        self._picture.show_moment(best, shown_moment(best))
        self.clips.show_clips(entry.clips)


def _shown_s(clip: Clip) -> float:
    return sum(take.clip_end_s - take.clip_start_s for take in clip.takes)


def _facts(entry: Entry, called: str) -> str:
    """How many clips, and what is known of their camera."""
    parts = [called, words.count(len(entry.clips), "clip")]
    made = {" ".join(filter(None, (clip.make, clip.model))) for clip in entry.clips}
    if len(made) == 1 and (only := made.pop()):
        parts.append(only)
    shown = {(c.width, c.height, c.frame_rate) for c in entry.clips if c.frame_rate is not None}
    if len(shown) == 1:
        width, height, rate = shown.pop()
        parts.append(f"{width}×{height}, {rate_words(rate)} fps" if rate is not None else "")
    elif not shown and all(clip.duration_s for clip in entry.clips):
        parts.append("sound only")
    if entry.sure:
        # Never 100 %: looks alone cannot be that sure.
        looks_like = f"looks like the same set-up as {entry.like}" if entry.like else "looks like one set-up"
        parts.append(f"{looks_like}, {min(99, round(100 * entry.sure))} %")
    return " · ".join(filter(None, parts))
