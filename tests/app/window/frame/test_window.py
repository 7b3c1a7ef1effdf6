"""Saving, opening, closing, the places and their figures, colours by menu."""

import threading
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import QSettings, Qt
from PySide6.QtGui import QColor
from pytestqt.qtbot import QtBot

from app.model.document import store
from app.model.document.verdict import Verdict
from app.model.edits import shoot_edits
from app.model.edits.shoot_edits import set_name
from app.window.frame.main_window import MainWindow
from app.window.parts.empty_page import EmptyPage
from app.window.session import EVERYTHING
from tests.app.window.answers import Answers
from tests.app.window.made_up import MadeUpTasks, make_clip, make_shoot, make_song


def test_save_and_open_give_the_same_shoot(
    shoot_window: MainWindow, answers: Answers, tmp_path: Path
) -> None:
    answers.save_path = tmp_path / "waltz"
    shoot_window.action_table["save"].trigger()
    path = tmp_path / "waltz.anglebook"
    assert path.is_file()
    assert not shoot_window.session.modified
    saved = shoot_window.session.view
    shoot_window.action_table["new"].trigger()
    assert not shoot_window.session.view.clips
    answers.shoot = path
    shoot_window.action_table["open"].trigger()
    assert shoot_window.session.view == saved
    assert shoot_window.windowTitle() == "waltz[*] – Anglebook"


def test_the_state_of_saving_is_told(qtbot: QtBot, shoot_window: MainWindow, tmp_path: Path) -> None:
    column = shoot_window.column
    column.refresh()
    assert column.saved == "● not saved yet"
    shoot_window.session.save(tmp_path / "w.anglebook")
    column.refresh()
    assert column.saved == "✓ all saved"
    shoot_window.session.apply("Name", shoot_edits.set_name(shoot_window.session.shoot, "x"), "test")
    column.refresh()
    assert column.saved == "● unsaved changes"
    assert shoot_window.isWindowModified()


@pytest.mark.parametrize(
    ("answer", "closes", "written"),
    [("cancel", False, False), ("discard", True, False), ("save", True, True)],
)
def test_closing_asks_when_there_are_changes(
    shoot_window: MainWindow, answers: Answers, tmp_path: Path, answer: str, closes: bool, written: bool
) -> None:
    answers.keep = answer
    answers.save_path = tmp_path / "kept.anglebook"
    assert shoot_window.close() is closes
    assert shoot_window.isVisible() is not closes
    assert answers.save_path.exists() is written
    assert answers.asked[0] == "keep harbour-waltz"
    answers.keep = "discard"


def test_closing_does_not_go_on_when_saving_was_given_up(shoot_window: MainWindow, answers: Answers) -> None:
    answers.keep, answers.save_path = "save", None
    assert not shoot_window.close()
    answers.keep = "discard"


def test_closing_an_untouched_window_asks_nothing(window: MainWindow, answers: Answers) -> None:
    assert window.close()
    assert answers.asked == []


def test_a_damaged_shoot_is_told_and_the_open_one_stays(
    shoot_window: MainWindow, answers: Answers, tmp_path: Path
) -> None:
    bad = tmp_path / "bad.anglebook"
    bad.write_text("not a shoot")
    before = shoot_window.session.view
    answers.shoot = bad
    shoot_window.action_table["open"].trigger()
    assert "bad.anglebook was not opened" in answers.asked[-1]
    assert shoot_window.session.view is before


def test_saving_into_nowhere_is_told(shoot_window: MainWindow, answers: Answers, tmp_path: Path) -> None:
    answers.save_path = tmp_path / "no such folder" / "w.anglebook"
    shoot_window.action_table["save as"].trigger()
    assert "could not be written" in answers.asked[-1]
    assert shoot_window.session.modified


def test_the_places_tell_their_figures(shoot_window: MainWindow) -> None:
    shoot_window.column.refresh()
    figures = {button.text(): button.figure for button in shoot_window.column.buttons}
    assert figures == {
        "Clips": "12 files",
        "Song": "64 bars",
        "Plan": "no needs yet",
        "Check": "1 in doubt",
        "Score": "2 thin so far",
        "Hand-off": "",
    }


