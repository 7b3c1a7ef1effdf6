"""What is being done is told and stopped, and the keyboard stays in the place one is at."""

import threading
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from app.window.frame.main_window import MainWindow
from app.window.work.running import Doing
from tests.app.window.made_up import SHOT, MadeUpTasks


@pytest.fixture
def slow(tasks: MadeUpTasks) -> Iterator[Callable[[], None]]:
    """Reading and placing go on until this is called."""
    go_on = threading.Event()
    tasks.before_answer = lambda stop: go_on.wait(10) and None
    tasks.files = [Path(f"/shoot/{name}") for name, _ in SHOT]
    yield go_on.set
    go_on.set()


def drop(window: MainWindow, qtbot: QtBot, folder: Path) -> None:
    song = folder / "song.wav"
    song.write_bytes(b"x")
    window.work.take_in([song])
    qtbot.waitUntil(lambda: window.progress.isVisible())
    window.work.take_in([Path("/shoot")])
    qtbot.waitUntil(lambda: bool(window.session.view.clips))


def activate(window: MainWindow, qtbot: QtBot) -> None:
    window.activateWindow()
    qtbot.waitUntil(lambda: QApplication.activeWindow() is window)


@pytest.mark.parametrize("number", range(6))
def test_the_space_bar_does_not_stop_the_song_that_is_being_read(
    qtbot: QtBot, window: MainWindow, slow: Callable[[], None], tmp_path: Path, number: int
) -> None:
    window.go(number)
    activate(window, qtbot)
    drop(window, qtbot, tmp_path)
    window.places[number].catch_up()
    focused = QApplication.focusWidget()
    assert focused is window.places[number] or window.places[number].isAncestorOf(focused)
    qtbot.keyClick(focused, Qt.Key.Key_Space)
    slow()
    qtbot.waitUntil(lambda: not window.running.doing)
    assert window.session.view.song is not None
    window.places[number].catch_up()
    assert QApplication.focusWidget() is window.places[number].driven_from()


def test_the_keyboard_goes_back_to_the_place_when_stop_goes_away(
    qtbot: QtBot, window: MainWindow, slow: Callable[[], None], tmp_path: Path
) -> None:
    activate(window, qtbot)
    drop(window, qtbot, tmp_path)
    window.progress.button.setFocus(Qt.FocusReason.TabFocusReason)
    assert window.progress.button.hasFocus(), "Tab reaches it"
    slow()
    qtbot.waitUntil(lambda: not window.running.doing)
    qtbot.waitUntil(lambda: window.clips.table.hasFocus())


def test_a_click_on_stop_leaves_the_keyboard_where_it_was(
    qtbot: QtBot, window: MainWindow, slow: Callable[[], None], tmp_path: Path
) -> None:
    activate(window, qtbot)
    drop(window, qtbot, tmp_path)
    window.clips.catch_up()
    qtbot.mouseClick(window.progress.button, Qt.MouseButton.LeftButton)
    assert window.clips.table.hasFocus()


def test_stopping_is_told_at_once(
    qtbot: QtBot, window: MainWindow, slow: Callable[[], None], tmp_path: Path
) -> None:
    drop(window, qtbot, tmp_path)
    qtbot.waitUntil(lambda: "Reading song.wav" in window.progress.text)
    window.action_table["stop"].trigger()
    assert window.progress.text == "Stopping…"
    assert not window.progress.button.isVisible()
    window.running.show("song", Doing("Reading on", 0.5))
    assert window.progress.text == "Stopping…"
    slow()
    qtbot.waitUntil(lambda: not window.running.doing)
    window.work.read_song(tmp_path / "song.wav")
    assert window.progress.text.startswith("Reading song.wav")
    assert window.progress.button.isVisible()
    qtbot.waitUntil(lambda: not window.running.doing)
