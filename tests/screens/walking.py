"""What walks through a real window share: waiting, finding controls by name, clicking, typing, dropping.

Nothing here knows how a place is built inside: controls are found by what a screen reader would say, actions
by their words, so that a walk survives when a place is laid out anew.
"""

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TypeVar

from PySide6.QtCore import (
    QCoreApplication,
    QElapsedTimer,
    QEvent,
    QEventLoop,
    QMimeData,
    QPointF,
    Qt,
    QTimer,
    QUrl,
)
from PySide6.QtGui import QAction, QDropEvent, QKeySequence
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QDialog, QWidget

from app.window.frame.main_window import MainWindow
from app.window.slate.slate_page import SlatePage

Kind = TypeVar("Kind", bound=QWidget)


def wait(ms: int) -> None:
    """Let the window live for a while."""
    loop = QEventLoop()
    QTimer.singleShot(ms, loop.quit)
    loop.exec()


def wait_until(true: Callable[[], bool], most_s: float = 600.0) -> None:
    """Let the window live until something is so. Raises TimeoutError."""
    clock = QElapsedTimer()
    clock.start()
    while not true():
        if clock.elapsed() > most_s * 1000:
            raise TimeoutError
        wait(50)


def show(window: QWidget) -> None:
    """Show a window and give it the keyboard, with or without a window manager."""
    window.show()
    window.activateWindow()
    wait_until(lambda: window.isActiveWindow() and window.isVisible(), 30)


def control(top: QWidget, name: str, kind: type[Kind] = QWidget) -> Kind:  # type: ignore[assignment]
    """The control in sight of a kind and with an accessible name. Raises LookupError."""
    found = [w for w in top.findChildren(kind) if w.isVisible() and w.accessibleName() == name]
    if not found:
        raise LookupError(f"nothing in sight is called {name!r}")
    return found[0]


def action(top: QWidget, words: str) -> QAction:
    """The action of a window or place whose text begins so, whatever its mnemonics. Raises LookupError."""
    for one in top.actions():
        if one.text().replace("&", "").startswith(words):
            return one
    raise LookupError(
        f"{top.accessibleName() or top.windowTitle()} can do nothing that begins with {words!r}"
    )


def click(widget: QWidget) -> None:
    """Press and release the left button in the middle of a control."""
    QTest.mouseClick(widget, Qt.MouseButton.LeftButton)


def press(keys: str | QKeySequence) -> None:
    """Press a key where the keyboard is."""
    combination = QKeySequence(keys)[0]
    target = _keyboard()
    QTest.keyClick(target, combination.key(), combination.keyboardModifiers())


def type_text(text: str) -> None:
    """Type into the field that has the keyboard."""
    QTest.keyClicks(_keyboard(), text)


def _keyboard() -> QWidget:
    """Where the keyboard is. Without a window manager nobody gives it back when a question closes."""
    # None, or a list left behind.
    if not isinstance(QApplication.activeWindow(), MainWindow | QDialog | SlatePage):
        for window in QApplication.topLevelWidgets():
            if isinstance(window, MainWindow) and window.isVisible():
                window.activateWindow()
                wait_until(window.isActiveWindow, 30)
    target = QApplication.focusWidget() or QApplication.activeWindow()
    assert target is not None, "no window has the keyboard"
    return target


def drop(window: MainWindow, over: QWidget, paths: Sequence[Path]) -> str:
    """Drag files over a control and let them fall, as the system tells the window; gives the hint shown."""
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(path)) for path in paths])
    at = QPointF(over.mapTo(window, over.rect().center()))
    buttons, keys = Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
    told = ""
    for kind in (QEvent.Type.DragEnter, QEvent.Type.DragMove, QEvent.Type.Drop):
        event = QDropEvent(at, Qt.DropAction.CopyAction, data, buttons, keys, kind)
        QCoreApplication.sendEvent(window.windowHandle(), event)
        assert event.isAccepted(), f"{kind.name} was not taken"
        if kind is QEvent.Type.DragMove:
            wait(100)
            told = window.drops.hint.text
    return told


def answering(action: Callable[[QWidget], None]) -> None:
    """Do something in the next question that opens, as soon as it has the keyboard."""

    def look() -> None:
        asked = QApplication.activeModalWidget()
        if asked is None or not asked.isVisible():
            QTimer.singleShot(50, look)
            return
        asked.activateWindow()
        QTimer.singleShot(200, lambda: action(asked))

    QTimer.singleShot(50, look)
