"""Keys and what they do, as two quiet columns."""

from collections.abc import Sequence

from PySide6.QtWidgets import QGridLayout, QWidget

from app.window.parts import theme as looks
from app.window.parts.actions import KeyLine
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme


class KeyList(QWidget):
    """A small table of keys."""

    def __init__(
        self,
        theme: Theme,
        lines: Sequence[KeyLine],
        *,
        size: float = looks.SMALL,
        wrap: bool = False,
        parent: QWidget | None = None,
    ) -> None:
        """``wrap``: what they do may take several lines where there is little width."""
        super().__init__(parent)
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(round(theme.em() * 0.9))
        grid.setVerticalSpacing(round(theme.em() * 0.3))
        grid.setColumnStretch(1, 1)
        for row, line in enumerate(lines):
            grid.addWidget(TextLabel(theme, line.keys, size=size, bold=True, wrap=False), row, 0)
            grid.addWidget(TextLabel(theme, line.text, size=size, role="dim", wrap=wrap), row, 1)
