"""A newcomer puts a map right, by mouse and by keys alone: a wrong first beat and two wrong section edges.

The actions are counted: a click, a drag, a turn of the wheel, a key. They also run on a real display, and
``QT_QPA_PLATFORM=xcb xvfb-run -a python -m pytest tests/app/window/song/test_song_walk.py -s`` tells how
many.
"""

from dataclasses import replace

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QKeySequence, QMouseEvent, QWheelEvent
from PySide6.QtWidgets import QApplication, QWidget
from pytestqt.qtbot import QtBot

from app.model.document.song import SongMap
from app.model.edits import shoot_edits
from app.model.song_map.map_beats import downbeat_here
from app.model.song_map.map_sections import edge_moved
from app.window.frame.main_window import MainWindow
from app.window.parts.buttons import ActionButton
from app.window.parts.place_button import PlaceButton
from tests.app.window.made_up import bar_s, make_song

TRUTH = make_song().map
BEAT_S = 2.0 / 3
LATE, EARLY = 2, 5
"""Sections whose starts are wrong, counted from 0: by two bars, by one."""


def wrong_map() -> SongMap:
    """Every bar line a beat late, and with them every section; two of those elsewhere besides."""
    late = downbeat_here(TRUTH, bar_s(1) + BEAT_S)
    late = edge_moved(late, LATE, late.sections[LATE].start_s + 4.0)
    late = edge_moved(late, EARLY, late.sections[EARLY].start_s - 2.0)
    return replace(late, downbeats_s=(), edges_s=())


def late_map(bars: int) -> SongMap:
    """Nothing is found in the first bars: their beats and bar lines are not there."""
    start_s = bar_s(1 + bars)
    return replace(
        TRUTH,
        beats_s=tuple(beat for beat in TRUTH.beats_s if beat >= start_s),
        bars_s=TRUTH.bars_s[bars:],
    )


