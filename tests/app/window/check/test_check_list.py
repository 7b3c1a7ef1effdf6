"""The list of Check: rows stay, undo goes to its take, refused takes are taken back, nothing old is left."""

from dataclasses import replace

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QFontMetricsF
from pytestqt.qtbot import QtBot

from app.model.check_queue import Shown
from app.model.document.media_ref import MediaRef
from app.model.document.verdict import Verdict
from app.model.on_song import Clip
from app.window.check import proof_cell
from app.window.check.check_place import CheckPlace
from app.window.check.queue_row import fitted
from app.window.frame.main_window import MainWindow
from app.window.parts import words
from app.window.parts.empty_page import EmptyPage
from app.window.session import EVERYTHING
from tests.app.documents import document
from tests.app.window.answers import Answers
from tests.app.window.check.driving import NONE, SHIFT, clip_of, hands, key, proved
from tests.app.window.made_up import make_clip, with_clip


def keys_of(check: CheckPlace) -> list[str]:
    return [entry.key for entry in check.queue.entries]


def test_rows_stay_until_they_are_sorted_again(check: CheckPlace) -> None:
    before = keys_of(check)
    key(check, Qt.Key.Key_Return)
    assert keys_of(check) == before
    assert check.list.currentRow() == 1
    assert check.list.item(0).text().startswith("C0008\n✓ confirmed")
    key(check, Qt.Key.Key_F, SHIFT)
    assert keys_of(check).index(before[0]) == len(before) - 2, "with what was decided"
    assert check.examined.entry is not None
    assert check.examined.entry.key == before[1], "the one looked at stays"


def test_a_kind_that_is_listed_keeps_what_was_decided_until_it_is_listed_again(check: CheckPlace) -> None:
    key(check, Qt.Key.Key_F)
    assert check.queue.shown is Shown.DOUBT
    key(check, Qt.Key.Key_Return)
    assert check.list.count() == 1
    assert check.page.message.text() == "That was the last take in the list. Nothing is in doubt."
    key(check, Qt.Key.Key_F, SHIFT)
    assert check.list.count() == 0


def test_undo_and_redo_go_to_the_take_they_are_about(shoot_window: MainWindow, check: CheckPlace) -> None:
    key(check, Qt.Key.Key_Return)
    key(check, Qt.Key.Key_Down)
    key(check, Qt.Key.Key_Down)
    shoot_window.action_table["undo"].trigger()
    assert check.examined.take == hands(check)
    key(check, Qt.Key.Key_Down)
    shoot_window.action_table["redo"].trigger()
    assert check.examined.take == hands(check)
    check.queue.filter.setCurrentIndex(list(Shown).index(Shown.WITHOUT))
    shoot_window.action_table["undo"].trigger()
    assert check.examined.take == hands(check), "even where it was not listed"


def test_a_refused_take_keeps_its_row_and_is_taken_back(shoot_window: MainWindow, check: CheckPlace) -> None:
    row = next(n for n, e in enumerate(check.queue.entries) if "C0005" in e.clip.media.path)
    check.list.setCurrentRow(row)
    before = check.session.view
    key(check, Qt.Key.Key_N)
    assert len(clip_of(check, "C0005").takes) == 1
    assert check.list.currentRow() == row + 1
    key(check, Qt.Key.Key_Up)
    assert "– not this song" in check.list.item(row).text()
    assert check.action_table["refuse"].text() == "Unmark"
    assert "Press N to unmark it" in check.page.reason.text()
    assert not check.action_table["confirm"].isEnabled()
    refused = check.session.view
    key(check, Qt.Key.Key_Right)
    assert check.session.view == refused
    assert "Press N to unmark it" in check.page.message.text()
    key(check, Qt.Key.Key_N)
    assert check.session.view == before
    assert check.list.currentRow() == row
    shoot_window.action_table["undo"].trigger()
    assert check.session.view == refused


def test_a_clip_refused_as_a_whole_is_taken_back(check: CheckPlace) -> None:
    before = check.session.view
    key(check, Qt.Key.Key_N)
    assert clip_of(check).verdict is Verdict.NO_SONG
    key(check, Qt.Key.Key_Up)
    key(check, Qt.Key.Key_N)
    assert check.session.view == before


