"""What all places of the window share: they follow the session, but only while they are seen."""

from PySide6.QtCore import QTimer
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QWidget
from shiboken6 import isValid

from app.model.document.change import NOTHING, Change
from app.window.parts.actions import ActionTable, KeyLine
from app.window.parts.theme import Theme
from app.window.session import EVERYTHING, Session

LOW_EM = 36
"""A place lower than so many lines of text has none to spare: what can wait in a menu does."""
THINNED_MS = 40
"""Changes that follow each other faster than this are shown together."""


class Place(QWidget):
    """One of the places listed at the left."""

    title = ""
    space_plays = False
    """The space bar plays even while a button has the keyboard; Enter presses that."""
    action_table: ActionTable
    """What can be done here; every place makes its own."""

    def __init__(self, session: Session, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.session, self.theme = session, theme
        self._stale = EVERYTHING
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.setInterval(THINNED_MS)
        self._timer.timeout.connect(self.catch_up)
        self.setAccessibleName(self.title)
        session.changed.connect(self._on_session_changed)

    def refresh(self, change: Change) -> None:
        """Show the shoot as it is now; ``change`` tells what differs from what was shown before."""

    def concerns(self, change: Change, origin: str) -> Change:
        """What of a change this place has to show; told of each at once, seen or not."""
        return change

    def key_lines(self) -> list[KeyLine]:
        """The keys of this place and what they do, for the page of keys."""
        return self.action_table.page

    def driven_from(self) -> QWidget:
        """The control that the keyboard belongs to here."""
        return self

    def toggle_own(self) -> bool:
        """Play or pause what this place plays by itself; False where it plays the song, as all others do."""
        return False

    @property
    def is_low(self) -> bool:
        """Whether it has few lines of text in height, as in large type on a small screen."""
        return self.height() < LOW_EM * self.theme.em()

    def take_focus(self) -> None:
        """Put the keyboard where this place is driven from.

        As long as that is not to be seen, the place itself keeps the keyboard: Qt would give it to whatever
        comes next in the window, such as the button that stops what is being done.
        """
        wanted = self.driven_from()
        (wanted if wanted.isVisibleTo(self) else self).setFocus()

    def catch_up(self) -> None:
        """Show at once what is waiting to be shown."""
        self._timer.stop()
        change, self._stale = self._stale, NOTHING
        if change:
            focused: QWidget | None = self.window().focusWidget()
            waits = focused is self
            if focused is not None and not (focused.isVisible() and self.isAncestorOf(focused)):
                focused = None
            self.refresh(change)
            if waits or (focused is not None and not (isValid(focused) and focused.isVisible())):
                # Left alone, the keyboard would go to any control, be it in the side bar.
                self.take_focus()

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self.catch_up()

    def _on_session_changed(self, change: Change, origin: str) -> None:
        self._stale |= self.concerns(change, origin)
        if self.isVisible() and self._stale and not self._timer.isActive():
            self._timer.start()