class Hands:
    """Does what a person does, and counts."""

    def __init__(self, qtbot: QtBot, window: MainWindow) -> None:
        self._qtbot, self.window = qtbot, window
        self.actions: list[str] = []

    def click(self, widget: QWidget, at: QPoint | None = None) -> None:
        self._done("click")
        self._qtbot.mouseClick(widget, Qt.MouseButton.LeftButton, pos=at or QPoint())

    def button(self, words: str) -> None:
        found = [b for b in self.window.song.findChildren(ActionButton) if b.text() == words]
        self.click(found[0])

    def wheel(self, at: QPoint, notches: int) -> None:
        self._done("wheel")
        port, spot = self.window.song.canvas.viewport(), QPointF(at)
        none, held = Qt.MouseButton.NoButton, Qt.KeyboardModifier.ControlModifier
        for _ in range(abs(notches)):
            turn = QPoint(0, 120 if notches > 0 else -120)
            begun = Qt.ScrollPhase.NoScrollPhase
            event = QWheelEvent(spot, port.mapToGlobal(spot), QPoint(), turn, none, held, begun, False)
            QApplication.sendEvent(port, event)

    def drag(self, start: QPoint, end: QPoint) -> None:
        self._done("drag")
        port, left = self.window.song.canvas.viewport(), Qt.MouseButton.LeftButton
        self._qtbot.mousePress(port, left, pos=start)
        for share in (0.25, 0.5, 0.75, 1.0):
            spot = QPointF(start) + (QPointF(end) - QPointF(start)) * share
            kind, none = QMouseEvent.Type.MouseMove, Qt.MouseButton.NoButton
            held = Qt.KeyboardModifier.NoModifier
            QApplication.sendEvent(port, QMouseEvent(kind, spot, port.mapToGlobal(spot), none, left, held))
        self._qtbot.mouseRelease(port, left, pos=end)

    def press(self, keys: str, times: int = 1) -> None:
        for _ in range(times):
            self._done(keys)
            combination = QKeySequence(keys)[0]
            target = QApplication.focusWidget() or self.window
            self._qtbot.keyClick(target, combination.key(), combination.keyboardModifiers())
            self.window.song.catch_up()

    def at(self, song_s: float) -> QPoint:
        canvas = self.window.song.canvas
        return QPoint(round(canvas.scale.x(song_s)), canvas.viewport().height() // 2)

    def _done(self, what: str) -> None:
        self.actions.append(what)


@pytest.fixture
def hands(qtbot: QtBot, shoot_window: MainWindow) -> Hands:
    shoot_window.song.catch_up()
    shoot_window.activateWindow()
    qtbot.waitUntil(shoot_window.isActiveWindow)
    shoot_window.session.apply("x", shoot_edits.set_map(shoot_window.session.shoot, wrong_map()), "test")
    return Hands(qtbot, shoot_window)


def told(hands: Hands, how: str, most: int, near_s: float = 0.0) -> None:
    """The map is right, its bars as near as that, in no more actions than that."""
    song = hands.window.session.view.song
    assert song is not None
    assert song.map.bars_s == pytest.approx(TRUTH.bars_s, abs=near_s, rel=0)
    starts = [section.start_s for section in song.map.sections]
    assert starts == [section.start_s for section in TRUTH.sections]
    print(f"\n{how}: {len(hands.actions)} actions: {', '.join(hands.actions)}")
    assert len(hands.actions) <= most


def test_by_mouse(qtbot: QtBot, hands: Hands) -> None:
    window = hands.window
    hands.click(next(b for b in window.column.findChildren(PlaceButton) if b.text() == "Song"))
    qtbot.waitUntil(window.song.isVisible)
    window.song.catch_up()
    canvas = window.song.canvas
    hands.wheel(hands.at(bar_s(20)), 2)
    hands.click(canvas.viewport(), hands.at(bar_s(20) + 0.1))
    hands.button("Bar Starts Here")
    window.song.catch_up()
    hands.drag(hands.at(bar_s(19)), hands.at(bar_s(17) + 0.3))
    window.song.catch_up()
    hands.drag(hands.at(bar_s(44)), hands.at(bar_s(45) - 0.3))
    window.song.catch_up()
    told(hands, "by mouse", 8)


def take(hands: Hands, song_map: SongMap) -> None:
    session = hands.window.session
    session.apply("x", shoot_edits.set_map(session.shoot, song_map), "test")


@pytest.mark.parametrize("bars", [1, 3])
def test_bar_one_before_the_first_beat_by_mouse(qtbot: QtBot, hands: Hands, bars: int) -> None:
    take(hands, late_map(bars))
    window = hands.window
    before = window.session.view.song
    hands.click(next(b for b in window.column.findChildren(PlaceButton) if b.text() == "Song"))
    qtbot.waitUntil(window.song.isVisible)
    window.song.catch_up()
    hands.wheel(hands.at(bar_s(1)), 6)
    hands.click(window.song.canvas.viewport(), hands.at(bar_s(1)))
    hands.button("Bar Starts Here")
    assert window.song.message.startswith("Bar 1 now starts here, at 0:00.5"), window.song.message
    assert f"{3 * bars} beats added before the first one found" in window.song.message
    told(hands, "bar 1 by mouse", 5, near_s=0.02)
    window.session.undo()
    assert window.session.view.song == before


def test_bar_one_before_the_first_beat_by_keys_alone(hands: Hands) -> None:
    take(hands, late_map(1))
    hands.press("Ctrl+2")
    hands.press("Home")
    hands.press("Ctrl+Right")
    hands.press("Ctrl+Left")
    hands.press("O")
    told(hands, "bar 1 by keys", 5, near_s=1e-9)


def test_a_wrong_bar_one_among_those_found_by_keys_alone(hands: Hands) -> None:
    right = TRUTH.bars_s[3:]
    hands.press("Ctrl+2")
    take(hands, replace(TRUTH, bars_s=TRUTH.bars_s[1:]))
    hands.window.player.seek(bar_s(1))
    hands.press("1")
    told(hands, "bar 1 on a beat of the lead-in", 5)
    hands.window.player.seek(bar_s(4))
    hands.press("1")
    assert "You fixed a bar line" in hands.window.song.message
    hands.window.session.undo()
    hands.press("1")
    song = hands.window.session.view.song
    assert song is not None
    assert song.map.bars_s == right, "what comes before is the lead-in"


def test_by_keys_alone(hands: Hands) -> None:
    hands.press("Ctrl+2")
    hands.press("PgDown", LATE)
    hands.press("Left")  # the beat before the bar line is the one that sounds like one
    hands.press("O")
    hands.press("Shift+Left", 2)
    hands.press("PgDown", EARLY - LATE)
    hands.press("Shift+Right")
    told(hands, "by keys", 12)
