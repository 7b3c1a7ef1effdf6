"""Help: what this program is."""

from PySide6.QtCore import Qt, qVersion
from PySide6.QtWidgets import QDialog, QVBoxLayout, QWidget

from app.window.parts import theme as looks
from app.window.parts.buttons import close_button
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme

LINES = (
    "Finds where each clip runs in the song, shows which bars no camera covers, and writes the files for "
    "your edit.",
    "Your clips and the song are only read; nothing is written next to them. Nothing leaves this computer.",
    "Free software under the MIT licence.",
)


class AboutWindow(QDialog):
    """Name, version, and what it does with your files."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle("About Anglebook")
        em = round(theme.em())
        self.setMinimumWidth(em * 30)
        box = QVBoxLayout(self)
        box.setContentsMargins(em * 2, em * 2, em * 2, em)
        box.setSpacing(em)
        box.addWidget(TextLabel(theme, "Anglebook", size=looks.HEADING, italic=True))
        box.addWidget(TextLabel(theme, f"Version {_version()}, with Qt {qVersion()}", role="dim"))
        for line in LINES:
            box.addWidget(TextLabel(theme, line))
        box.addWidget(close_button(self))


def version_words() -> str:
    """Name and version of the program."""
    return f"Anglebook {_version()}"


def _version() -> str:
    from importlib.metadata import PackageNotFoundError, version  # not needed to start the window

    try:
        return version("anglebook")
    except PackageNotFoundError:
        return "not installed"
