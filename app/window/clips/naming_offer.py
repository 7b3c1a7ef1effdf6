"""A line in Clips that tells of angles without a name, with the button to name them; and when to ask."""

from PySide6.QtGui import QAction
from PySide6.QtWidgets import QHBoxLayout, QWidget

from app.model.coverage.coverage import unnamed_angles
from app.model.on_song import SongView
from app.window.parts import words
from app.window.parts.buttons import ActionButton
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme


class NamingOffer(QWidget):
    """Seen only while angles have no name."""

    def __init__(self, theme: Theme, name: QAction, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._offered: set[str] = set()
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(round(theme.em()))
        self._text = TextLabel(theme, role="warm")
        row.addWidget(self._text, 1)
        row.addWidget(ActionButton(name))

    @property
    def text(self) -> str:
        """What is told now."""
        return self._text.text()

    def show_shoot(self, shoot: SongView) -> None:
        """Tell how many angles wait for a name."""
        unnamed = unnamed_angles(shoot)
        self.setVisible(bool(unnamed))
        self._text.setText(
            f"?  {words.count(len(unnamed), 'angle')} not named yet: each is what one camera shot."
        )

    def is_due(self, shoot: SongView) -> bool:
        """Whether to ask now: once all clips are placed, and about the same angles only once."""
        self.show_shoot(shoot)
        unnamed = {angle.id for angle in unnamed_angles(shoot)}
        if words.to_be_placed(shoot) or shoot.song is None or unnamed <= self._offered:
            return False
        self._offered |= unnamed
        return True

    def forget(self, shoot: SongView) -> None:
        """Another shoot was opened; nobody is asked by opening it."""
        self._offered = {angle.id for angle in shoot.angles if not angle.named}
