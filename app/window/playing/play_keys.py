"""The keys of playing, the same in the whole window."""

from collections.abc import Callable

from PySide6.QtCore import QObject, Qt
from PySide6.QtWidgets import QAbstractButton, QAbstractSpinBox, QApplication, QComboBox, QWidget

from app.model.document.song import SongMap
from app.window.parts.actions import Action, ActionTable, Line
from app.window.parts.place import Place
from app.window.playing.loops import Span, next_loop
from app.window.playing.player import Heard, Player

PLAY, HEARD, LOOP, LOUDER, SOFTER = "Space", "V", "R", "Ctrl+Up", "Ctrl+Down"
VOLUME_STEP_DB = 2.0
MENU = "&Play"


class PlayKeys(QObject):
    """Actions for the window: play and pause, what is heard, the loop, the volume."""

    def __init__(
        self,
        player: Player,
        song_map: Callable[[], SongMap],
        chosen: Callable[[], Span | None],
        toggle: Callable[[], None],
        window: QWidget,
    ) -> None:
        """``chosen`` gives the range of bars that is chosen where one can be; ``toggle`` plays or pauses what
        the place one is at plays."""
        super().__init__(window)
        self._player, self._song_map, self._chosen = player, song_map, chosen
        loop, hear = self._next_loop, self._next_heard
        rows = (
            ("play", "Play or Pause", PLAY, toggle),
            ("hear", "Hear Song, Take, One in Each Ear, or Both", HEARD, hear),
            ("loop", "Loop the Selected Bars, This Bar, This Section, or Nothing", LOOP, loop),
            ("louder", "Volume Up", LOUDER, lambda: self._turn(VOLUME_STEP_DB)),
            ("softer", "Volume Down", SOFTER, lambda: self._turn(-VOLUME_STEP_DB)),
        )
        actions = [Action(text, key, text, run, name=name, menu=MENU) for name, text, key, run in rows]
        self.action_table = ActionTable(window, [Line("", *actions)], Qt.ShortcutContext.WindowShortcut)
        player.changed.connect(self._on_player_changed)
        application = QApplication.instance()
        assert isinstance(application, QApplication)
        application.focusChanged.connect(self._on_focus_changed)

    def _on_player_changed(self) -> None:
        self.action_table["hear"].setEnabled(not self._player.alone)

    def _on_focus_changed(self, before: QWidget | None, now: QWidget | None) -> None:
        # The space bar belongs to a control that has the keyboard and knows what to do with it.
        pressed = isinstance(now, QAbstractButton | QComboBox | QAbstractSpinBox)
        self.action_table["play"].setEnabled(not pressed or _always_plays(now))

    def _next_heard(self) -> None:
        order = list(Heard)
        self._player.hear(order[(order.index(self._player.heard) + 1) % len(order)])

    def _next_loop(self) -> None:
        next_loop(self._song_map(), self._player, self._chosen())

    def _turn(self, decibels: float) -> None:
        self._player.set_volume(self._player.volume_db + decibels)


def _always_plays(widget: QWidget | None) -> bool:
    """Whether the space bar plays wherever the keyboard is in the place around a widget."""
    while widget is not None and not isinstance(widget, Place):
        widget = widget.parentWidget()
    return widget is not None and widget.space_plays
