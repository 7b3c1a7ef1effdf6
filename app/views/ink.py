"""A line of text in the window's ink: size, weight and colour by role."""

from PySide6.QtCore import Qt
from PySide6.QtGui import QPalette
from PySide6.QtWidgets import QLabel, QSizePolicy, QWidget

from app.views import theme as looks
from app.views.theme import Theme


class Ink(QLabel):
    """A label that follows the theme; wraps, and never reads its text as markup."""

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
        self._theme, self._role = theme, role
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setWordWrap(wrap)
        self.setFont(theme.font(size, bold=bold, italic=italic))
        if wrap:
            self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Minimum)
        theme.changed.connect(self._recolour)
        self._recolour()

    def set_role(self, role: str) -> None:
        """Show the text in another of the theme's colours."""
        self._role = role
        self._recolour()

    def _recolour(self) -> None:
        palette = QPalette(self.palette())
        palette.setColor(QPalette.ColorRole.WindowText, self._theme.colour(self._role))
        self.setPalette(palette)
