"""Check with any clip: slid through while it is pinned, played by itself, a take of it begun by hand."""

import pytest
from PySide6.QtCore import QPoint, Qt
from pytestqt.qtbot import QtBot

from app.model.document.decisions import Action
from app.window.check.check_place import CheckPlace
from app.window.frame.main_window import MainWindow
from app.window.playing.player import Heard
from tests.app.window.check.driving import FRAME_S, SHIFT, clip_of, key
from tests.app.window.made_up import bar_s


@pytest.fixture
def bare(check: CheckPlace) -> CheckPlace:
    """Check with the clip that has no take chosen."""
    check.list.setCurrentRow(check.list.count() - 1)
    assert check.page.pinning
    return check


def test_the_slider_goes_through_the_whole_clip(qtbot: QtBot, bare: CheckPlace) -> None:
    slider, clip = bare.pin_page.slider, clip_of(bare, "C0010")
    assert (slider.minimum(), slider.maximum()) == (0, round(clip.duration_s / FRAME_S) - 1)
    assert slider.accessibleName()
    assert "Home" in slider.toolTip()
    slider.setValue(20)
    assert (bare.pin_page.frame, bare.page.trio.frame) == (20, 20)
    qtbot.waitUntil(lambda: bare.page.trio.pictures.frame(clip, 20, 100) is not None)
    key(bare, Qt.Key.Key_Right)
    assert slider.value() == 21, "steps and slider show one frame"
    key(bare, Qt.Key.Key_End)
    assert bare.pin_page.frame == slider.maximum()
    key(bare, Qt.Key.Key_Home)
    assert bare.pin_page.frame == slider.value() == 0
    key(bare, Qt.Key.Key_Right, SHIFT)
    assert slider.value() == 25
    qtbot.mouseClick(slider, Qt.MouseButton.LeftButton, pos=QPoint(slider.width() - 2, slider.height() // 2))
    assert bare.pin_page.frame == slider.maximum(), "a click goes there"


def test_another_clip_has_the_slider_of_its_own_length(check: CheckPlace) -> None:
    key(check, Qt.Key.Key_P)
    hands = check.pin_page.slider.maximum()
    check.list.setCurrentRow(check.list.count() - 1)
    assert check.pin_page.slider.maximum() != hands
    assert check.pin_page.slider.value() == check.pin_page.frame


def test_a_clip_without_a_take_is_heard_along_the_pin_that_is_tried(
    shoot_window: MainWindow, bare: CheckPlace
) -> None:
    player, clip = shoot_window.player, clip_of(bare, "C0010")
    bare.pin_page.slider.setValue(20)
    bare.pin_page.go_to_beat(bar_s(9))
    found = player.found()
    assert found is not None
    assert found[0] == clip
    assert found[1].clip_time(bar_s(9)) == pytest.approx(20 * FRAME_S)
    assert (found[1].clip_start_s, found[1].clip_end_s) == (0.0, clip.duration_s)
    assert player.song_s == pytest.approx(bar_s(9))
    bare.list.setCurrentRow(0)
    assert player.found() is not None
    assert player.found() != found, "nothing of it is left"


def test_the_clip_is_played_by_itself_and_the_frame_goes_along(
    shoot_window: MainWindow, bare: CheckPlace
) -> None:
    player = shoot_window.player
    player.hear(Heard.MIXED)
    bare.watch.controls.many = True
    bare.pin_page.slider.setValue(5)
    beat = bare.pin_page.song_s
    key(bare, Qt.Key.Key_Space, SHIFT)
    assert player.playing
    assert player.heard is Heard.TAKE
    assert bare.page.watching
    assert not bare.watch.controls.isVisible()
    seen = [tile.clip for tile in bare.watch.tiles if tile.isVisible()]
    assert seen == [clip_of(bare, "C0010")]
    assert bare.action_table["play clip"].text() == "Pause"
    player.moved.emit(beat + 0.4)
    assert bare.pin_page.frame == bare.pin_page.slider.value() == 15
    assert bare.pin_page.song_s == beat, "the beat stays"
    key(bare, Qt.Key.Key_Space, SHIFT)
    assert not player.playing
    assert player.heard is Heard.MIXED, "what was chosen to be heard is heard again"
    assert not bare.page.watching
    assert bare.page.trio.frame == bare.pin_page.frame
    assert player.song_s == pytest.approx(beat)


def test_a_take_is_started_from_a_frame_and_ended_at_another(
    shoot_window: MainWindow, bare: CheckPlace
) -> None:
    before = bare.session.view
    bare.pin_page.slider.setValue(10)
    bare.pin_page.go_to_beat(bar_s(5))
    key(bare, Qt.Key.Key_M)
    assert bare.action_table["mark"].text() == "End Take Here"
    bare.pin_page.slider.setValue(35)
    key(bare, Qt.Key.Key_M)
    (take,) = clip_of(bare, "C0010").takes
    assert (take.clip_start_s, take.clip_end_s) == pytest.approx((10 * FRAME_S, 35 * FRAME_S))
    assert take.song_start_s == pytest.approx(bar_s(5))
    assert take.decided is not None
    assert take.decided.action is Action.PINNED
    shoot_window.action_table["undo"].trigger()
    assert bare.session.view == before


def test_a_take_too_short_is_told(bare: CheckPlace) -> None:
    key(bare, Qt.Key.Key_M)
    key(bare, Qt.Key.Key_Right)
    key(bare, Qt.Key.Key_M)
    assert "half a second" in bare.page.message.text()
    assert clip_of(bare, "C0010").takes == ()
