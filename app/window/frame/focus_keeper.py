"""The keyboard stays in the place one is at when the control that had it is hidden or switched off."""

from collections.abc import Callable

from PySide6.QtCore import QObject, QTimer
from PySide6.QtWidgets import QApplication, QWidget
from shiboken6 import isValid

from app.window.parts.place import Place


class FocusKeeper(QObject):
    """Follows the keyboard through a window.

    Qt hands the keyboard of a control that goes away to the next one in the window, be it the button that
    stops what is being done. It goes back to the place instead; Tab and clicks go where they like.
    """

    def __init__(self, window: QWidget, place: Callable[[], Place]) -> None:
        super().__init__(window)
        self._window, self._place = window, place
        application = QApplication.instance()
        assert isinstance(application, QApplication)
        application.focusChanged.connect(self._on_focus_changed)

    def _on_focus_changed(self, before: QWidget | None, now: QWidget | None) -> None:
        if before is None or now is None or not self._window.isAncestorOf(now):
            return
        if not (before.isVisible() and before.isEnabled()):
            # Qt is still about to hide it.
            QTimer.singleShot(0, self, lambda: self._give_back(now))

    def _give_back(self, now: QWidget) -> None:
        place = self._place()
        if isValid(now) and now.hasFocus() and not place.isAncestorOf(now):
            place.take_focus()
