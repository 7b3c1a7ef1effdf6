"""Takes compared with the reference in Check: the choice of it, figures, pictures, the list by distance."""

from collections.abc import Callable

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QPushButton
from pytestqt.qtbot import QtBot

from app.model.document.looks import Match
from app.model.on_song import Clip, SongView, Take, reference_take
from app.window.check.check_place import CheckPlace
from app.window.check.compare_steps import IS_REFERENCE, NONE_YET, NOT_COMPARED, RUNNING
from app.window.frame.main_window import MainWindow
from app.window.work.background_match import SLOT
from tests.app.window.check.driving import SHIFT, key
from tests.app.window.made_up import MadeUpTasks

KEY = Qt.Key
FAR = {"C0001": (0.62, 0.12, 0.0), "C0003": (-2.0, 0.0, -0.4), "C0005": (0.01, 0.0, 0.0)}
"""Stops, warm and green of some takes against the reference, by file; all others sit 0.1 stop off."""


def matched(shoot: SongView) -> tuple[Match, ...]:
    """What the engine answers."""
    reference = shoot.reference
    assert reference is not None
    return tuple(
        Match(
            clip.id, take.clip_start_s, take.clip_end_s,
            reference.clip_id, reference.clip_start_s, reference.clip_end_s,
            (1.5, 1.0, 0.5), (0.0, 0.0, 0.0), (1.0, 1.0, 1.0), 1.0,
            *FAR.get(clip.media.path[-9:-4], (0.1, 0.0, 0.0)), 0.02, 0.0, 0.0,
            doubts=("clipped",) if "C0003" in clip.media.path else (),
        )
        for clip in shoot.clips
        for take in clip.takes
        if take != reference_take(shoot)
    )  # fmt: skip


@pytest.fixture
def idle(check: CheckPlace, shoot_window: MainWindow, tasks: MadeUpTasks, qtbot: QtBot) -> Callable[[], None]:
    """Waits until takes were compared and pictures read."""
    tasks.matched = matched

    def waited() -> None:
        qtbot.waitUntil(lambda: not shoot_window.match.busy and not check.comparing.waiting)
        check.catch_up()

    return waited


def take_of(window: MainWindow, file: str) -> tuple[Clip, Take]:
    clip = next(one for one in window.session.view.clips if file in one.media.path)
    return clip, clip.takes[0]


def look_at(check: CheckPlace, window: MainWindow, file: str) -> None:
    check.look_at(take_of(window, file)[1].id)


def refer(check: CheckPlace, window: MainWindow, file: str = "C0009") -> None:
    look_at(check, window, file)
    key(check, KEY.Key_C, SHIFT)


def test_without_a_reference_the_page_says_what_to_do(
    check: CheckPlace, shoot_window: MainWindow, tasks: MadeUpTasks, qtbot: QtBot
) -> None:
    assert check.page.apart.isHidden(), "nobody asked: the proof needs the room"
    key(check, KEY.Key_C)
    assert check.compare_page.isVisible()
    assert check.compare_page.apart.text() == NONE_YET
    qtbot.waitUntil(lambda: not check.comparing.waiting)
    assert check.compare_page.pictures.pictures == 1, "the take alone, to see whether it looks right"
    assert not check.compare_page.distances.isVisible()
    key(check, KEY.Key_C)
    assert not check.compare_page.isVisible()
    assert tasks.matched_with == []


def test_a_take_tells_how_far_it_sits_from_the_reference(
    check: CheckPlace, shoot_window: MainWindow, tasks: MadeUpTasks, idle: Callable[[], None]
) -> None:
    refer(check, shoot_window)
    idle()
    assert [one and one.clip_id for one in tasks.matched_with] == [take_of(shoot_window, "C0009")[0].id]
    look_at(check, shoot_window, "C0001")
    told = (
        "Against the reference: 0.6 stops brighter, a little warmer (+0.12). After the match: about the same."
    )
    assert check.page.apart.text() == told
    assert check.page.apart.isVisible(), "beside the proof"
    key(check, KEY.Key_C)
    idle()
    page = check.compare_page
    assert page.apart.text() == "0.6 stops brighter, a little warmer (+0.12)."
    assert page.note.isVisible()
    assert not page.doubts.isVisible()
    look_at(check, shoot_window, "C0003")
    assert page.doubts.isVisible()
    assert "clipped" in page.doubts.text()


