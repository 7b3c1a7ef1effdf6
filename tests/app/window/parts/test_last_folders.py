"""Questions about files begin where the last one of their kind was answered."""

from pathlib import Path

import pytest
from PySide6.QtCore import QSettings
from PySide6.QtWidgets import QFileDialog, QWidget
from pytestqt.qtbot import QtBot

from app.engine.sample import sample_shoot
from app.model.document.shoot import Shoot
from app.model.edits import shoot_edits
from app.window.frame.main_window import MainWindow
from app.window.parts.dialogs import WindowDialogs
from app.window.parts.last_folders import LastFolders
from tests.app.window.made_up import make_song


def test_a_question_begins_where_the_last_of_its_kind_was_answered(
    qtbot: QtBot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    begun: list[str] = []
    card, shoot = tmp_path / "card", tmp_path / "shoot"
    card.mkdir()
    shoot.mkdir()

    def folder(parent: QWidget, title: str, start: str) -> str:
        begun.append(start)
        return str(card)

    def file(parent: QWidget, title: str, start: str, kinds: str) -> tuple[str, str]:
        begun.append(start)
        return str(shoot / "song.wav"), ""

    monkeypatch.setattr(QFileDialog, "getExistingDirectory", folder)
    monkeypatch.setattr(QFileDialog, "getOpenFileName", file)
    settings = QSettings(str(tmp_path / "settings.ini"), QSettings.Format.IniFormat)
    window = QWidget()
    qtbot.addWidget(window)
    asked = WindowDialogs(window, LastFolders(settings, lambda: tmp_path))
    assert asked.choose_folder("Add a folder of clips") == card
    assert asked.choose_song() == shoot / "song.wav"
    asked.choose_folder("Add a folder of clips")
    asked.choose_song()
    asked.choose_shoot()
    assert begun == [str(tmp_path), str(tmp_path), str(card), str(shoot), str(tmp_path)]


def test_a_folder_that_is_gone_is_not_begun_in(tmp_path: Path) -> None:
    settings = QSettings(str(tmp_path / "settings.ini"), QSettings.Format.IniFormat)
    folders = LastFolders(settings, lambda: None)
    folders.keep("clips", tmp_path / "gone")
    assert folders.start("clips") == str(Path.home())


def test_a_question_begins_at_the_shoot_but_not_in_the_sample(shoot_window: MainWindow) -> None:
    assert shoot_window.near() == Path("/shoot")
    sample = sample_shoot()
    assert sample is not None
    result = shoot_edits.set_song(Shoot(), make_song(str(sample.song)))
    shoot_window.session.apply("Song", result, "test")
    assert shoot_window.near() is None
