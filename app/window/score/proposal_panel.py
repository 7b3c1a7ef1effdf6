"""The fault that is proposed and one is at, in the side panel of the score: pictures, figure, what to do."""

from collections.abc import Sequence

from PySide6.QtCore import QSize
from PySide6.QtGui import QAction, QResizeEvent
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QVBoxLayout, QWidget

from app.model.document.marks import Mark
from app.model.fault_sentences import fault_sentence
from app.model.on_song import Clip, Take
from app.window.parts import theme as looks
from app.window.parts import words
from app.window.parts.buttons import ActionButton
from app.window.parts.clip_pictures import Pictures
from app.window.parts.picture_box import PictureBox
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme
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
            if n < 2:
                self._buttons.addWidget(ActionButton(action), 0, n)
            else:
                self._buttons.addWidget(ActionButton(action), n - 1, 0, 1, 2)

    def show_proposal(self, found: tuple[Clip, Take, Mark] | None, alike: int) -> None:
        """Show a proposal, of which kind there are so many; None hides it."""
        self.setVisible(found is not None)
        if found is None:
            return
        clip, take, mark = found
        self._heading.setText(f"? Proposed: {kind_of(mark)}")
        start_s, end_s = (take.song_time(at_s) for at_s in (mark.clip_start_s, mark.clip_end_s))
        span = f"{words.song_time(start_s, 1)}–{words.song_time(end_s, 1)}"
        self._place.setText(f"{span} · {words.take_name(clip, take)}")
        self.sentence.setText(fault_sentence(mark) or mark.words.capitalize())
        others = alike - 1
        some = f"{words.count(others, 'more', 'more')} of this kind" if others else "The only one of its kind"
        self._more.setText(f"{some}. It does not count until you accept it.")
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