def test_both_are_shown_at_one_moment_of_the_song_before_and_after_the_match(
    check: CheckPlace, shoot_window: MainWindow, tasks: MadeUpTasks, idle: Callable[[], None]
) -> None:
    refer(check, shoot_window)
    idle()
    look_at(check, shoot_window, "C0001")
    assert tasks.beside == [], "nothing is read for a page that is not seen"
    key(check, KEY.Key_C)
    idle()
    (clip, take), (owner, reference) = take_of(shoot_window, "C0001"), take_of(shoot_window, "C0009")
    (path, at_s), shown, match = tasks.beside[-1]
    assert shown is not None
    assert (str(path), str(shown[0])) == (owner.media.path, clip.media.path)
    assert reference.song_time(at_s) == pytest.approx(take.song_time(shown[1]), abs=0.002)
    assert match == take.match
    assert check.compare_page.pictures.pictures == 3
    refer(check, shoot_window, "C0001")
    idle()
    assert check.compare_page.apart.text() == IS_REFERENCE
    assert check.compare_page.pictures.pictures == 1


def test_takes_are_listed_by_distance_and_gone_through_so(
    check: CheckPlace, shoot_window: MainWindow, idle: Callable[[], None]
) -> None:
    refer(check, shoot_window)
    key(check, KEY.Key_C)
    idle()
    rows = [check.compare_page.distances.list.item(n).text() for n in range(3)]
    assert [row[:11] for row in rows[:2]] == ["2.04 → 0.02", "0.63 → 0.02"]
    assert rows[0].startswith("2.04 → 0.02   ? ")
    assert "clipped" in rows[0]
    last = check.compare_page.distances.list.count() - 1
    assert check.compare_page.distances.list.currentRow() == last, "the reference itself"
    key(check, KEY.Key_Up)
    entry = check.examined.entry
    assert entry is not None
    assert entry.clip.media.path.endswith("C0005.mov"), "the nearest of them"
    check.compare_page.distances.list.setCurrentRow(0)
    assert check.examined.entry is not None
    assert check.examined.entry.clip.media.path.endswith("C0003.mov")


def test_the_reference_is_a_step_and_is_compared_with_again(
    check: CheckPlace, shoot_window: MainWindow, tasks: MadeUpTasks, idle: Callable[[], None]
) -> None:
    session = shoot_window.session
    refer(check, shoot_window)
    idle()
    refer(check, shoot_window, "C0001")
    idle()
    assert session.undo_label == "Use as Reference"
    assert len(tasks.matched_with) == 2
    session.undo()
    idle()
    reference = reference_take(session.view)
    assert reference is not None
    assert reference.id == take_of(shoot_window, "C0009")[1].id
    assert take_of(shoot_window, "C0001")[1].match is not None
    refer(check, shoot_window)
    idle()
    assert session.view.reference is None, "the same key on the reference takes it back"
    assert session.undo_label == "No Reference"


def test_comparing_can_be_stopped_and_trouble_is_told(
    check: CheckPlace, shoot_window: MainWindow, tasks: MadeUpTasks, qtbot: QtBot, idle: Callable[[], None]
) -> None:
    def until_stopped(stop: Callable[[], bool]) -> None:
        while not stop():
            pass

    tasks.before_match = until_stopped
    key(check, KEY.Key_C)
    refer(check, shoot_window)
    qtbot.waitUntil(lambda: shoot_window.jobs.busy(SLOT))
    look_at(check, shoot_window, "C0001")
    assert check.compare_page.apart.text() == RUNNING
    shoot_window.running.stop()
    qtbot.waitUntil(lambda: not shoot_window.jobs.busy(SLOT))
    assert check.compare_page.apart.text() == NOT_COMPARED
    tasks.before_match, tasks.matched = lambda stop: None, lambda shoot: ()
    tasks.unmatched = {take_of(shoot_window, "C0001")[0].media.path: "The file is cut off."}
    refer(check, shoot_window, "C0003")
    idle()
    look_at(check, shoot_window, "C0001")
    assert check.compare_page.apart.text() == "The file is cut off."


