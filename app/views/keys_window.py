"""Help: the keys of the window and of each place."""

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDialog, QDialogButtonBox, QGridLayout, QVBoxLayout, QWidget

from app.views import theme as looks
from app.views.ink import Ink
from app.views.key_list import KeyList
from app.views.theme import Theme

Keys = Sequence[tuple[str, str]]


class KeysWindow(QDialog):
    """Lists the keys, grouped by place; goes away with Esc."""

    def __init__(
        self, theme: Theme, groups: Sequence[tuple[str, Keys]], parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle("Keys")
        em = round(theme.em())
        box = QVBoxLayout(self)
        box.setContentsMargins(em, em, em, em)
        grid = QGridLayout()
        grid.setHorizontalSpacing(em * 3)
        grid.setVerticalSpacing(em)
        for n, (name, keys) in enumerate(groups):
            column = QVBoxLayout()
            column.addWidget(Ink(theme, name, size=looks.LARGE, bold=True))
            column.addWidget(KeyList(theme, keys, size=looks.TEXT))
            column.addStretch(1)
            grid.addLayout(column, n // 3, n % 3)
        box.addLayout(grid)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        buttons.rejected.connect(self.close)
        box.addWidget(buttons)
