"""Which hand-off suits: every format as a box to tick, beside it what the edit needs and what it is."""

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QGridLayout, QVBoxLayout, QWidget

from app.handoff.format import Format, Group
from app.handoff.registry import FORMATS
from app.model.on_song import SongView
from app.window.parts import theme as looks
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme
from app.window.parts.tick_box import TickBox

HELP = (
    "Not sure? Look at what your editing program can import. If it lists OpenTimelineIO, tick Timeline. If "
    "it lists only EDL, tick Event lists. If it lists neither, tick Copies with song timecode."
)
LEAST_TEXT_EM = 15
"""Width that the words beside the boxes need, in heights of a line of text."""


class FormatGuide(QWidget):
    """The formats in their groups; emits ``changed`` when a box is ticked or cleared."""

    changed = Signal()

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self._wide: bool | None = None
        self.boxes: dict[str, TickBox] = {}
        """By the word of the format."""
        self._help = TextLabel(theme, HELP, role="dim")
        self._groups = [TextLabel(theme, group.value, bold=True, wrap=False) for group in Group]
        for heading in self._groups:
            heading.setContentsMargins(0, round(theme.em() * 0.3), 0, 0)
        self._texts: dict[str, QWidget] = {}
        needs = ""
        for one in FORMATS:
            self.boxes[one.word] = self._tick(one)
            self._texts[one.word] = self._text("" if one.needs == needs else one.needs, one.gives)
            needs = one.needs
        em = round(theme.em())
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(em)
        self._grid.setColumnStretch(1, 1)
        self.arrange(wide=True)

    def offer(self, views: Sequence[SongView]) -> None:
        """Offer what a shoot has something to tell in, on any of its songs."""
        for one in FORMATS:
            for widget in (self.boxes[one.word], self._texts[one.word]):
                widget.setVisible(any(one.offered(view) for view in views))

    def chosen(self) -> frozenset[str]:
        """Words of the formats that are ticked, of those that are offered."""
        return frozenset(word for word, box in self.boxes.items() if box.isChecked() and not box.isHidden())

    def arrange(self, *, wide: bool) -> None:
        """Put the words beside the boxes, or below them where there is little room."""
        if wide == self._wide:
            return
        self._wide = wide
        while self._grid.count():
            self._grid.takeAt(0)
        grid = self._grid
        em = self._theme.em()
        indent, below = (0, 0) if wide else (round(em * 1.3), round(em * 0.5))
        grid.setVerticalSpacing(round(em * 0.35) if wide else 0)
        grid.addWidget(self._help, 0, 0, 1, 2)
        row = 1
        for group, heading in zip(Group, self._groups, strict=True):
            grid.addWidget(heading, row, 0, 1, 2)
            row += 1
            for one in FORMATS:
                if one.group is not group:
                    continue
                box, text = self.boxes[one.word], self._texts[one.word]
                text.setContentsMargins(indent, 0, 0, below)
                text.setMinimumWidth(round(em * LEAST_TEXT_EM) if wide else 0)
                if wide:
                    grid.addWidget(box, row, 0, Qt.AlignmentFlag.AlignTop)
                    grid.addWidget(text, row, 1)
                else:
                    grid.addWidget(box, row, 0, 1, 2)
                    row += 1
                    grid.addWidget(text, row, 0, 1, 2)
                row += 1
        self.updateGeometry()

    def _tick(self, one: Format) -> TickBox:
        box = TickBox(self._theme, one.label)
        box.setAccessibleName(one.name)
        box.setAccessibleDescription(f"{one.needs}. {one.gives}")
        key = f" (Alt+{one.label[one.label.index('&') + 1].upper()})" if "&" in one.label else ""
        box.setToolTip(f"{one.needs}: {one.gives.rstrip('.')}{key}")
        box.toggled.connect(self.changed)
        return box

    def _text(self, needs: str, gives: str) -> QWidget:
        held = QWidget()
        lines = QVBoxLayout(held)
        lines.setContentsMargins(0, 0, 0, 0)
        lines.setSpacing(0)
        if needs:
            lines.addWidget(TextLabel(self._theme, needs))
        else:
            lines.addStretch(1)
        lines.addWidget(TextLabel(self._theme, gives, size=looks.SMALL, role="dim"))
        lines.addStretch(1)
        return held