def test_what_is_not_in_view_is_neither_moved_nor_decided(
    check: CheckPlace, shoot_window: MainWindow
) -> None:
    before = shoot_window.session.shoot
    key(check, KEY.Key_C)
    for one in (KEY.Key_Return, KEY.Key_Right, KEY.Key_N, KEY.Key_M, KEY.Key_S):
        key(check, one)
        assert "Press C to go back" in check.page.message.text()
    assert shoot_window.session.shoot == before
    key(check, KEY.Key_Escape)
    assert not check.compare_page.isVisible()


def test_pictures_that_cannot_be_read_say_why(
    check: CheckPlace, shoot_window: MainWindow, tasks: MadeUpTasks, idle: Callable[[], None]
) -> None:
    tasks.beside_trouble = "The file cannot be read."
    refer(check, shoot_window)
    key(check, KEY.Key_C)
    idle()
    assert check.compare_page.pictures.pictures == 0


def test_a_take_is_given_its_transfer_function_and_compared_again(
    check: CheckPlace, shoot_window: MainWindow, tasks: MadeUpTasks, qtbot: QtBot, idle: Callable[[], None]
) -> None:
    choices = check.compare_page.choices
    tasks.tags = {"C0003.mov": ""}
    refer(check, shoot_window)
    key(check, KEY.Key_C)
    idle()
    look_at(check, shoot_window, "C0001")
    qtbot.waitUntil(lambda: not check.match_settings.waiting)
    assert choices.transfer.currentText() == "As the file says: BT.709"
    look_at(check, shoot_window, "C0003")
    qtbot.waitUntil(lambda: not check.match_settings.waiting)
    assert choices.transfer.currentText() == "As the file says: unknown"
    times = len(tasks.matched_with)
    key(check, KEY.Key_T)
    assert choices.transfer.view().isVisible()
    for one in (KEY.Key_Down, KEY.Key_Down, KEY.Key_Return):
        qtbot.keyClick(choices.transfer.view(), one)
    assert take_of(shoot_window, "C0003")[1].settings.transfer == "slog3"
    assert take_of(shoot_window, "C0003")[1].match is None, "it no longer holds"
    assert shoot_window.session.undo_label == "Set Transfer Function"
    idle()
    assert len(tasks.matched_with) == times + 1
    assert choices.transfer.currentText() == "S-Log3"
    shoot_window.session.undo()
    idle()
    assert choices.transfer.currentText() == "As the file says: unknown"


def test_power_and_saturation_are_chosen_and_hold_for_the_angle_when_asked(
    check: CheckPlace, shoot_window: MainWindow, tasks: MadeUpTasks, qtbot: QtBot, idle: Callable[[], None]
) -> None:
    choices, session = check.compare_page.choices, shoot_window.session
    refer(check, shoot_window)
    key(check, KEY.Key_C)
    idle()
    assert not choices.figures.isEnabled(), "the reference has no match"
    look_at(check, shoot_window, "C0005")
    assert choices.figures.currentText() == "Slope and offset"
    key(check, KEY.Key_G)
    for one in (KEY.Key_End, KEY.Key_Return):
        qtbot.keyClick(choices.figures.view(), one)
    _, take = take_of(shoot_window, "C0005")
    assert (take.settings.power, take.settings.saturation) == (True, True)
    assert choices.figures.currentText() == "All four figures"
    check.match_settings.set_transfer("slog3")
    key(check, KEY.Key_T, SHIFT)
    assert session.undo_label == "Same for Whole Angle"
    alike = {clip.media.path for clip in session.view.clips for take in clip.takes if take.settings.power}
    assert alike == {"/shoot/Drums/C0005.mov", "/shoot/Drums/C0006.mov"}
    told = {t.settings.transfer for c in session.view.clips if c.media.path in alike for t in c.takes}
    assert told == {"slog3"}


def test_while_comparing_no_button_decides(check: CheckPlace, shoot_window: MainWindow) -> None:
    confirm = next(one for one in check.findChildren(QPushButton) if one.text() == "Confirm This Place")
    assert confirm.isVisible()
    key(check, KEY.Key_C)
    assert not confirm.isVisible()
    assert not check.action_table["watch"].isEnabled(), "there is no room for moving pictures"
    assert check.action_table["transfer"].isEnabled()
    key(check, KEY.Key_C)
    assert confirm.isVisible()
    assert not check.action_table["transfer"].isEnabled()
