"""Pictures in a window of their own and full screen: the same frames in any size, and the same keys."""

from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QWidget
from pytestqt.qtbot import QtBot

from app.window.frame.main_window import MainWindow
from app.window.playing.watch_slot import WatchSlot
from app.window.playing.watch_window import WatchWindow
from app.window.score.score_place import ScorePlace
from app.window.session import EVERYTHING
from tests.app.documents import document
from tests.app.window.made_up import bar_s
from tests.app.window.playing.test_watch_panel import numbered_shoot
from tests.audio.media_files import number_in

KEY, HELD = Qt.Key, Qt.KeyboardModifier


@pytest.fixture
def score(shoot_window: MainWindow) -> ScorePlace:
    shoot_window.go(4)
    shoot_window.score.catch_up()
    shoot_window.score.canvas.setFocus()
    return shoot_window.score


def outside(slot: WatchSlot) -> WatchWindow:
    assert slot.outside is not None
    return slot.outside


def test_nine_angles_are_in_step_at_home_in_their_own_window_and_full_screen(
    qtbot: QtBot, window: MainWindow, tmp_path: Path
) -> None:
    shoot = numbered_shoot(tmp_path)
    window.session.apply("Make", (document(shoot, own_ids=True), EVERYTHING), "test")
    window.go(4)
    score = window.score
    score.catch_up()
    qtbot.keyClick(score.canvas, KEY.Key_W)
    qtbot.keyClick(score.canvas, KEY.Key_W, HELD.ShiftModifier)
    assert score.watch.controls.many
    heights = []

    def look(song_s: float) -> None:
        window.player.seek(song_s)
        qtbot.waitUntil(lambda: score.watch.in_step, timeout=20_000)
        tiles = [tile for tile in score.watch.tiles if tile.isVisible() and tile.take is not None]
        seen = [number_in(tile.shown_pixels) for tile in tiles if tile.shown_pixels is not None]
        want = [
            int(np.floor(clip.takes[0].clip_time(song_s) * float(clip.frame_rate or 1)) % 10)
            for clip in shoot.clips
        ]
        assert seen == want
        heights.append(tiles[0].height())

    look(1.234)
    qtbot.keyClick(score.canvas, KEY.Key_F11, HELD.ShiftModifier)
    assert score.watch_slot.away
    for song_s, size in ((2.345, (500, 400)), (0.777, (1500, 950))):
        outside(score.watch_slot).resize(*size)
        look(song_s)
    assert heights[-1] > 2 * heights[-2], "pictures are as large as their window lets them be"
    qtbot.keyClick(outside(score.watch_slot), KEY.Key_F11)
    assert outside(score.watch_slot).isFullScreen()
    look(3.21)
    qtbot.keyClick(outside(score.watch_slot), KEY.Key_Escape)
    assert not outside(score.watch_slot).isFullScreen()
    qtbot.keyClick(outside(score.watch_slot), KEY.Key_F11, HELD.ShiftModifier)
    assert score.watch_slot.outside is None
    look(4.05)
    assert heights[-1] == pytest.approx(heights[0], abs=20)


def test_full_screen_begins_watching_and_escape_leaves_it(qtbot: QtBot, score: ScorePlace) -> None:
    assert not score.side.watching
    qtbot.keyClick(score.canvas, KEY.Key_F11)
    assert score.side.watching
    filled = outside(score.watch_slot)
    assert filled.isFullScreen()
    assert filled.size() == filled.screen().size()
    assert score.watch.window() is filled
    qtbot.keyClick(filled, KEY.Key_Escape)
    assert score.watch_slot.outside is None
    assert score.watch.isVisible()
    assert score.watch.window() is score.window()


def test_keys_do_in_the_own_window_what_they_do_in_the_score(
    qtbot: QtBot, score: ScorePlace, shoot_window: MainWindow
) -> None:
    player, canvas = shoot_window.player, score.canvas
    canvas.choose(10)
    qtbot.keyClick(canvas, KEY.Key_F11, HELD.ShiftModifier)
    away = outside(score.watch_slot)
    qtbot.waitUntil(away.hasFocus)  # not one of its buttons: the space bar would press it
    qtbot.keyClick(away, KEY.Key_Right)
    assert canvas.chosen.bar == 11
    qtbot.keyClick(away, KEY.Key_T)
    assert canvas.chosen.bar == 30
    qtbot.keyClick(away, KEY.Key_Return)
    assert player.playing
    qtbot.keyClick(away, KEY.Key_Space)
    assert not player.playing
    shoot_window.activateWindow()
    canvas.setFocus()
    qtbot.keyClick(canvas, KEY.Key_G)
    assert score.watch.controls.shape is not None, "keys of the pictures are heard in the main window too"
    assert player.song_s == pytest.approx(bar_s(30), abs=2.0)


def test_the_own_window_goes_with_its_place_and_closing_it_puts_the_pictures_back(
    qtbot: QtBot, score: ScorePlace, shoot_window: MainWindow
) -> None:
    qtbot.keyClick(score.canvas, KEY.Key_F11, HELD.ShiftModifier)
    away = outside(score.watch_slot)
    away.setGeometry(60, 40, 700, 500)
    shoot_window.go(0)
    assert not away.isVisible()
    shoot_window.go(4)
    assert away.isVisible()
    assert away.size().width() == 700, "where it stood is remembered"
    away.close()
    assert score.watch_slot.outside is None
    assert score.watch.isVisible()
    assert score.watch.window() is shoot_window


def test_full_screen_in_check_as_well(qtbot: QtBot, shoot_window: MainWindow) -> None:
    shoot_window.go(3)
    check = shoot_window.check
    check.catch_up()
    check.list.setFocus()
    qtbot.keyClick(check.list, KEY.Key_F11)
    assert check.page.watching
    qtbot.waitUntil(outside(check.watch_slot).isActiveWindow)
    qtbot.keyClick(outside(check.watch_slot), KEY.Key_Escape)
    assert check.watch.window() is shoot_window


def drag(handle: QWidget, by: QPoint) -> None:
    """Drag a border, which moves along under the mouse."""
    start, left = handle.rect().center(), Qt.MouseButton.LeftButton
    QTest.mousePress(handle, left, HELD.NoModifier, start)
    QTest.mouseMove(handle, start + by)
    QTest.mouseRelease(handle, left, HELD.NoModifier, start)
    QTest.qWait(20)


def test_the_pictures_grow_as_their_borders_are_dragged_and_stay_so(
    qtbot: QtBot, score: ScorePlace, shoot_window: MainWindow
) -> None:
    shoot_window.resize(1600, 900)
    qtbot.keyClick(score.canvas, KEY.Key_W)
    before = score.watch.tiles[0].size()
    drag(score.split.handle(1), QPoint(-150, 0))
    wide = score.side.width()
    assert score.watch.tiles[0].width() > before.width() + 100
    drag(score.side.split.handle(1), QPoint(0, 100))
    assert score.watch.tiles[0].height() > before.height() + 50
    high = score.watch.height()
    qtbot.keyClick(score.canvas, KEY.Key_W)
    assert score.side.width() < wide, "without pictures it is as wide as it was"
    qtbot.keyClick(score.canvas, KEY.Key_W)
    assert score.side.width() == pytest.approx(wide, abs=3)
    assert score.watch.height() == pytest.approx(high, abs=3)
    qtbot.keyClick(score.canvas, KEY.Key_Right, HELD.ControlModifier | HELD.ShiftModifier)
    assert score.side.width() < wide - 20
    shoot_window.resize(1280, 720)
    assert score.side.width() < score.width() / 2 + 200
