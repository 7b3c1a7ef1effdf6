"""A window with a made-up engine, for the tests of the views."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QSettings
from pytestqt.qtbot import QtBot

from app.window.frame import window_places
from app.window.frame.folders import Folders
from app.window.frame.main_window import MainWindow
from app.window.parts.theme import Theme
from app.window.session import EVERYTHING
from tests.app.window.answers import Answers
from tests.app.window.made_hand_over import MadeHandOver
from tests.app.window.made_up import MadeUpTasks, make_shoot


@pytest.fixture(autouse=True, scope="session")
def nothing_ahead() -> Iterator[None]:
    """Places are made when a test goes there; that they are made ahead, test_window_places.py tells."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(window_places, "AHEAD_MS", 10**8)
        yield


@pytest.fixture
def answers() -> Answers:
    return Answers()


@pytest.fixture
def tasks() -> MadeUpTasks:
    return MadeUpTasks()


@pytest.fixture
def theme(qapp: object) -> Theme:
    return Theme()


@pytest.fixture
def window(qtbot: QtBot, tmp_path: Path, tasks: MadeUpTasks, answers: Answers) -> MainWindow:
    """An empty window on screen."""
    settings = QSettings(str(tmp_path / "settings.ini"), QSettings.Format.IniFormat)
    made = MainWindow(
        tasks,
        MadeHandOver(),
        settings,
        dialogs=answers,
        folders=Folders(tmp_path / "pictures", tmp_path / "unsaved"),
    )
    qtbot.addWidget(made)
    made.resize(1280, 800)
    with qtbot.waitExposed(made):
        made.show()
    return made


@pytest.fixture
def shoot_window(window: MainWindow) -> MainWindow:
    """A window with the made-up shoot in it. Places show it once one goes there, as they do for a person."""
    window.session.apply("Make", (make_shoot(), EVERYTHING), "test")
    window.places[window.place_number].catch_up()
    return window
