"""Buttons side by side, in as many lines as they need; in low windows in one line, the rest in a menu."""

from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QAction, QResizeEvent
from PySide6.QtWidgets import QMenu, QPushButton, QWidget

from app.window.parts.buttons import ActionButton
from app.window.parts.flow_layout import FlowBox


class ButtonRow(FlowBox):
    """Its last button opens the menu, and is there only where it is needed, unless it is one handed over."""

    def __init__(self, gap: int, widgets: list[QWidget], more: QWidget | None = None) -> None:
        """``more`` is a button that is always there and opens a menu of its own."""
        own = QPushButton("More…")
        super().__init__(gap, [*widgets, more or own])
        self._widgets, self._gap = widgets, gap
        self._one_line = False
        self._own = more is None
        self._more = more or own
        own.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        own.setAccessibleName("More")
        own.setToolTip("More buttons, for which there is not enough space; all are in the menu Edit too")
        own.clicked.connect(self._on_more)
        self._fit()

    @property
    def left_out(self) -> list[QAction]:
        """The actions whose buttons do not fit."""
        hidden = [widget for widget in self._widgets if widget.isHidden()]
        buttons = [one for widget in hidden for one in (widget, *widget.findChildren(ActionButton))]
        return [button.action for button in buttons if isinstance(button, ActionButton)]

    def keep_to_one_line(self, on: bool) -> None:
        """Take one line from now on, or as many as are needed."""
        if on != self._one_line:
            self._one_line = on
            self._fit()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit()

    def _fit(self) -> None:
        wide = [widget.sizeHint().width() + self._gap for widget in self._widgets]
        more = self._more.sizeHint().width()
        room = self.width() - (0 if self._own else more + self._gap)
        count = len(wide)
        if self._one_line and sum(wide) - self._gap > room:
            room = self.width() - more
            while count and sum(wide[:count]) > room:
                count -= 1
        for number, widget in enumerate(self._widgets):
            widget.setVisible(number < count)
        if self._own:
            self._more.setVisible(count < len(wide))

    def _on_more(self) -> None:
        menu = QMenu(self)
        menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        menu.addActions(self.left_out)
        menu.popup(self._more.mapToGlobal(QPoint(0, self._more.height())))
