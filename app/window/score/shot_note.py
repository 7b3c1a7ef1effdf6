"""The shot under the cursor: why the first pass shows it, and what else can be used, in the side panel."""

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QFrame, QVBoxLayout, QWidget

from app.model.coverage.passages import bars_words
from app.model.first_pass.result import Shot
from app.model.first_pass.solver import FIRST_PASS
from app.model.on_song import Clip, SongView, Take
from app.window.parts import theme as looks
from app.window.parts import words
from app.window.parts.keyed_list import KeyedList
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme
from app.window.score.cut_shown import CutShown

MOST_SEEN = 4
"""So many other takes are seen at once; further ones are scrolled to."""


class ShotNote(QWidget):
    """Seen only while the first pass is."""

    wanted = Signal(str)
    """Enter or a click: this take is to be seen instead; its id."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.others: tuple[str, ...] = ()
        """Ids of the takes that are listed."""
        em = round(theme.em())
        self.heading = TextLabel(theme, bold=True)
        self.reason = TextLabel(theme, size=looks.SMALL)
        self.trouble = TextLabel(theme, size=looks.SMALL, role="warm")
        self.state = TextLabel(theme, size=looks.SMALL, role="dim")
        self._instead = TextLabel(theme, size=looks.SMALL, role="dim", italic=True)
        self.list = KeyedList()
        self.list.setAccessibleName("Other takes for this shot")
        self.list.setToolTip("Enter or a click locks the bars of this shot to that take (Q takes the next)")
        self.list.setFrameShape(QFrame.Shape.NoFrame)
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.list.itemActivated.connect(self._on_chosen)
        self.list.itemClicked.connect(self._on_chosen)
        box = QVBoxLayout(self)
        box.setContentsMargins(em, em // 2, em, 0)
        box.setSpacing(em // 4)
        for widget in (self.heading, self.reason, self.trouble, self._instead, self.list, self.state):
            box.addWidget(widget)
        self.hide()

    @property
    def text(self) -> str:
        """All that is told, as plain text."""
        told = (self.heading, self.reason, self.trouble, self.state)
        return "\n".join(label.text() for label in told if label.text())

    def show_shot(self, view: SongView, shown: CutShown, shot: Shot | None, bar: int) -> None:
        """Tell of a shot of the first pass, or of a bar in which it has none."""
        cut = shown.cut
        if cut is None:
            self._tell("First pass", shown.words, "", "", ())
            return
        takes = {take.id: (clip, take) for clip in view.clips for take in clip.takes}
        first, last = (bar, bar) if shot is None else (shot.first_bar, shot.last_bar)
        heading = f"First pass: {'no picture' if shot is None else shown.name(shot.angle_id)}"
        heading += f", {bars_words(first, last)}"
        troubles = shown.troubles(first, last)
        self.others = other_takes(view, shot)
        lines = [_line(shown, *takes[one]) for one in self.others if one in takes]
        told = "\n".join(f"! {one.words[:1].upper()}{one.words[1:]}." for one in troubles)
        self._tell(heading, "" if shot is None else f"Why: {shot.reason}", told, _state(shown), lines)

    def end(self) -> None:
        """Tell nothing."""
        self.others = ()
        self.hide()

    def _tell(self, heading: str, reason: str, trouble: str, state: str, lines: Sequence[str]) -> None:
        for label, text in (
            (self.heading, heading),
            (self.reason, reason),
            (self.trouble, trouble),
            (self.state, state),
            (self._instead, "Also usable here:" if lines else ""),
        ):
            label.setText(text)
            label.setVisible(bool(text))
        if list(lines) != [self.list.item(n).text() for n in range(self.list.count())]:
            self.list.clear()
            self.list.addItems(list(lines))
            self.list.setCurrentRow(0)
        high = self.list.sizeHintForRow(0) if lines else 0
        self.list.setFixedHeight(high * min(len(lines), MOST_SEEN) + 4)
        self.list.setVisible(bool(lines))
        self.setAccessibleName(self.text)
        self.show()

    def _on_chosen(self) -> None:
        row = self.list.currentRow()
        if 0 <= row < len(self.others):
            self.wanted.emit(self.others[row])


def other_takes(view: SongView, shot: Shot | None) -> tuple[str, ...]:
    """Ids of the takes by which a shot can be swapped, the next best first."""
    if shot is None:
        return ()
    known = {take.id for clip in view.clips for take in clip.takes}
    return tuple(one for one in shot.others if one in known)


def _state(shown: CutShown) -> str:
    """What there is to say of the whole first pass: whose rules, how many shots, what is not satisfied."""
    cut = shown.cut
    if cut is None:
        return ""
    parts = [
        "usual rules" if cut.name == FIRST_PASS else f"“{cut.name}”",
        words.count(len(cut.shots), "shot"),
    ]
    count = len(cut.unsatisfied)
    parts.append(f"{words.count(count, 'passage')} not satisfied" if count else "every rule satisfied")
    return " · ".join(parts)


def _line(shown: CutShown, clip: Clip, take: Take) -> str:
    safety = clip.angle_id in shown.angles and shown.angles[clip.angle_id].safety
    parts = [shown.name(clip.angle_id), words.take_name(clip, take), *(["safety"] if safety else [])]
    return " · ".join(parts)
