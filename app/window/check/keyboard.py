"""Where the keyboard is in Check: with the takes, unless somebody goes to a control by Tab."""

from collections.abc import Callable, Iterable

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtWidgets import QAbstractButton, QComboBox, QSlider, QWidget

CONTROLS = (QAbstractButton, QComboBox, QSlider)


class GivesBack(QObject):
    """Has controls that are clicked leave the keyboard with the takes: nothing stays armed on Enter."""

    def __init__(self, take_focus: Callable[[], None], parent: QObject) -> None:
        super().__init__(parent)
        self._take_focus = take_focus

    def watch(self, around: QWidget) -> None:
        """Watch all controls in a widget."""
        self.add(child for child in around.findChildren(QWidget) if isinstance(child, CONTROLS))

    def add(self, controls: Iterable[QWidget]) -> None:
        """Watch controls; those that never had the keyboard do not get it."""
        for control in controls:
            if control.focusPolicy() != Qt.FocusPolicy.NoFocus:
                control.setFocusPolicy(Qt.FocusPolicy.TabFocus)
            control.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() == QEvent.Type.MouseButtonPress:
            self._take_focus()
        return False
