"""Where moving pictures stand in a place; from there they go to a window of their own or fill a screen."""

from collections.abc import Callable

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QAction, QHideEvent, QShowEvent
from PySide6.QtWidgets import QStackedLayout, QVBoxLayout, QWidget

from app.window.parts import theme as looks
from app.window.parts.actions import Action, ActionTable, Line
from app.window.parts.buttons import ActionButton
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme
from app.window.playing.player import Player
from app.window.playing.watch_panel import WatchPanel
from app.window.playing.watch_window import WatchWindow

GEOMETRY = "watch/window"
PICTURES = "P&ictures"
OWN, FULL = "own window", "full screen"
"""By these its actions are asked for."""


class WatchSlot(QWidget):
    """Holds the pictures, or says where they are.

    They are one and the same panel wherever they stand, so what is in step stays in step. While their place
    is not seen, their window is not either.
    """

    wanted = Signal()
    """Pictures are to be shown: full screen or a window was asked for while there were none."""
    moved = Signal()
    """They went out or came home."""

    def __init__(
        self, panel: WatchPanel, player: Player, theme: Theme, place: QWidget, driven: Callable[[], QWidget]
    ) -> None:
        """``place`` is where the slot is; ``driven`` gives the control that has the keyboard there."""
        super().__init__()
        self.panel, self._player, self._theme, self._place = panel, player, theme, place
        self._driven = driven
        self._window: WatchWindow | None = None
        self._away = self.fills = False
        self.setAccessibleName("Pictures")
        self._table: ActionTable | None = None
        note = TextLabel(theme, "The pictures are in their own window.", size=looks.SMALL, role="dim")
        note.setAlignment(Qt.AlignmentFlag.AlignCenter)
        back = QWidget()
        self._below = QVBoxLayout(back)
        self._below.addWidget(note)
        self._stack = QStackedLayout(self)
        self._stack.setContentsMargins(0, 0, 0, 0)
        self._stack.addWidget(panel)
        self._stack.addWidget(back)

    def add_buttons(self, table: ActionTable) -> None:
        """Give the actions of the place's table, made of `lines`, their buttons."""
        self._table = table
        own, full, back = (_button(table[name]) for name in (OWN, FULL, OWN))
        self.panel.controls.add_buttons([own, full])
        self._below.addWidget(back, 0, Qt.AlignmentFlag.AlignCenter)

    @property
    def away(self) -> bool:
        """Whether the pictures stand in a window of their own."""
        return self._away

    @property
    def outside(self) -> WatchWindow | None:
        """The window they are in; None where they are at home."""
        return self._window

    def toggle_own(self) -> None:
        """Give the pictures a window of their own, or put them back."""
        self._set(away=not self._away, fills=False)

    def toggle_full(self) -> None:
        """Fill the screen, or go back to where they were."""
        self._set(away=self._away, fills=not self.fills)

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        if self._window is not None:
            self._window.open(self._player.recall(GEOMETRY, ""))

    def hideEvent(self, event: QHideEvent) -> None:
        super().hideEvent(event)
        self._keep()
        self.fills = False
        if self._window is not None and self._away:
            self._window.hide()
        else:
            self._come_home()
        self._tell()

    def _set(self, *, away: bool, fills: bool) -> None:
        """Have the pictures at home, in a window, or filling a screen."""
        if not self.isVisible():
            self.wanted.emit()
        if not self.isVisible():
            return
        self._keep()
        self._away, self.fills = away, fills
        if not (away or fills):
            self._come_home()
        else:
            window = self._go_out()
            margin = 0 if fills else round(self._theme.em() * 0.5)
            window.take(self.panel, margin)
            if fills:
                window.fill()
            else:
                window.open(self._player.recall(GEOMETRY, ""))
        self._tell()
        self.moved.emit()

    def _go_out(self) -> WatchWindow:
        if self._window is None:
            self._window = WatchWindow(self._place, self._driven)
            self._window.escaped.connect(self._on_escaped)
            self._window.closed.connect(self._on_closed)
            self._stack.setCurrentIndex(1)
            # Their keys still work in the main window.
            self._place.addActions(self.panel.controls.actions())
        return self._window

    def _come_home(self) -> None:
        window, self._window = self._window, None
        if window is None:
            return
        for action in self.panel.controls.actions():
            self._place.removeAction(action)
        self._stack.insertWidget(0, self.panel)
        self._stack.setCurrentIndex(0)
        self.panel.show()
        window.hide()
        window.deleteLater()
        if self.isVisible():
            self._place.window().activateWindow()
            self._driven().setFocus()

    def _keep(self) -> None:
        """Remember where the window stands."""
        if self._window is not None and self._away and not self.fills and self._window.isVisible():
            self._player.keep(GEOMETRY, self._window.geometry_words)

    def _on_escaped(self) -> None:
        if self.fills:
            self.toggle_full()
        else:
            self._place.window().activateWindow()

    def _on_closed(self) -> None:
        """Closed by hand: the pictures come home. Hidden with the main window, they stay what they are."""
        if self.isVisible():
            self._set(away=False, fills=False)

    def _tell(self) -> None:
        if self._table is not None:
            self._table.refresh()

    def lines(self) -> tuple[Line, ...]:
        """What can be done with the pictures, for the place's table of actions."""
        return (
            Line(
                "pictures full screen; Esc leaves",
                Action(
                    lambda: "Leave Full Screen" if self.fills else "Full Screen",
                    "F11",
                    lambda: "Back to where they were" if self.fills else "Fill the screen with the pictures",
                    self.toggle_full,
                    name=FULL,
                    menu=PICTURES,
                    repeats=False,
                ),
            ),
            Line(
                "pictures in their own window, such as on a second screen; put them back",
                Action(
                    lambda: "Put Back" if self._away else "Own Window",
                    "Shift+F11",
                    lambda: (
                        "Put the pictures back into the main window"
                        if self._away
                        else "Show the pictures in their own window, such as on a second screen"
                    ),
                    self.toggle_own,
                    name=OWN,
                    menu=PICTURES,
                    repeats=False,
                ),
            ),
        )


def _button(action: QAction) -> ActionButton:
    button = ActionButton(action)
    button.setFocusPolicy(Qt.FocusPolicy.TabFocus)  # a click leaves the keyboard where it was
    return button
