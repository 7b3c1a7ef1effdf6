"""Files dropped anywhere in the window, whatever lies under the pointer.

The drag is caught where it enters the window from the system, before tables and fields see it: some of those
would take a file's name as text.
"""

from collections.abc import Sequence
from pathlib import Path

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QDropEvent, QWindow
from PySide6.QtWidgets import QApplication, QWidget

from app.window.frame.drop_hint import DropHint
from app.window.parts import words
from app.window.parts.theme import Theme
from app.window.session import SUFFIX

BEGIN = (QEvent.Type.DragEnter, QEvent.Type.DragMove)
OVER = frozenset(
    {
        QEvent.Type.Drop,
        QEvent.Type.DragLeave,
        QEvent.Type.Enter,
        QEvent.Type.MouseMove,
        QEvent.Type.MouseButtonPress,
        QEvent.Type.Wheel,
        QEvent.Type.KeyPress,
    }
)
"""After these nothing is dragged any more, wherever the files went. A program that ends in the middle of a
drag tells neither drop nor leaving; but as long as files are dragged, no window gets the mouse."""


class Drops(QObject):
    """Catches what is dragged over a window."""

    dropped = Signal(object)
    """The paths dropped, a list."""

    def __init__(self, theme: Theme, over: QWidget) -> None:
        super().__init__(over)
        self.hint = DropHint(theme, over)
        self._window: QWindow | None = None

    def attach(self, window: QWindow | None) -> None:
        """Listen to the system's window; called when it is there."""
        if window is not None and window is not self._window:
            self._window = window
            window.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        kind = event.type()
        if kind in OVER and self.hint.isVisible():
            self.hint.hide()
        if kind in BEGIN or kind is QEvent.Type.Drop:
            assert isinstance(event, QDropEvent)
            paths = _paths(event)
            if not paths or QApplication.activeModalWidget() is not None:
                return False
            event.setDropAction(Qt.DropAction.CopyAction)
            event.accept()
            if kind is QEvent.Type.Drop:
                self.dropped.emit(paths)
            elif not self.hint.isVisible():
                self.hint.tell(hint(paths))
            return True
        return False


def hint(paths: Sequence[Path]) -> str:
    """What dropping these does.

    >>> hint([Path("/a/waltz.anglebook")]), hint([Path("/a/card")])
    ('Drop to open the shoot waltz', 'Drop to add card')
    """
    shoots = [path for path in paths if path.suffix == SUFFIX]
    if shoots:
        return f"Drop to open the shoot {shoots[0].stem}"
    if len(paths) == 1:
        return f"Drop to add {paths[0].name or paths[0]}"
    return f"Drop to add {words.count(len(paths), 'file or folder', 'files and folders')}"


def _paths(event: QDropEvent) -> list[Path]:
    return [Path(url.toLocalFile()) for url in event.mimeData().urls() if url.isLocalFile()]
