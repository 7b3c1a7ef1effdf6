"""Help: the way from the song to the hand-off, and a word about ears."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDialog, QFrame, QScrollArea, QVBoxLayout, QWidget

from app.window.parts import theme as looks
from app.window.parts.buttons import close_button
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme

PARTS = (
    (
        "Clips",
        "Drop the song and the folder of clips anywhere in the window. Files are only read. Every clip is "
        "heard and gets a verdict: placed, in doubt, no song, or unreadable, with the reason beside it. "
        "While you shoot, a folder can be watched: what is copied to it is placed by itself.",
    ),
    (
        "Check",
        "Look at what is in doubt: see and hear where the take could lie, choose, or say that it is not this "
        "song. Look at the first and the last take of the shoot too, before you trust the rest. What you "
        "decide is never overwritten.",
    ),
    (
        "Score",
        "The song bar by bar, with every angle that covers it. Hatched bars are rests: nobody is there. Thin "
        "places are named in the margin; T goes from one to the next.",
    ),
    (
        "Hand-off",
        "Write the timeline and the table for the editing program. Clips stay where they are.",
    ),
    (
        "Mind your ears",
        "Start listening quietly, above all with headphones: a camera beside a drum kit records peaks far "
        "above the talk before them. Turn up slowly, and take breaks.",
    ),
    (
        "Nothing is lost",
        "Changes are kept in a safe copy about every two seconds. If Anglebook or the computer stops, you "
        "are asked at the next start. Every step can be undone.",
    ),
)


class HowWindow(QDialog):
    """A page to read; goes away with Esc."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle("How it goes")
        em = round(theme.em())
        shown = QWidget()
        page = QVBoxLayout(shown)
        page.setSpacing(em // 3)
        for name, text in PARTS:
            page.addWidget(TextLabel(theme, name, size=looks.LARGE, bold=True))
            page.addWidget(TextLabel(theme, text))
            page.addSpacing(em // 2)
        page.addStretch(1)
        scroll = QScrollArea()
        scroll.setWidget(shown)
        scroll.setWidgetResizable(True)
        scroll.setFrameShape(QFrame.Shape.NoFrame)
        scroll.setAccessibleName("How it goes")
        box = QVBoxLayout(self)
        box.setContentsMargins(em, em, em, em)
        box.addWidget(scroll, 1)
        box.addWidget(close_button(self))
        self.resize(em * 46, min(em * 44, self.screen().availableGeometry().height() - 4 * em))
