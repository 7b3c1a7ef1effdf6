"""What came of looking for moved files, one line a file."""

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDialog, QPlainTextEdit, QVBoxLayout, QWidget

from app.window.clips.moved_media import Sought
from app.window.parts import theme as looks
from app.window.parts import words
from app.window.parts.buttons import close_button
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme


class SoughtWindow(QDialog):
    """Tells which files were found, where, and why the others were not."""

    def __init__(self, theme: Theme, sought: Sequence[Sought], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle("Moved files")
        em = round(theme.em())
        self.resize(em * 46, em * 24)
        found = sum(bool(one.found) for one in sought)
        box = QVBoxLayout(self)
        box.setContentsMargins(em, em, em, em)
        box.setSpacing(em // 2)
        heading = f"{found} of {words.count(len(sought), 'missing file')} found"
        if not sought:
            heading = "No file is missing"
        box.addWidget(TextLabel(theme, heading, size=looks.LARGE, bold=True))
        box.addWidget(
            TextLabel(theme, "Files are matched by size and content, never by name alone.", role="dim")
        )
        self.list = QPlainTextEdit()
        self.list.setReadOnly(True)
        self.list.setTabChangesFocus(True)
        self.list.setAccessibleName("Result for each file")
        self.list.setToolTip("Result for each file; you can select and copy the text")
        self.list.setPlainText(
            "\n\n".join(_lines(one) for one in sorted(sought, key=lambda s: bool(s.found)))
        )
        box.addWidget(self.list, 1)
        box.addWidget(close_button(self))


def _lines(one: Sought) -> str:
    if one.found:
        return f"✓  {one.path}\n     is now at {one.found}"
    return f"✕  {one.path}\n     {one.why}"
