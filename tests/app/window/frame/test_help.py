"""Help: one page of keys that can be searched, how it goes, and the sample shoot one click away."""

from pathlib import Path

import pytest
from PySide6.QtWidgets import QLabel
from pytestqt.qtbot import QtBot

from app.engine import sample
from app.window.frame.how_window import HowWindow
from app.window.frame.keys_window import KeysWindow
from app.window.frame.main_window import MainWindow
from tests.app.window.made_up import MadeUpTasks


def said(listed: KeysWindow) -> list[str]:
    return [label.text() for label in listed.findChildren(QLabel)]


def test_keys_are_searched_by_action_and_by_key(shoot_window: MainWindow) -> None:
    shoot_window.action_table["keys"].trigger()
    listed = shoot_window.findChild(KeysWindow)
    assert listed is not None
    everything = len(said(listed))
    listed.search.setText("thin next")
    assert said(listed) == ["Score", "T", "next thin place or missing need"]
    listed.search.setText("ctrl+s")
    assert "Save" in said(listed)
    listed.search.setText("zoom")
    assert [key for key in said(listed) if key in ("+ −", "+ − 0", "0")] == ["+ − 0", "+ −", "0"]
    listed.search.setText("confirm this place")
    assert any("while pinning: pin the frame" in text for text in said(listed))
    listed.search.setText("volume")
    assert "Ctrl+Up" in said(listed)
    listed.search.setText("polka")
    assert said(listed) == ["No shortcut found."]
    listed.search.clear()
    assert len(said(listed)) == everything
    listed.close()


def test_every_key_of_the_window_and_its_places_is_on_the_page(shoot_window: MainWindow) -> None:
    shoot_window.action_table["keys"].trigger()
    listed = shoot_window.findChild(KeysWindow)
    assert listed is not None
    keys = " ".join(said(listed)).replace("Enter", "Return")
    for actions in (shoot_window.actions(), shoot_window.clips.actions(), shoot_window.handoff.actions()):
        for action in actions:
            assert action.shortcut().toString() in keys, action.text()
    listed.close()


def test_how_it_goes_warns_of_loud_listening(shoot_window: MainWindow) -> None:
    shoot_window.action_table["how"].trigger()
    page = shoot_window.findChild(HowWindow)
    assert page is not None
    text = " ".join(label.text() for label in page.findChildren(QLabel))
    assert "Start listening quietly" in text
    page.close()


def test_the_day_of_the_shoot_is_told_with_its_cautions(shoot_window: MainWindow) -> None:
    shoot_window.action_table["day"].trigger()
    page = shoot_window.findChild(HowWindow)
    assert page is not None
    assert page.windowTitle() == "The day of the shoot"
    text = " ".join(label.text() for label in page.findChildren(QLabel))
    for what in (
        "Sound on at every camera",
        "Roll before playback",
        "One clap",
        "Count-in",
        "same frame rate",
    ):
        assert what in text
    assert "None of it is a standard" in text
    assert "local rules say: they come first" in text
    page.close()


def test_a_second_page_takes_the_place_of_the_first(qtbot: QtBot, shoot_window: MainWindow) -> None:
    shoot_window.action_table["keys"].trigger()
    shoot_window.action_table["keys"].trigger()
    shown = [page for page in shoot_window.findChildren(KeysWindow) if page.isVisible()]
    assert len(shown) == 1
    shown[0].close()


def test_the_sample_shoot_is_one_click_away(
    qtbot: QtBot, window: MainWindow, tasks: MadeUpTasks, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    song, clips = tmp_path / "song.ogg", tmp_path / "clips"
    song.write_bytes(b"song")
    clips.mkdir()
    tasks.files = [clips / "fiddle" / "G0017.MOV", clips / "R0005.WAV"]
    monkeypatch.setattr("app.window.frame.main_window.sample_shoot", lambda: sample.Sample(song, clips))
    assert window.clips.first.sample.isVisible()
    window.clips.first.sample.click()
    qtbot.waitUntil(lambda: len(window.session.view.clips) == 2 and not window.running.doing)
    assert window.session.title == "Six O'Clock Ferry"
    assert window.session.path is None, "its first saving asks where; nothing is written beside it"
    assert window.session.view.song is not None
    assert sorted(path.name for path in tmp_path.iterdir() if path.name in ("song.ogg", "clips")) == [
        "clips",
        "song.ogg",
    ]
    assert list(clips.iterdir()) == []
    assert window.session.undo_label is None, "an undo too many would empty it"