def test_a_clip_without_a_take_is_refused_and_taken_back(check: CheckPlace) -> None:
    before = check.session.view
    check.queue.filter.setCurrentIndex(list(Shown).index(Shown.WITHOUT))
    assert "C0010" in check.list.item(0).text()
    action = check.action_table["refuse"]
    key(check, Qt.Key.Key_N)
    assert clip_of(check, "C0010").decided is not None
    check.list.setCurrentRow(0)
    assert (action.text(), action.isEnabled()) == ("Unmark", True)
    assert "Press N to unmark it." in check.list.item(0).toolTip()
    assert check.page.reason.text().endswith("Press N to unmark it.")
    key(check, Qt.Key.Key_N)
    assert check.session.view == before
    assert (action.text(), action.isEnabled()) == ("Not This Song", True)


def test_what_was_said_goes_with_its_cause(qtbot: QtBot, check: CheckPlace) -> None:
    key(check, Qt.Key.Key_2)
    key(check, Qt.Key.Key_Right)
    assert check.page.message.text().startswith("This is a preview of place 2.")
    key(check, Qt.Key.Key_Escape)
    assert check.page.message.text() == ""
    key(check, Qt.Key.Key_P)
    key(check, Qt.Key.Key_Return)
    assert check.page.message.text().startswith("Pinned.")
    key(check, Qt.Key.Key_Right)
    assert check.page.message.text() == ""
    key(check, Qt.Key.Key_P)
    key(check, Qt.Key.Key_S)
    qtbot.waitUntil(lambda: check.page.message.text().startswith("No fit"))
    key(check, Qt.Key.Key_Right)
    assert check.page.message.text() == "", "the take lies elsewhere now"
    check.view.tell("About this take.")
    key(check, Qt.Key.Key_Down)
    assert check.page.message.text() == "", "and this is another one"
    check.queue.filter.setCurrentIndex(list(Shown).index(Shown.WITHOUT))
    key(check, Qt.Key.Key_D)
    assert check.page.message.text() == "No listed take is in doubt."
    check.queue.filter.setCurrentIndex(0)
    assert check.page.message.text() == ""


def test_an_empty_list_leaves_nothing_of_the_last_take(qtbot: QtBot, check: CheckPlace) -> None:
    proved(qtbot, check)
    check.queue.filter.setCurrentIndex(list(Shown).index(Shown.DECIDED))
    assert check.list.count() == 0
    assert check.page.strip.words == "You have not decided on any take yet. Press F to list other takes."
    assert check.page.strip.proof is None
    assert all(cell.proof is None for cell in check.page.cells)
    assert check.page.lag.take is None
    assert (check.page.lag_words.text(), check.page.agreement.text()) == ("", "")


def test_trouble_with_one_take_is_not_that_of_the_next(qtbot: QtBot, check: CheckPlace) -> None:
    proved(qtbot, check)
    check.proving.trouble = "The clip is not there."
    assert "not there" in check.view.note()
    check.list.setCurrentRow(2)
    assert "not there" not in check.page.strip.words


def test_a_narrow_list_keeps_file_and_take(check: CheckPlace) -> None:
    metrics = QFontMetricsF(check.list.font())
    width = metrics.horizontalAdvance("A003_C012, take 2")
    name = fitted("A003_C012_0705XQ_reel, take 2", ", take 2", metrics, width)
    assert name.startswith("A00")
    assert name.endswith(", take 2")
    assert metrics.horizontalAdvance(name) <= width
    tip = check.list.item(0).toolTip()
    assert all(part in tip for part in ("C0008", "Hands", "2 likely places", "Two places fit equally well"))


def test_a_narrow_moment_keeps_its_name_and_which_way_the_lag_goes(check: CheckPlace) -> None:
    metrics = check.fontMetrics()
    width = metrics.horizontalAdvance("0.1 late")
    assert proof_cell.fitted("0.1 frame late", metrics, width) == "0.1 late"
    assert proof_cell.fitted("start, bar 50", metrics, metrics.horizontalAdvance("start,")) == "start"


