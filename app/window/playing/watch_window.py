"""A window of its own for moving pictures: on any screen, in any size, or filling it."""

from collections.abc import Callable, Iterable, Iterator

from PySide6.QtCore import QByteArray, QCoreApplication, QRect, Qt, Signal
from PySide6.QtGui import QAction, QCloseEvent, QGuiApplication, QKeyEvent, QKeySequence, QScreen
from PySide6.QtWidgets import QVBoxLayout, QWidget

SHARE = 0.6
"""Of a screen's width, where the window opens for the first time."""


class WatchWindow(QWidget):
    """Holds the pictures while they are away from their place. Keys do what they do there."""

    escaped = Signal()
    """Esc was pressed."""
    closed = Signal()
    """The window was closed by hand."""

    def __init__(self, place: QWidget, driven: Callable[[], QWidget]) -> None:
        """``place`` is where the pictures belong, ``driven`` the control that has the keyboard there."""
        super().__init__(place.window(), Qt.WindowType.Window)
        self._place, self._driven = place, driven
        self.setWindowTitle("Pictures – Anglebook")
        self.setAccessibleName("Pictures")
        # The window itself has the keyboard, not its first button: the space bar is to play.
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self._box = QVBoxLayout(self)

    def take(self, panel: QWidget, margin: int) -> None:
        """Hold the pictures, with so many pixels around them."""
        self._box.setContentsMargins(margin, margin, margin, margin)
        self._box.addWidget(panel)
        panel.show()

    def open(self, remembered: str) -> None:
        """Show it where it was the last time, or first on a screen where the main window is not."""
        data = QByteArray.fromHex(remembered.encode("ascii", "ignore"))
        if data.isEmpty() or not self.restoreGeometry(data):
            self.setGeometry(_first_place(self._place.window().screen()))
        self.showNormal()
        self._take_keyboard()

    def fill(self) -> None:
        """Fill the screen it is on."""
        # A window system that knows no full screen gives it the screen's size at least.
        self.setGeometry(self.screen().geometry())
        self.showFullScreen()
        self._take_keyboard()

    @property
    def geometry_words(self) -> str:
        """Where it stands, to be remembered."""
        return bytes(self.saveGeometry().toHex().data()).decode("ascii")

    def _take_keyboard(self) -> None:
        self.activateWindow()
        self.setFocus()

    def closeEvent(self, event: QCloseEvent) -> None:
        event.accept()
        self.closed.emit()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self.escaped.emit()
            return
        pressed = QKeySequence(event.keyCombination())
        for action in _actions((self._place, self._place.window())):
            if action.isEnabled() and pressed in action.shortcuts():
                if action.autoRepeat() or not event.isAutoRepeat():
                    action.trigger()
                return
        # Keys that the score or a list deals with by itself, such as the arrows.
        QCoreApplication.sendEvent(self._driven(), event)


def _actions(owners: Iterable[QWidget]) -> Iterator[QAction]:
    for owner in owners:
        yield from owner.actions()


def _first_place(here: QScreen) -> QRect:
    """The middle of another screen, where there is one, else of this one."""
    screen = next((one for one in QGuiApplication.screens() if one is not here), here)
    room = screen.availableGeometry()
    width = round(SHARE * room.width())
    height = min(round(width * 9 / 16) + 60, room.height())
    left, top = room.x() + (room.width() - width) // 2, room.y() + (room.height() - height) // 2
    return QRect(left, top, width, height)
