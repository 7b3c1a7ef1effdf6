"""The fault that is proposed and one is at, in the side panel of the score: pictures, figure, what to do."""

from collections.abc import Sequence

from PySide6.QtCore import QSize
from PySide6.QtGui import QAction, QResizeEvent
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QVBoxLayout, QWidget

from app.model.document.marks import Mark
from app.model.fault_sentences import fault_sentence
from app.model.on_song import Clip
from app.window.parts import theme as looks
from app.window.parts import words
from app.window.parts.buttons import ActionButton
from app.window.parts.clip_pictures import Pictures
from app.window.parts.picture_box import PictureBox
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme
from app.window.score.mark_steps import Found
from app.window.score.proposal_steps import kind_of

BEFORE_S = 1.0
"""The picture to compare with is from so long before the fault, or after it where nothing is before."""
LEAST_EM, MOST_EM = 5, 14
"""Widths of a picture."""


class ProposalPanel(QWidget):
    """Seen only where one is at a proposal."""

    def __init__(self, theme: Theme, pictures: Pictures, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._em = em = round(theme.em())
        self._heading = TextLabel(theme, size=looks.TEXT, bold=True)
        self._place = TextLabel(theme, size=looks.SMALL, role="dim")
        self.sentence = TextLabel(theme)
        self._more = TextLabel(theme, size=looks.SMALL, role="dim")
        self.boxes = tuple(PictureBox(theme, pictures, em * LEAST_EM) for _ in range(2))
        self._named = tuple(TextLabel(theme, size=looks.SMALL, role="dim", wrap=False) for _ in range(2))
        self._pictures = QWidget()
        row = QHBoxLayout(self._pictures)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(em // 2)
        for box, name in zip(self.boxes, self._named, strict=True):
            column = QVBoxLayout()
            column.setSpacing(0)
            column.addWidget(box)
            column.addWidget(name)
            row.addLayout(column)
        row.addStretch(1)
        self._to_all: list[ActionButton] = []
        """Buttons that act on all of a kind."""
        self._buttons = QGridLayout()
        self._buttons.setSpacing(round(em * 0.4))
        page = QVBoxLayout(self)
        page.setContentsMargins(em, em, em, 0)
        page.setSpacing(em // 3)
        for widget in (self._heading, self._place, self._pictures, self.sentence, self._more):
            page.addWidget(widget)
        page.addLayout(self._buttons)
        self.hide()

    def add_buttons(self, actions: Sequence[QAction]) -> None:
        """Give actions their buttons: the first two in a row, the others, with longer words, below them."""
        for n, action in enumerate(actions):
            button = ActionButton(action)
            if n < 2:
                self._buttons.addWidget(button, 0, n)
            else:
                self._buttons.addWidget(button, n - 1, 0, 1, 2)
                self._to_all.append(button)

    def show_proposal(self, found: Found | None, alike: int, outside: int) -> None:
        """Show a proposal, of which kind there are so many, so many of them outside the score; None hides
        it."""
        self.setVisible(found is not None)
        if found is None:
            return
        clip, mark = found.clip, found.mark
        self._heading.setText(f"? Proposed: {kind_of(mark)}")
        self._place.setText(_place(found))
        self.sentence.setText(fault_sentence(mark) or mark.words.capitalize())
        others, elsewhere = alike - 1, outside - (found.take is None)
        some = f"{words.count(others, 'more', 'more')} of this kind" if others else "The only one of its kind"
        beyond = f", {elsewhere} of them outside the score" if elsewhere else ""
        self._more.setText(f"{some}{beyond}. It does not count until you accept it.")
        here_s = (mark.clip_start_s + mark.clip_end_s) / 2
        other_s, name = mark.clip_start_s - BEFORE_S, "before it"
        if other_s < 0:
            other_s, name = min(mark.clip_end_s + BEFORE_S, clip.duration_s), "after it"
        for box, label, at_s, said in zip(
            self.boxes, self._named, (here_s, other_s), ("in it", name), strict=True
        ):
            box.show_moment(clip, at_s)
            label.setText(said)
        self._pictures.setVisible(clip.frame_rate is not None)
        for button in self._to_all:
            button.setVisible(alike > 1)
        self.setAccessibleName(f"{self._heading.text()}. {self.sentence.text()}")

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        em = self._em
        wide = (self.width() - 2.5 * em) / 2
        for box in self.boxes:
            box.set_width(min(max(wide, LEAST_EM * em), MOST_EM * em))

    def minimumSizeHint(self) -> QSize:
        # Pictures as wide as the panel would not let it become narrower again.
        return QSize(0, super().minimumSizeHint().height())


def _place(found: Found) -> str:
    """Where a proposal lies: in the song, or in its clip where the score shows nothing of it."""
    clip, take, mark, _ = found
    if take is not None:
        start_s, end_s = (take.song_time(at_s) for at_s in (mark.clip_start_s, mark.clip_end_s))
        return f"{words.song_time(start_s, 1)}–{words.song_time(end_s, 1)} · {words.take_name(clip, take)}"
    span = f"{words.song_time(mark.clip_start_s, 1)}–{words.song_time(mark.clip_end_s, 1)} in the clip"
    return f"{span} · {words.file_name(clip)} · {_why_outside(clip, mark)}"


def _why_outside(clip: Clip, mark: Mark) -> str:
    if not clip.takes:
        return "the clip has no take"
    within = any(t.clip_start_s < mark.clip_end_s and mark.clip_start_s < t.clip_end_s for t in clip.takes)
    return "its angle is hidden" if within else "outside the take"
