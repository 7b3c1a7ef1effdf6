"""Preferences: kept at once; emptying the cache removes what was made and nothing else."""

from pathlib import Path

import pytest
from PySide6.QtCore import QSettings
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from app.model.storage import cache_space
from app.model.storage.cache import CHOSEN, user_cache
from app.window.frame.main_window import MainWindow
from app.window.frame.preferences import Preferences
from app.window.frame.preferences_window import PreferencesWindow
from app.window.parts.theme import Scheme
from tests.app.window.answers import Answers


@pytest.fixture
def settings(tmp_path: Path) -> QSettings:
    return QSettings(str(tmp_path / "settings.ini"), QSettings.Format.IniFormat)


@pytest.fixture
def opened(
    window: MainWindow, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, qtbot: QtBot
) -> PreferencesWindow:
    monkeypatch.setenv(CHOSEN, str(tmp_path / "cache"))
    for room in ("answers", "pictures", "other"):
        made = tmp_path / "cache" / "anglebook" / room
        made.mkdir(parents=True)
        (made / "one").write_bytes(b"x" * 600_000)
    window.action_table["preferences"].trigger()
    found = window.findChild(PreferencesWindow)
    assert found is not None
    qtbot.waitUntil(lambda: "1.2 MB" in found.folder.text())
    return found


def test_the_cache_is_measured_and_emptied(opened: PreferencesWindow, tmp_path: Path, qtbot: QtBot) -> None:
    opened.empty.click()
    qtbot.waitUntil(lambda: "empty, 1.2 MB cleared" in opened.folder.text())
    left = [path.name for path in (tmp_path / "cache").rglob("*") if path.is_file()]
    assert left == ["one"], "what others put there stays"
    assert (tmp_path / "cache" / "anglebook" / "other" / "one").is_file()
    opened.close()


def test_colours_are_chosen_at_once(opened: PreferencesWindow, window: MainWindow) -> None:
    opened.colours.setCurrentIndex(2)
    opened.colours.activated.emit(2)
    assert window.theme.dark
    assert window.action_table["dark"].isChecked()
    assert window.preferences.scheme is Scheme.DARK
    opened.colours.setCurrentIndex(1)
    opened.colours.activated.emit(1)
    assert not window.theme.dark
    opened.close()


def test_folder_and_text_hold_from_the_next_start(
    opened: PreferencesWindow, window: MainWindow, answers: Answers, tmp_path: Path
) -> None:
    answers.folder = tmp_path / "quick disk"
    opened.choose.click()
    assert "the next time" in opened.folder.text()
    assert window.preferences.cache_folder == tmp_path / "quick disk"
    opened.system.click()
    assert window.preferences.cache_folder is None
    opened.text.setCurrentIndex(3)
    opened.text.activated.emit(3)
    assert opened.hint.isVisible()
    assert window.preferences.text_size == 150
    opened.keep_folder.click()
    assert not window.preferences.keeps_handoff_folder
    opened.close()


def test_what_was_set_takes_effect_at_the_start(
    settings: QSettings, qapp: QApplication, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv(CHOSEN, "")  # put back at the end to what it was, whatever is set meanwhile
    monkeypatch.delenv(CHOSEN)
    preferences, before = Preferences(settings), qapp.font()
    preferences.set_text_size(130)
    preferences.set_cache_folder(tmp_path / "quick")
    try:
        preferences.take_effect(qapp)
        assert qapp.font().pointSizeF() == pytest.approx(before.pointSizeF() * 1.3)
        assert user_cache() == tmp_path / "quick" / "anglebook"
    finally:
        qapp.setFont(before)


@pytest.mark.parametrize("kept", ["12", "big", "-3", ""])
def test_settings_that_make_no_sense_are_passed_over(settings: QSettings, kept: str) -> None:
    settings.setValue("window/text size", kept)
    settings.setValue("window/colours", kept)
    settings.setValue("cache/folder", kept)
    preferences = Preferences(settings)
    assert preferences.text_size == 100
    assert preferences.scheme is Scheme.SYSTEM
    assert preferences.cache_folder is None


def test_a_cache_that_is_not_there_is_empty(tmp_path: Path) -> None:
    assert cache_space.size_bytes(tmp_path / "none") == 0
    assert cache_space.empty(tmp_path / "none") == 0


def test_the_usual_places_of_the_menus_are_told_to_the_system(window: MainWindow) -> None:
    role = QAction.MenuRole
    assert window.action_table["preferences"].menuRole() is role.PreferencesRole
    assert window.action_table["about"].menuRole() is role.AboutRole
    assert window.action_table["close"].menuRole() is role.QuitRole
