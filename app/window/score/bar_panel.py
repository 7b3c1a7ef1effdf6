"""The side panel of the score: who shows the chosen bar or range, who comes nearest, and the picture."""

from collections.abc import Sequence
from dataclasses import replace

from PySide6.QtCore import Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QFrame, QScrollArea, QVBoxLayout, QWidget

from app.model.coverage.coverage import SectionCoverage
from app.model.coverage.staves import colour_round
from app.model.on_song import SongView
from app.window.parts import theme as looks
from app.window.parts import words
from app.window.parts.actions import KeyLine
from app.window.parts.clip_pictures import Pictures
from app.window.parts.key_list import KeyList
from app.window.parts.picture_box import PictureBox
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme
from app.window.score.angle_line import AngleLine
from app.window.score.bar_facts import Showing, bar_facts
from app.window.score.chosen import Chosen
from app.window.score.panel_text import DOUBTFUL, PanelText, bar_text, range_text


class BarPanel(QScrollArea):
    """Tells everything about one bar, or about a range of bars."""

    def __init__(
        self,
        theme: Theme,
        pictures: Pictures,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._theme = theme
        self.setWidgetResizable(True)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setObjectName("sidePanel")
        self.setAccessibleName("The selected bars")
        page = QWidget()
        page.setObjectName("sidePanel")
        self.setWidget(page)
        box = QVBoxLayout(page)
        margin = round(theme.em())
        box.setContentsMargins(margin, margin, margin, margin)
        box.setSpacing(round(theme.em() * 0.4))
        self.moment = TextLabel(theme, size=looks.SMALL, role="dim")
        self._picture = PictureBox(theme, pictures, theme.em() * 10)
        self._bar = TextLabel(theme, size=looks.HEADING, bold=True)
        self._place = TextLabel(theme, size=looks.SMALL, role="dim")
        self.sentence = TextLabel(theme, size=looks.TEXT)
        for widget in (self.moment, self._picture, self._bar, self._place, self.sentence):
            box.addWidget(widget)
        self._lines = QVBoxLayout()
        self._lines.setSpacing(round(theme.em() * 0.5))
        box.addLayout(self._lines)
        box.addSpacing(margin)
        box.addWidget(TextLabel(theme, "Keys", italic=True))
        self._keys = QVBoxLayout()
        box.addLayout(self._keys)
        box.addStretch(1)
        theme.changed.connect(self._refresh)
        self._text: PanelText | None = None

    def show_keys(self, lines: Sequence[KeyLine]) -> None:
        """List these keys at the end."""
        while (item := self._keys.takeAt(0)) is not None:
            widget = item.widget()
            if widget is not None:
                widget.hide()
                widget.deleteLater()
        self._keys.addWidget(KeyList(self._theme, lines, wrap=True))

    def show_picture(self, on: bool) -> None:
        """Show a picture of the moment, or leave it out."""
        self._picture.setVisible(on)
        self.moment.setVisible(on)

    def resizeEvent(self, event: QResizeEvent) -> None:
        # As wide as the panel, whether or not the scroll bar is there.
        bar = self.verticalScrollBar().sizeHint().width()
        em = self._theme.em()
        self._picture.set_width(max(4 * em, self.width() - bar - 2 * round(em)))
        super().resizeEvent(event)

    def show_bar(
        self,
        shoot: SongView,
        sections: Sequence[SectionCoverage],
        chosen: Chosen,
        take_id: str | None,
        missing: Sequence[str] = (),
    ) -> None:
        """Tell of the chosen bar or range, and what the plan lacks there (in a few words each); the picture
        is that of the take heard where it begins."""
        first = (chosen.span or (chosen.bar,))[0]
        facts = bar_facts(shoot, sections, first) if first is not None else None
        text = bar_text(facts) if facts is not None else None
        if chosen.span is not None:
            text = range_text(shoot, sections, *chosen.span) or text
        if text is not None and missing:
            lacking = " ".join(f"{one[:1].upper()}{one[1:]}." for one in missing)
            text = replace(text, sentence=f"{text.sentence} {lacking}", thin=True)
        if text is not None and words.to_be_placed(shoot):
            text = replace(text, thin=False)  # for now only: no cause for alarm
        if text != self._text:
            self._text = text
            # While it plays this comes with every bar: no half-filled panel is seen in between.
            self.setUpdatesEnabled(False)
            self._refresh()
            self.setUpdatesEnabled(True)
        if facts is None:
            self._picture.show_moment(None)
            return
        taken = (*facts.showing, *facts.doubtful, *facts.partly, *facts.sound)
        entry = next((e for e in taken if e.take.id == take_id), None)
        if entry is None and chosen.angle_id is not None:
            name = next((a.name for a in shoot.angles if a.id == chosen.angle_id), "")
            self.moment.setText(f"{name} · nothing here")
            self._picture.show_moment(None, without=f"{name} has nothing in this bar")
            return
        self._show_picture(shoot, sections, facts.number, entry)

    @property
    def text(self) -> str:
        """What is told, as plain text (for the screen reader and for tests)."""
        return self._text.plain if self._text is not None else ""

    def _show_picture(
        self, shoot: SongView, sections: Sequence[SectionCoverage], number: int, entry: Showing | None
    ) -> None:
        if entry is None:
            self.moment.setText("")
            self._picture.show_moment(None, without="Nothing to see in this bar")
            return
        start_s = next(b.bar.start_s for s in sections for b in s.bars if b.bar.number == number)
        clip_s = max(entry.take.clip_time(start_s), entry.take.clip_start_s)
        self.moment.setText(
            f"{entry.angle.name} · {words.take_name(entry.clip, entry.take)} at {words.song_time(clip_s, 1)}"
        )
        self._picture.show_moment(entry.clip, clip_s)

    def _refresh(self) -> None:
        while (item := self._lines.takeAt(0)) is not None:
            widget = item.widget()
            if widget is not None:
                widget.hide()
                widget.deleteLater()
        text = self._text
        if text is None:
            self._bar.setText("")
            self._place.setText("")
            self.sentence.setText("There is no song yet, so there are no bars.")
            return
        self._bar.setText(text.title)
        self._place.setText(text.place)
        self.sentence.setText(text.sentence)
        self.sentence.set_role("warm" if text.thin else "ink")
        for heading, entries in text.groups:
            if heading:
                self._lines.addWidget(TextLabel(self._theme, heading, italic=True, role="dim"))
            role = "warm" if heading == DOUBTFUL else "dim"
            for entry in entries:
                colour = self._theme.angle_colour(entry.angle)
                marks = 1 + colour_round(entry.angle.id)
                line = AngleLine(self._theme, entry.angle.name, entry.line, colour, marks, role)
                self._lines.addWidget(line)
        self.setAccessibleDescription(self.text)
