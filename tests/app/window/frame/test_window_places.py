"""Places are made when one goes there, or ahead of that, and nobody can tell which."""

import gc
from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import QSettings
from PySide6.QtWidgets import QApplication, QWidget
from pytestqt.qtbot import QtBot

from app.window.frame import window_places
from app.window.frame.folders import Folders
from app.window.frame.main_window import MainWindow
from app.window.session import EVERYTHING
from tests.app.window.answers import Answers
from tests.app.window.made_hand_over import MadeHandOver
from tests.app.window.made_up import MadeUpTasks, make_shoot

Start = Callable[[int], MainWindow]


@pytest.fixture
def start(qtbot: QtBot, tmp_path: Path, answers: Answers, monkeypatch: pytest.MonkeyPatch) -> Start:
    """Starts a window that makes a place ahead every so many milliseconds."""

    def one(ahead_ms: int) -> MainWindow:
        monkeypatch.setattr(window_places, "AHEAD_MS", ahead_ms)
        settings = QSettings(str(tmp_path / "settings.ini"), QSettings.Format.IniFormat)
        folders = Folders(tmp_path / "pictures", tmp_path / "unsaved")
        window = MainWindow(MadeUpTasks(), MadeHandOver(), settings, dialogs=answers, folders=folders)
        qtbot.addWidget(window)
        with qtbot.waitExposed(window):
            window.show()
        return window

    return one


def made(window: MainWindow) -> list[str]:
    return [place.title for place in window.places.made]


def test_a_place_is_made_when_one_goes_there(start: Start) -> None:
    window = start(10**8)
    window.session.apply("Make", (make_shoot(), EVERYTHING), "test")
    assert made(window) == ["Clips"]
    window.go(4)
    assert made(window) == ["Clips", "Score"]
    assert window.score.isVisible()
    assert window.score.isAncestorOf(QApplication.focusWidget())
    assert window.score.angles.list.count() == len(window.session.view.angles), "the shoot of before"
    tabs: list[QWidget] = [window]
    while (following := tabs[-1].nextInFocusChain()) is not window:
        assert following is not None
        tabs.append(following)
    order = [window.score.canvas, window.score.play_bar.button, window.progress.button]
    assert sorted(order, key=tabs.index) == order, "Tab comes to the button that stops last"


def test_the_others_are_made_ahead_and_nothing_is_seen_of_it(start: Start, qtbot: QtBot) -> None:
    frozen = gc.get_freeze_count()
    window = start(1)
    focused, windows = QApplication.focusWidget(), len(QApplication.topLevelWindows())
    qtbot.waitUntil(lambda: not window.places.unmade)
    qtbot.waitUntil(lambda: gc.get_freeze_count() > frozen)
    assert [place.isVisible() for place in window.places] == [True, *[False] * 5]
    assert QApplication.focusWidget() is focused
    assert len(QApplication.topLevelWindows()) == windows


def test_a_shoot_is_handed_off_as_before_though_nobody_went_there(start: Start, tmp_path: Path) -> None:
    window = start(10**8)
    window.session.apply("Make", (make_shoot(), EVERYTHING), "test")
    window.session.save(tmp_path / "evening.anglebook")
    window.handoff.folder.setText(str(tmp_path / "edit"))
    window.session.save(tmp_path / "evening.anglebook")
    window.close()
    for _ in range(2):
        window = start(10**8)
        window.session.open(tmp_path / "evening.anglebook")
        window.session.save(tmp_path / "evening.anglebook")
        assert "Hand-off" not in made(window)
        window.close()
    assert window.handoff.folder.text() == str(tmp_path / "edit")
