"""The keys of playing, the same in the whole window."""

from bisect import bisect_right
from collections.abc import Callable, Sequence

from PySide6.QtCore import QObject
from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import QAbstractButton, QAbstractSpinBox, QApplication, QComboBox, QSlider, QWidget

from app.model.shoot import SongMap
from app.views.parts.place import Place
from app.views.playing.player import Heard, Player

PLAY, HEARD, LOOP, LOUDER, SOFTER = "Space", "V", "R", "Ctrl+Up", "Ctrl+Down"
VOLUME_STEP_DB = 2.0
Span = tuple[float, float]


class PlayKeys(QObject):
    """Actions for the window: play and pause, what is heard, the loop, the volume."""

    def __init__(self, player: Player, song_map: Callable[[], SongMap], window: QWidget) -> None:
        super().__init__(window)
        self._player, self._song_map = player, song_map
        self.play = self._action(window, "Play or Pause", PLAY, player.toggle)
        self._hear = self._action(
            window, "Hear Song, Take, One in Each Ear, Both in Turn", HEARD, self._next_heard
        )
        player.changed.connect(lambda: self._hear.setEnabled(not player.alone))
        self.actions: Sequence[QAction] = (
            self.play,
            self._hear,
            self._action(window, "Loop This Bar, This Section, or Play On", LOOP, self._next_loop),
            self._action(window, "Louder", LOUDER, lambda: self._turn(VOLUME_STEP_DB)),
            self._action(window, "Softer", SOFTER, lambda: self._turn(-VOLUME_STEP_DB)),
        )
        application = QApplication.instance()
        assert isinstance(application, QApplication)
        application.focusChanged.connect(self._focus_changed)

    def _action(self, window: QWidget, text: str, key: str, slot: Callable[[], None]) -> QAction:
        action = QAction(text, window)
        action.setShortcut(QKeySequence(key))
        action.setToolTip(f"{text} ({QKeySequence(key).toString(QKeySequence.SequenceFormat.NativeText)})")
        action.triggered.connect(slot)
        window.addAction(action)
        return action

    def _focus_changed(self, before: QWidget | None, now: QWidget | None) -> None:
        # The space bar belongs to a control that has the keyboard and knows what to do with it.
        pressed = isinstance(now, QAbstractButton | QComboBox | QSlider | QAbstractSpinBox)
        self.play.setEnabled(not pressed or _always_plays(now))

    def _next_heard(self) -> None:
        order = list(Heard)
        self._player.hear(order[(order.index(self._player.heard) + 1) % len(order)])

    def _next_loop(self) -> None:
        kinds = list(LOOPS)
        kind = loop_kind(self._song_map(), self._player)
        set_loop(self._song_map(), self._player, kinds[(kinds.index(kind) + 1) % len(kinds)])

    def _turn(self, decibels: float) -> None:
        self._player.set_volume(self._player.volume_db + decibels)


def _always_plays(widget: QWidget | None) -> bool:
    """Whether the space bar plays wherever the keyboard is in the place around a widget."""
    while widget is not None and not isinstance(widget, Place):
        widget = widget.parentWidget()
    return widget is not None and widget.space_plays


LOOPS = ("Play on", "Loop bar", "Loop section")


def bar_span(song_map: SongMap, song_s: float, end_s: float) -> Span | None:
    """The bar a moment lies in; None where the song has no bars."""
    bars = song_map.bars_s
    if not bars:
        return None
    number = max(0, bisect_right(bars, song_s) - 1)
    return bars[number], bars[number + 1] if number + 1 < len(bars) else end_s


def section_span(song_map: SongMap, song_s: float) -> Span | None:
    """The section a moment lies in."""
    for section in song_map.sections:
        if section.start_s <= song_s < section.end_s:
            return section.start_s, section.end_s
    return None


def loop_kind(song_map: SongMap, player: Player) -> str:
    """What is looped now, as one of `LOOPS`."""
    if player.loop is None:
        return LOOPS[0]
    sections = [(section.start_s, section.end_s) for section in song_map.sections]
    return LOOPS[2] if player.loop in sections else LOOPS[1]


def set_loop(song_map: SongMap, player: Player, kind: str) -> None:
    """Loop the bar or the section one is in, or play on."""
    now = player.position()
    spans = {LOOPS[1]: bar_span(song_map, now, player.song_end_s), LOOPS[2]: section_span(song_map, now)}
    player.set_loop(spans.get(kind))
