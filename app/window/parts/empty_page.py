"""What a place shows as long as it has nothing to show: what to do, in three plain lines."""

from collections.abc import Sequence

from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from app.window.parts import theme as looks
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme


class EmptyPage(QWidget):
    """A heading, a few lines, and room for buttons below them."""

    def __init__(
        self,
        theme: Theme,
        heading: str,
        lines: Sequence[str],
        buttons: Sequence[QWidget] = (),
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self.buttons = tuple(buttons)
        em = round(theme.em())
        page = QVBoxLayout()
        page.setSpacing(round(em * 0.7))
        page.addStretch(3)
        page.addWidget(TextLabel(theme, heading, size=looks.HEADING, bold=True))
        page.addSpacing(em // 2)
        self.lines = [TextLabel(theme, line, size=looks.LARGE) for line in lines]
        for line in self.lines:
            page.addWidget(line)
        if buttons:
            page.addSpacing(em)
            row = QHBoxLayout()
            row.setSpacing(em)
            for button in buttons:
                row.addWidget(button)
            row.addStretch(1)
            page.addLayout(row)
        page.addStretch(4)
        box = QHBoxLayout(self)
        box.setContentsMargins(em * 3, em * 2, em * 3, em * 2)
        box.addStretch(1)
        box.addLayout(page, 8)
        box.addStretch(1)
        self.setAccessibleName(heading)
        self.setAccessibleDescription(" ".join(lines))