def test_what_is_thin_is_final_only_when_all_clips_are_placed(qtbot: QtBot, shoot_window: MainWindow) -> None:
    warm, dim = shoot_window.theme.colour("warm"), shoot_window.theme.colour("dim")

    def painted() -> QColor:
        shoot_window.score.catch_up()
        shoot_window.column.refresh()
        shoot_window.score.canvas.grab()
        palette = shoot_window.score.canvas.lines.palette
        assert palette is not None
        return palette.thin

    shoot_window.go(4)
    assert painted() == dim
    assert shoot_window.score.zoom_row.summary.text() == "2 thin so far · 1 waiting"
    waiting = [clip.id for clip in shoot_window.session.view.clips if clip.verdict is Verdict.WAITING]
    result = shoot_edits.remove_clips(shoot_window.session.shoot, waiting)
    shoot_window.session.apply("Remove", result, "test")
    assert painted() == warm
    assert shoot_window.score.zoom_row.summary.text() == "2 thin places"
    figures = {button.text(): button.figure for button in shoot_window.column.buttons}
    assert figures["Score"] == "2 thin places"


def test_an_empty_score_tells_of_clips_still_to_be_placed(window: MainWindow) -> None:
    shoot, change = shoot_edits.set_song(window.session.shoot, make_song())
    shoot, more = shoot_edits.add_clips(shoot, [make_clip("Drums/C0001.mov").media])
    window.session.apply("Make", (shoot, change | more), "test")
    window.go(4)
    lines = [line.text() for line in window.score.empty.lines]
    assert lines[1].endswith("1 clip still to be placed.")
    assert lines[2] == "Clips (Ctrl+1) shows how far along each one is."


def test_ctrl_and_a_figure_go_to_a_place(qtbot: QtBot, shoot_window: MainWindow) -> None:
    for number, key in enumerate((Qt.Key.Key_5, Qt.Key.Key_4, Qt.Key.Key_1)):
        qtbot.keyClick(shoot_window, key, Qt.KeyboardModifier.ControlModifier)
        place = shoot_window.places[(4, 3, 0)[number]]
        assert place.isVisible(), place.title


def test_colours_are_chosen_by_menu_and_remembered(
    shoot_window: MainWindow, tasks: MadeUpTasks, tmp_path: Path
) -> None:
    shoot_window.action_table["dark"].trigger()
    assert shoot_window.theme.dark
    settings = QSettings(str(tmp_path / "settings.ini"), QSettings.Format.IniFormat)
    assert settings.value("window/colours") == "dark"
    shoot_window.action_table["light"].trigger()
    assert not shoot_window.theme.dark


def test_redo_is_told_as_such_though_there_is_more_to_redo(shoot_window: MainWindow) -> None:
    session, column = shoot_window.session, shoot_window.column
    for name in ("one", "two"):
        session.apply(f"Name {name}", shoot_edits.set_name(session.shoot, name), "test")
    session.undo()
    session.undo()
    column.refresh()
    assert column.undone == "↶ undone: Name one; Redo brings it back"
    session.redo()
    column.refresh()
    assert column.undone == "↷ redone: Name one; next Redo: Name two"
    session.redo()
    column.refresh()
    assert column.undone == ""


def test_the_song_tells_its_figures(shoot_window: MainWindow) -> None:
    shoot_window.go(1)
    shoot_window.song.catch_up()
    assert shoot_window.song.text == "2:08.5 · 90.0 bpm · 64 bars · 3 beats per bar · 8 sections"


def test_the_keys_are_listed(qtbot: QtBot, shoot_window: MainWindow) -> None:
    from PySide6.QtWidgets import QLabel

    from app.window.frame.keys_window import KeysWindow

    shoot_window.action_table["keys"].trigger()
    listed = shoot_window.findChild(KeysWindow)
    assert listed is not None
    said = {label.text() for label in listed.findChildren(QLabel)}
    assert {"next thin place or missing need", "Ctrl+S", "Score"} <= said
    listed.close()


def test_no_two_actions_seen_together_share_a_key(shoot_window: MainWindow) -> None:
    everywhere = [a.shortcut().toString() for a in shoot_window.actions() if not a.shortcut().isEmpty()]
    assert len(everywhere) == len(set(everywhere))
    for place in shoot_window.places:
        own = [a.shortcut().toString() for a in place.actions() if not a.shortcut().isEmpty()]
        assert len(own) == len(set(own))
        assert not set(own) & set(everywhere), place.title


def test_a_shoot_replaced_while_shown_is_shown(qtbot: QtBot, shoot_window: MainWindow) -> None:
    shoot_window.go(4)
    shoot_window.score.catch_up()
    shoot_window.session.new()
    qtbot.waitUntil(lambda: not shoot_window.score.canvas.score.systems)
    shoot_window.session.apply("Make", (make_shoot(), EVERYTHING), "test")
    qtbot.waitUntil(lambda: bool(shoot_window.score.canvas.score.systems))


