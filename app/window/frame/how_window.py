"""Help: the quick guide from the song to the hand-off, and a word about ears."""

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDialog, QFrame, QScrollArea, QVBoxLayout, QWidget

from app.window.parts import theme as looks
from app.window.parts.buttons import close_button
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme

PARTS = (
    (
        "Clips",
        "Drop the song and the folder of clips anywhere in the window. Files are only read. Anglebook "
        "listens to every clip and gives it a verdict: placed, in doubt, no song, or unreadable, with the "
        "reason next to it. Space plays the selected clip. While you shoot, watch a folder: clips you copy "
        "into it are placed automatically.",
    ),
    (
        "Plan",
        "Before the shoot, say who must be seen where: click a cell of the grid. While you shoot, "
        "Still missing lists what to shoot next, with minutes, while the band is there. Sheets to print are "
        "made here, too.",
    ),
    (
        "Check",
        "Go through the takes in doubt: see and hear where each could be, choose a place, or mark it as not "
        "this song. Check the first and the last take of the shoot too, before you trust the rest. Your "
        "decisions are never overwritten.",
    ),
    (
        "Score",
        "The song bar by bar, with every angle that covers it. Hatched bars are rests: no clip covers "
        "them. Thin places are named in the margin; T goes from one to the next.",
    ),
    (
        "Hand-off",
        "Write the timeline and tables for your editing program. Your clips stay where they are.",
    ),
    (
        "Mind your ears",
        "Start listening quietly, above all with headphones: a camera beside a drum kit records peaks far "
        "above the talk before them. Turn up slowly, and take breaks.",
    ),
    (
        "Nothing is lost",
        "Unsaved changes are backed up about every two seconds. After a crash you can restore them at the "
        "next start. Every step can be undone.",
    ),
)


class HowWindow(QDialog):
    """A page to read; goes away with Esc."""

    def __init__(
        self,
        theme: Theme,
        parent: QWidget | None = None,
        *,
        title: str = "Quick guide",
        parts: Sequence[tuple[str, str]] = PARTS,
    ) -> None:
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle(title)
        em = round(theme.em())
        shown = QWidget()
        page = QVBoxLayout(shown)
        page.setSpacing(em // 3)
        for name, text in parts:
            page.addWidget(TextLabel(theme, name, size=looks.LARGE, bold=True))
            page.addWidget(TextLabel(theme, text))
            page.addSpacing(em // 2)
        page.addStretch(1)
        scroll = QScrollArea()
        scroll.setWidget(shown)
        scroll.setWidgetResizable(True)
        scroll.setFrameShape(QFrame.Shape.NoFrame)
        scroll.setAccessibleName(title)
        box = QVBoxLayout(self)
        box.setContentsMargins(em, em, em, em)
        box.addWidget(scroll, 1)
        box.addWidget(close_button(self))
        self.resize(em * 46, min(em * 44, self.screen().availableGeometry().height() - 4 * em))
