"""What is left out of the score by a filter, and the line that says so."""

from collections.abc import Callable
from dataclasses import replace

from PySide6.QtGui import QAction
from PySide6.QtWidgets import QHBoxLayout, QWidget

from app.model.angles import same_name
from app.model.coverage.subjects import known_subjects
from app.model.on_song import SongView
from app.window.parts import theme as looks
from app.window.parts.buttons import ActionButton
from app.window.parts.dialogs import Dialogs
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme
from app.window.score.score_canvas import ScoreCanvas
from app.window.score.score_shown import Shown

EVERY = "All subjects"


class ScoreFilters(QWidget):
    """Sets filters; seen only while one is on, with a way to leave it."""

    def __init__(
        self,
        theme: Theme,
        canvas: ScoreCanvas,
        dialogs: Dialogs,
        changed: Callable[[], None],
        parent: QWidget | None = None,
    ) -> None:
        """``changed`` is called after each change of what is shown."""
        super().__init__(parent)
        self._canvas, self._dialogs, self._changed = canvas, dialogs, changed
        self._subjects: tuple[str, ...] = ()
        self.note = TextLabel(theme, size=looks.SMALL, role="warm", wrap=False)
        self._row = QHBoxLayout(self)
        self._row.setContentsMargins(0, 0, 0, 0)
        self._row.setSpacing(round(theme.em() * 0.6))
        self._row.addWidget(self.note)
        self._row.addStretch(1)
        self.hide()

    def add_button(self, action: QAction) -> None:
        """Give the action that ends all filters its button."""
        button = ActionButton(action)
        self._row.insertWidget(1, button)

    def show_shoot(self, shoot: SongView) -> None:
        """Offer the subjects of this shoot; a filter for one that is gone ends."""
        needed = tuple(need.subject for need in shoot.plan.needs)
        self._subjects = known_subjects(shoot.angles, needed)
        subject = self._canvas.shown.subject
        if subject and not any(same_name(subject, one) for one in self._subjects):
            self._set(replace(self._canvas.shown, subject=""))

    def toggle_usable(self) -> None:
        """Leave out what cannot be used, or show it again."""
        self._set(replace(self._canvas.shown, usable=not self._canvas.shown.usable))

    def toggle_confirmed(self) -> None:
        """Leave out what nobody confirmed, or show it again."""
        self._set(replace(self._canvas.shown, confirmed=not self._canvas.shown.confirmed))

    def choose_subject(self) -> None:
        """Ask for the subject to show."""
        answers = (EVERY, *self._subjects)
        answer = self._dialogs.choose_one("One subject", "Show which angles?", answers)
        if answer is not None:
            self._set(replace(self._canvas.shown, subject=answers[answer] if answer else ""))

    def end(self) -> None:
        """Show everything again."""
        shown = self._canvas.shown
        self._set(Shown(silent=shown.silent, needs=shown.needs, first_pass=shown.first_pass))

    def _set(self, shown: Shown) -> None:
        self._canvas.show_only(shown)
        text = f"Filter: {shown.words}. Figures still count everything." if shown.filtered else ""
        self.note.setText(text)
        self.note.setAccessibleName(text)
        self.setVisible(shown.filtered)
        self._changed()