def test_a_window_that_was_large_can_be_small_again(qtbot: QtBot, shoot_window: MainWindow) -> None:
    for number, place in enumerate(shoot_window.places):
        shoot_window.go(number)
        if number == 3:
            shoot_window.score.action_table["watch"].trigger()
        for size in ((2560, 1440), (1280, 720)):
            shoot_window.resize(*size)
            qtbot.wait(50)  # what is laid out for the large one is there before the small one is asked for
            assert shoot_window.size().toTuple() == size, place.title


def test_a_song_that_is_being_read_is_told_at_every_place(
    qtbot: QtBot, window: MainWindow, tasks: MadeUpTasks
) -> None:
    go_on = threading.Event()

    def wait(stop: Callable[[], bool]) -> None:
        go_on.wait(5)

    tasks.before_answer = wait
    window.work.read_song(Path("/shoot/ferry.wav"))
    figure = next(button for button in window.column.buttons if button.text() == "Song")
    page = window.song.findChild(EmptyPage)
    assert figure.figure == "reading…"
    assert page.lines[0].text() == "Reading ferry.wav…"
    go_on.set()
    qtbot.waitUntil(lambda: window.session.view.song is not None and not window.running.doing)
    assert figure.figure != "reading…"
    assert page.lines[0].text().startswith("Drop the song")


def test_two_windows_on_one_shoot_ask_before_one_loses_the_others_work(
    shoot_window: MainWindow, answers: Answers, tmp_path: Path
) -> None:
    path, other = tmp_path / "w.anglebook", tmp_path / "mine.anglebook"
    shoot_window.session.save(path)

    def rename(name: str) -> None:
        session = shoot_window.session
        session.apply("Name", shoot_edits.set_name(session.shoot, name), "test")

    def theirs() -> None:
        store.save(replace(store.load(path), name="theirs"), path)

    rename("mine")
    theirs()
    answers.one = None
    assert not shoot_window.shoot_file.save()
    assert "Another window or a command has saved" in answers.asked[-1]
    assert len(answers.offered) == 3
    assert (store.load(path).name, shoot_window.session.shoot.name) == ("theirs", "mine")
    answers.one = 1
    assert shoot_window.shoot_file.save()
    assert store.load(path).name == "mine"
    rename("mine too")
    theirs()
    answers.one, answers.save_path = 0, other
    assert shoot_window.shoot_file.save()
    assert (store.load(path).name, store.load(other).name) == ("theirs", "mine too")
    rename("given up")
    store.save(replace(store.load(other), name="theirs"), other)
    answers.one = 2
    assert shoot_window.shoot_file.save()
    assert shoot_window.session.view.name == "theirs"
    assert not shoot_window.session.modified
    asked = len(answers.asked)
    rename("on")
    assert shoot_window.shoot_file.save()
    assert len(answers.asked) == asked, "nobody else saved"


def test_a_shoot_from_elsewhere_is_asked_about_before_anything_is_read(
    window: MainWindow, answers: Answers, tmp_path: Path
) -> None:
    path = tmp_path / "theirs.anglebook"
    path.write_text(store.to_text(replace(make_shoot(), name="from elsewhere"), tmp_path), "utf-8")
    answers.one = None
    window.take_in([path])
    assert not window.session.view.clips
    assert "not saved on this computer" in answers.asked[-1]
    folder = str(Path(make_shoot().clips[-1].media.path).parent)
    assert folder in answers.asked[-1].splitlines()
    answers.one = 0
    window.take_in([path])
    assert window.session.view.clips
    window.session.new()
    asked = len(answers.asked)
    window.take_in([path])
    assert window.session.view.clips
    assert len(answers.asked) == asked, "agreed to once"


def test_the_name_of_a_wrong_song_goes_with_it_and_a_typed_one_stays(
    qtbot: QtBot, window: MainWindow
) -> None:
    def read(song: str) -> str:
        window.work.read_song(Path("/shoot") / song)
        qtbot.waitUntil(lambda: not window.running.doing)
        return window.session.shoot.name

    first, second = read("wrong.wav"), read("ferry.wav")
    assert (first, second) == ("wrong", "ferry")
    window.session.apply("Name", set_name(window.session.shoot, "Sunday"), "test")
    assert read("wrong.wav") == "Sunday"
