"""The sheet beside the score: who shows the chosen bar, who comes nearest, and the picture."""

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFrame, QScrollArea, QVBoxLayout, QWidget

from app.model.coverage import SectionCoverage
from app.model.shoot import Shoot
from app.views import theme as looks
from app.views import words
from app.views.angle_line import AngleLine
from app.views.bar_facts import BarFacts, Showing, bar_facts
from app.views.ink import Ink
from app.views.key_list import KeyList
from app.views.picture_box import PictureBox
from app.views.pictures import Pictures
from app.views.score_painter import Chosen
from app.views.theme import Theme


class BarPanel(QScrollArea):
    """Tells everything about one bar."""

    def __init__(
        self,
        theme: Theme,
        pictures: Pictures,
        keys: Sequence[tuple[str, str]],
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._theme = theme
        self.setWidgetResizable(True)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setObjectName("sheet")
        self.setAccessibleName("The chosen bar")
        sheet = QWidget()
        sheet.setObjectName("sheet")
        self.setWidget(sheet)
        box = QVBoxLayout(sheet)
        margin = round(theme.em())
        box.setContentsMargins(margin, margin, margin, margin)
        box.setSpacing(round(theme.em() * 0.4))
        self._moment = Ink(theme, size=looks.SMALL, role="dim")
        self._picture = PictureBox(theme, pictures, theme.em() * 10)
        self._bar = Ink(theme, size=looks.HEADING, bold=True)
        self._place = Ink(theme, size=looks.SMALL, role="dim")
        self._sentence = Ink(theme, size=looks.TEXT)
        for widget in (self._moment, self._picture, self._bar, self._place, self._sentence):
            box.addWidget(widget)
        self._lines = QVBoxLayout()
        self._lines.setSpacing(round(theme.em() * 0.5))
        box.addLayout(self._lines)
        box.addSpacing(margin)
        box.addWidget(Ink(theme, "Keys", italic=True))
        box.addWidget(KeyList(theme, keys))
        box.addStretch(1)
        theme.changed.connect(self._refresh)
        self._facts: BarFacts | None = None
        self.fit(0)

    def fit(self, window_width: float) -> None:
        """Take a fair part of a place of that width; the picture grows with it."""
        em = self._theme.em()
        width = min(max(0.22 * window_width, 20 * em), 40 * em, max(0.32 * window_width, 14 * em))
        self.setFixedWidth(round(width))
        # The scroll bar may come and go beside the picture.
        self._picture.set_width(width - 3 * em)

    def show_bar(self, shoot: Shoot, sections: Sequence[SectionCoverage], chosen: Chosen) -> None:
        """Tell of the chosen bar; the picture is that of the chosen angle where it has one."""
        facts = bar_facts(shoot, sections, chosen.bar) if chosen.bar is not None else None
        self._facts = facts
        self._refresh()
        if facts is None:
            self._picture.show_moment(None)
            return
        taken = (*facts.showing, *facts.doubtful, *facts.partly)
        entry = next((e for e in taken if e.angle.id == chosen.angle_id), None)
        if entry is None and chosen.angle_id is not None:
            name = next((a.name for a in shoot.angles if a.id == chosen.angle_id), "")
            self._moment.setText(f"{name} · nothing here")
            self._picture.show_moment(None, without=f"{name} has nothing in this bar")
            return
        entry = entry or (taken[0] if taken else None)
        self._show_picture(shoot, sections, facts.number, entry)

    @property
    def text(self) -> str:
        """What is told, as plain text (for the screen reader and for tests)."""
        if self._facts is None:
            return ""
        lines = [
            f"{e.angle.name}: {e.line}"
            for e in (*self._facts.showing, *self._facts.doubtful, *self._facts.partly)
        ]
        lines += [f"{n.angle.name}: {n.line}" for n in self._facts.near]
        return "\n".join([self._bar.text(), self._facts.sentence, *lines])

    def _show_picture(
        self, shoot: Shoot, sections: Sequence[SectionCoverage], number: int, entry: Showing | None
    ) -> None:
        if entry is None:
            self._moment.setText("")
            self._picture.show_moment(None, without="Nothing to see in this bar")
            return
        start_s = next(b.bar.start_s for s in sections for b in s.bars if b.bar.number == number)
        clip_s = max(entry.take.clip_time(start_s), entry.take.clip_start_s)
        self._moment.setText(
            f"{entry.angle.name} · {words.take_name(entry.clip, entry.take)} at {words.song_time(clip_s, 1)}"
        )
        self._picture.show_moment(entry.clip, clip_s)

    def _refresh(self) -> None:
        while (item := self._lines.takeAt(0)) is not None:
            widget = item.widget()
            if widget is not None:
                widget.hide()
                widget.deleteLater()
        facts = self._facts
        if facts is None:
            self._bar.setText("")
            self._place.setText("")
            self._sentence.setText("There is no song yet, so there are no bars.")
            return
        self._bar.setText(facts.place.partition(" · ")[0] if facts.whole else f"Bar {facts.number}")
        self._place.setText(facts.place)
        self._sentence.setText(facts.sentence)
        self._sentence.set_role("warm" if facts.thin else "ink")
        for entry in facts.showing:
            self._add(entry.angle.name, entry.line, entry.order, entry.angle.safety)
        if facts.doubtful:
            self._lines.addWidget(Ink(self._theme, "In doubt, not counted", italic=True, role="dim"))
            for entry in facts.doubtful:
                self._add(entry.angle.name, entry.line, entry.order, entry.angle.safety, "warm")
        if facts.partly:
            self._lines.addWidget(Ink(self._theme, "Only part of it", italic=True, role="dim"))
            for entry in facts.partly:
                self._add(entry.angle.name, entry.line, entry.order, entry.angle.safety)
        if facts.near:
            self._lines.addWidget(Ink(self._theme, "Nearest else", italic=True, role="dim"))
            for near in facts.near:
                self._add(near.angle.name, near.line, near.order, near.angle.safety)
        self.setAccessibleDescription(self.text)

    def _add(self, name: str, line: str, order: int, safety: bool, role: str = "dim") -> None:
        colours = self._theme.colours
        colour = colours.safety if safety else colours.angles[order % len(colours.angles)]
        self._lines.addWidget(AngleLine(self._theme, name, line, colour, role))
