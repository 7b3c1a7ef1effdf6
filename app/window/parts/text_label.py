"""A line of text: size, weight, and a colour by its role."""

from PySide6.QtCore import QSize, Qt
from PySide6.QtWidgets import QLabel, QWidget

from app.window.parts import theme as looks
from app.window.parts.theme import Theme


class TextLabel(QLabel):
    """A label whose colour the window's style sheet gives by its role; it never reads its text as markup."""

    def __init__(
        self,
        theme: Theme,
        text: str = "",
        *,
        size: float = looks.TEXT,
        role: str = "ink",
        bold: bool = False,
        italic: bool = False,
        wrap: bool = True,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(text, parent)
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setWordWrap(wrap)
        self.setFont(theme.font(size, bold=bold, italic=italic))
        self.setProperty("role", role)

    def minimumSizeHint(self) -> QSize:
        """Qt would ask for the height of the text in its narrowest column, and the window would outgrow the
        screen; as it is laid out, a text that wraps gets the height that it needs at its width."""
        hint = super().minimumSizeHint()
        if self.wordWrap():
            hint.setHeight(min(hint.height(), self.fontMetrics().height()))
        return hint

    def set_role(self, role: str) -> None:
        """Show the text in another of the theme's colours."""
        if role != self.property("role"):
            self.setProperty("role", role)
            self.style().unpolish(self)
            self.style().polish(self)
