"""Enter presses the button that has the keyboard, whatever else Enter does in the place around it."""

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QAbstractButton, QApplication, QComboBox, QWidget

ENTER = (Qt.Key.Key_Return, Qt.Key.Key_Enter)


class EnterKey(QObject):
    """Follows the keyboard through a window; listens only to the control that has it."""

    def __init__(self, window: QWidget) -> None:
        super().__init__(window)
        self._window = window
        self._watched: QWidget | None = None
        application = QApplication.instance()
        assert isinstance(application, QApplication)
        application.focusChanged.connect(self._on_focus_changed)

    def _on_focus_changed(self, before: QWidget | None, now: QWidget | None) -> None:
        if self._watched is not None and before is self._watched:
            self._watched.removeEventFilter(self)
        self._watched = None
        if isinstance(now, QAbstractButton | QComboBox) and self._window.isAncestorOf(now):
            self._watched = now
            now.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if isinstance(event, QKeyEvent) and _is_enter(event) and _presses(watched):
            if event.type() == QEvent.Type.ShortcutOverride:
                # Else Enter's action of the place would be faster.
                event.accept()
                return True
            if event.type() == QEvent.Type.KeyPress:
                if not event.isAutoRepeat():
                    _press(watched)
                return True
        return False


def _is_enter(event: QKeyEvent) -> bool:
    """Enter by itself; with Ctrl or another such key it is the place's own, wherever the keyboard is."""
    others = event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier
    return event.key() in ENTER and others == Qt.KeyboardModifier.NoModifier


def _presses(control: QObject) -> bool:
    """Whether there is something to press: one of several that is chosen already has nothing left to do."""
    chosen = isinstance(control, QAbstractButton) and control.autoExclusive() and control.isChecked()
    return not chosen


def _press(control: QObject) -> None:
    if isinstance(control, QAbstractButton):
        control.click()
    elif isinstance(control, QComboBox):
        control.showPopup()
