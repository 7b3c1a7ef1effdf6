"""Hand-off with the made-up shoot in it, and what it asks instead of writing to disk."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from app.window.frame.main_window import MainWindow
from app.window.handoff.handoff_place import HandoffPlace
from tests.app.window.made_hand_over import MadeHandOver


@pytest.fixture
def made(shoot_window: MainWindow) -> Iterator[MadeHandOver]:
    """What the window asks instead of writing to disk."""
    hand_over = shoot_window.handoff.hand_over
    assert isinstance(hand_over, MadeHandOver)
    yield hand_over
    hand_over.waits = False  # a test that failed must not leave a thread that waits for ever


@pytest.fixture
def place(qtbot: QtBot, shoot_window: MainWindow, tmp_path: Path) -> HandoffPlace:
    """The place in front, with a folder chosen, once it tells what would be written."""
    shown = shoot_window.handoff
    shoot_window.go(5)
    shown.folder.setText(str(tmp_path / "edit"))
    qtbot.waitUntil(lambda: bool(shown.files.entries))
    return shown