def test_the_colour_of_an_angle_is_that_of_the_score(check: CheckPlace) -> None:
    shoot = check.session.shoot
    turned = replace(shoot, angles=tuple(reversed(shoot.angles)))
    check.session.apply("Make", (turned, EVERYTHING), "test")
    check.catch_up()
    clip = clip_of(check)
    expected = check.theme.angle_colour(turned.angle(clip.angle_id))
    assert check.page.strip.colour == expected
    key(check, Qt.Key.Key_Down, NONE)


def test_f2_renames_the_angle_of_the_take_as_in_the_score(check: CheckPlace, answers: Answers) -> None:
    assert check.examined.entry is not None
    angle_id = check.examined.entry.clip.angle_id
    answers.text = "Left hand"
    key(check, Qt.Key.Key_F2)
    assert check.session.view.angle(angle_id).name == "Left hand"
    assert check.session.undo_label == "Rename Angle"
    assert any("rename the angle" in line.text for line in check.key_lines() if line.keys == "F2")


def test_nothing_to_check_yet_says_what_is_still_to_come(shoot_window: MainWindow, check: CheckPlace) -> None:
    shoot = shoot_window.session.view
    waiting = tuple(replace(clip, verdict=Verdict.WAITING, takes=()) for clip in shoot.clips)
    shoot_window.session.apply("Wait", (document(replace(shoot, clips=waiting)), EVERYTHING), "test")
    check.catch_up()
    told = check.findChild(EmptyPage).lines[2].text()
    assert told.startswith(f"{len(waiting)} clips still to be placed"), told


def test_clips_of_one_name_are_told_apart_by_their_folders(check: CheckPlace) -> None:
    twin = make_clip("Hands B/C0008.mov", ((18, 20.6, False),))
    check.session.apply("Make", (with_clip(check.session.shoot, twin), EVERYTHING), "test")
    check.catch_up()
    lines = [check.list.item(row).text().partition("\n")[0] for row in range(check.list.count())]
    assert "C0008 · Hands" in lines
    assert "C0008 · Hands B" in lines
    assert "C0001" in lines, "what no other clip is called needs no folder"
    check.list.setCurrentRow(lines.index("C0008 · Hands B"))
    assert check.page.line.text().startswith("C0008 · Hands B · ")
    metrics = QFontMetricsF(check.list.font())
    assert fitted(
        "C0008 · Hands B", " · Hands B", metrics, metrics.horizontalAdvance("C00 · Hands B")
    ).endswith(" · Hands B")


@pytest.mark.parametrize(
    ("paths", "told"),
    [
        (("/s/A/C1.mov", "/s/B/C1.mov"), ("A", "B")),
        (("/s/A/CLIP/C1.mov", "/s/B/CLIP/C1.mov", "/s/B/CLIP/C2.mov"), ("A", "B", "")),
        (("/s/A/C1.mov", "/s/A/C1.wav"), ("C1.mov", "C1.wav")),
        (("/s/C1.mov", "/s/B/C1.mov"), ("s", "B")),
        ((r"D:\s\A\C1.mov", r"D:\s\B\C1.mov"), ("A", "B")),
    ],
)
def test_the_folder_that_is_told_is_one_that_differs(paths: tuple[str, ...], told: tuple[str, ...]) -> None:
    clips = [Clip(str(n), MediaRef(path, 1, ""), "a") for n, path in enumerate(paths)]
    found = words.told_apart(clips)
    assert tuple(found.get(clip.id, "") for clip in clips) == told


def test_letters_do_not_jump_to_takes_that_begin_so(check: CheckPlace, qtbot: QtBot) -> None:
    """A key whose action cannot be used here must not look at another clip."""
    names = {check.list.item(row).text()[:1] for row in range(check.list.count())}
    assert any(names), "entries have words that a letter could find"
    before = check.list.currentRow()
    for name in names:
        check.list.keyboardSearch("")  # a new word begins
        check.list.keyboardSearch(name)
        assert check.list.currentRow() == before
