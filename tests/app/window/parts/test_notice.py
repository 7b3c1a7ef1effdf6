"""What is told above the places goes with its cause; what is harmless is not in the warm colour."""

from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from app.model.edits import shoot_edits
from app.window.frame.main_window import MainWindow
from app.window.parts.notice import MOST, Notice
from app.window.parts.theme import Theme
from tests.app.window.made_up import MadeUpTasks


@pytest.fixture
def notice(qtbot: QtBot, theme: Theme) -> Notice:
    made = Notice(theme)
    qtbot.addWidget(made)
    return made


def test_one_cause_is_told_once_and_goes_when_it_is_mended(notice: Notice) -> None:
    notice.tell("a.wav can't be used as the song.", "song")
    notice.tell("b.wav can't be used as the song.", "song")
    notice.tell("The disk is full.", "copy")
    assert notice.text == "b.wav can't be used as the song.\nThe disk is full."
    notice.mended("song")
    assert notice.text == "The disk is full."
    notice.mended("copy")
    assert notice.isHidden()


def test_no_more_than_a_few_are_told(notice: Notice) -> None:
    for number in range(MOST + 2):
        notice.tell(f"Trouble {number}.")
    assert notice.text.splitlines() == [f"Trouble {n}." for n in range(2, MOST + 2)]


def test_what_is_harmless_is_plain_and_does_not_pile_up(notice: Notice) -> None:
    notice.say("There is no thin place.")
    notice.say("All clips are already in this shoot.")
    assert notice.text == "All clips are already in this shoot."
    assert notice.troubles.isHidden()
    assert notice.remark.property("role") == "ink"
    notice.tell("The disk is full.")
    assert notice.troubles.property("role") == "warm"
    notice.go_on()
    assert notice.text == "The disk is full."
    notice.clear()
    assert notice.isHidden()


def test_a_song_that_failed_is_told_until_a_song_is_read(
    qtbot: QtBot, window: MainWindow, tasks: MadeUpTasks
) -> None:
    tasks.song_error = OSError("This is not a recording.")
    window.work.read_song(Path("/shoot/a.txt"))
    qtbot.waitUntil(lambda: window.notice.text == "a.txt can't be used as the song. This is not a recording.")
    tasks.song_error = None
    window.work.read_song(Path("/shoot/a.wav"))
    assert window.notice.text == ""
    qtbot.waitUntil(lambda: not window.running.doing)


def test_a_remark_goes_with_the_next_step_and_all_of_it_with_another_shoot(window: MainWindow) -> None:
    window.work.message.emit("Nothing new.")
    window.session.apply("Name", shoot_edits.set_name(window.session.shoot, "x"), "test")
    assert window.notice.text == ""
    window.work.message.emit("Nothing new.")
    window.go(4)
    assert window.notice.text == ""
    window.running.failed.emit("find", "No such folder.")
    window.go(0)
    assert window.notice.text == "No such folder."
    window.session.new()
    assert window.notice.text == ""
