"""The table of clips: what it says, angles typed in place, sorting, taking out."""

import pytest
from PySide6.QtCore import QModelIndex, QPoint, Qt
from PySide6.QtWidgets import QDialog, QLineEdit, QPushButton
from pytestqt.qtbot import QtBot

from app.model.check_queue import Shown
from app.window.clips.clips_model import ANGLE, FILE, TAKES, VERDICT
from app.window.frame.main_window import MainWindow
from app.window.session import EVERYTHING
from tests.app.window.answers import Answers
from tests.app.window.made_up import make_shoot


def row_of(window: MainWindow, name: str) -> int:
    model = window.clips.table.model()
    return next(row for row in range(model.rowCount()) if model.index(row, FILE).data() == name)


def cell(window: MainWindow, name: str, column: int) -> QModelIndex:
    return window.clips.table.model().index(row_of(window, name), column)


def type_angle(qtbot: QtBot, window: MainWindow, name: str, text: str) -> None:
    table = window.clips.table
    table.setCurrentIndex(cell(window, name, ANGLE))
    table.edit_angle()
    editor = table.findChild(QLineEdit)
    assert editor is not None
    editor.selectAll()
    qtbot.keyClicks(editor, text)
    qtbot.keyClick(editor, Qt.Key.Key_Return)
    model = window.clips.table.model()
    qtbot.waitUntil(lambda: any(model.index(row, ANGLE).data() == text for row in range(model.rowCount())))


def test_a_row_says_where_each_take_runs(shoot_window: MainWindow) -> None:
    assert cell(shoot_window, "C0005.mov", TAKES).data() == (
        "take 1: bars 9–21, 0:16.500, ±0.8 ms\ntake 2: bars 22–24, 0:42.700, ±0.8 ms"
    )
    assert cell(shoot_window, "C0008.mov", VERDICT).data() == "?  in doubt"
    assert cell(shoot_window, "C0010.mov", VERDICT).data() == "–  no song"


def test_the_angle_is_typed_for_all_that_are_chosen_and_they_stay_chosen(
    qtbot: QtBot, shoot_window: MainWindow
) -> None:
    table = shoot_window.clips.table
    session = shoot_window.session
    chosen = [
        clip.id
        for clip in session.view.clips
        if clip.media.path.endswith(("C0003.mov", "C0005.mov", "C0007.mov"))
    ]
    table.select_ids(chosen)
    shoot_window.clips.action_table["type angle"].trigger()
    editor = table.findChild(QLineEdit)
    assert editor is not None
    editor.selectAll()
    qtbot.keyClicks(editor, "Gimbal")
    qtbot.keyClick(editor, Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: any(angle.name == "Gimbal" for angle in session.shoot.angles))
    shoot_window.clips.catch_up()
    gimbal = next(angle.id for angle in session.shoot.angles if angle.name == "Gimbal")
    assert [clip.id for clip in session.shoot.clips if clip.angle_id == gimbal] == chosen
    assert sorted(table.selected_ids()) == sorted(chosen)
    session.undo()
    assert all(angle.name != "Gimbal" for angle in session.shoot.angles), "one step"


def test_the_angle_is_typed_in_place_and_undone(qtbot: QtBot, shoot_window: MainWindow) -> None:
    type_angle(qtbot, shoot_window, "C0007.mov", "Gimbal")
    shoot = shoot_window.session.view
    clip = next(c for c in shoot.clips if c.media.path.endswith("C0007.mov"))
    assert shoot.angle(clip.angle_id).name == "Gimbal"
    assert shoot_window.action_table["undo"].text() == "&Undo Change Angle"
    shoot_window.action_table["undo"].trigger()
    shoot = shoot_window.session.view
    clip = next(c for c in shoot.clips if c.media.path.endswith("C0007.mov"))
    assert shoot.angle(clip.angle_id).name == "Roaming"
    shoot_window.action_table["redo"].trigger()
    assert "Gimbal" in {a.name for a in shoot_window.session.view.angles}


def test_typing_the_angle_of_a_clip_alone_on_it_renames_the_angle(
    qtbot: QtBot, shoot_window: MainWindow
) -> None:
    before = {a.name: a.id for a in shoot_window.session.view.angles}
    type_angle(qtbot, shoot_window, "C0009.mov", "Whole band")
    after = {a.name: a for a in shoot_window.session.view.angles}
    assert after["Whole band"].id == before["Safety"]
    assert after["Whole band"].safety


def test_chosen_clips_are_put_on_an_angle(shoot_window: MainWindow, answers: Answers) -> None:
    table = shoot_window.clips.table
    for name in ("C0001.mov", "C0003.mov"):
        flags = table.selectionModel().SelectionFlag
        table.selectionModel().select(cell(shoot_window, name, 0), flags.Select | flags.Rows)
    answers.one, answers.text = 7, "Front row"
    shoot_window.clips.steps.assign_angle()
    assert answers.offered[:3] == ["Singer", "Accordion", "Drums"]
    assert answers.offered[7] == "New angle…"
    shoot = shoot_window.session.view
    on_it = {c.media.path[-9:] for c in shoot.clips if shoot.angle(c.angle_id).name == "Front row"}
    assert on_it == {"C0001.mov", "C0003.mov"}


def test_chosen_clips_are_put_on_an_angle_that_is_there(shoot_window: MainWindow, answers: Answers) -> None:
    shoot_window.clips.table.selectRow(row_of(shoot_window, "C0009.mov"))
    answers.one = 2
    shoot_window.clips.steps.assign_angle()
    shoot = shoot_window.session.view
    on_it = {c.media.path[-9:] for c in shoot.clips if shoot.angle(c.angle_id).name == "Drums"}
    assert on_it == {"C0005.mov", "C0006.mov", "C0012.mov", "C0009.mov"}


@pytest.mark.parametrize(("line", "take"), [(0.25, 0), (0.75, 1)])
def test_a_double_click_on_a_take_goes_to_it_in_check(
    qtbot: QtBot, shoot_window: MainWindow, line: float, take: int
) -> None:
    table = shoot_window.clips.table
    shoot_window.check.queue.filter.setCurrentIndex(list(Shown).index(Shown.DOUBT))
    box = table.visualRect(cell(shoot_window, "C0005.mov", TAKES))
    at = QPoint(box.center().x(), box.top() + round(line * box.height()))
    qtbot.mouseClick(table.viewport(), Qt.MouseButton.LeftButton, pos=at)
    qtbot.mouseDClick(table.viewport(), Qt.MouseButton.LeftButton, pos=at)
    assert shoot_window.check.isVisible()
    entry = shoot_window.check.queue.current
    assert entry is not None
    assert entry.clip.media.path.endswith("C0005.mov")
    assert entry.take == entry.clip.takes[take]


def test_return_goes_from_a_row_to_check(qtbot: QtBot, shoot_window: MainWindow) -> None:
    table = shoot_window.clips.table
    table.setFocus()
    table.setCurrentIndex(cell(shoot_window, "C0011.mov", FILE))
    qtbot.keyClick(table, Qt.Key.Key_Return)
    assert shoot_window.notice.text == (
        "C0011.mov has no take to open in Check. The file is cut off; copy it again from the card."
    )
    table.setCurrentIndex(cell(shoot_window, "C0008.mov", FILE))
    qtbot.keyClick(table, Qt.Key.Key_Return)
    assert shoot_window.check.isVisible()
    entry = shoot_window.check.queue.current
    assert entry is not None
    assert entry.clip.media.path.endswith("C0008.mov")


def test_an_empty_name_is_told_and_changes_nothing(shoot_window: MainWindow, answers: Answers) -> None:
    shoot_window.clips.table.selectRow(0)
    answers.one, answers.text = 7, "   "
    before = shoot_window.session.view
    shoot_window.clips.steps.assign_angle()
    assert shoot_window.session.view is before
    assert len(answers.asked) == 3
    assert answers.asked[-1].endswith(".")


def test_delete_takes_clips_out_and_undo_brings_them_back(qtbot: QtBot, shoot_window: MainWindow) -> None:
    before = shoot_window.session.view
    table = shoot_window.clips.table
    table.setFocus()
    table.selectRow(row_of(shoot_window, "C0009.mov"))
    qtbot.keyClick(table, Qt.Key.Key_Delete)
    assert len(shoot_window.session.view.clips) == len(before.clips) - 1
    assert "Safety" not in {a.name for a in shoot_window.session.view.angles}
    shoot_window.session.undo()
    assert shoot_window.session.view == before


def test_sorting_by_verdict_brings_what_wants_a_look_first(shoot_window: MainWindow) -> None:
    shoot_window.clips.table.sortByColumn(VERDICT, Qt.SortOrder.AscendingOrder)
    model = shoot_window.clips.table.model()
    assert [model.index(row, VERDICT).data() for row in range(2)] == ["?  in doubt", "✕  unreadable"]


def test_sorting_by_takes_goes_by_the_song(shoot_window: MainWindow) -> None:
    shoot_window.clips.table.sortByColumn(TAKES, Qt.SortOrder.DescendingOrder)
    shoot_window.clips.table.sortByColumn(TAKES, Qt.SortOrder.AscendingOrder)
    model = shoot_window.clips.table.model()
    named = [model.index(row, TAKES).data() for row in range(model.rowCount())]
    assert named[0].startswith("from bar 1,")
    assert named[8].startswith("from bar 33,")


def test_the_empty_place_says_what_to_do(window: MainWindow) -> None:
    lines = [line.text() for line in window.clips.first.lines]
    assert len(lines) == 4
    assert "Drop the song" in lines[0]
    assert "song alone is enough to begin to plan" in lines[3]
    assert window.clips.first.isVisible()


def test_an_undo_that_leaves_nothing_says_what_brings_it_back(shoot_window: MainWindow) -> None:
    first = shoot_window.clips.first
    assert first.undone.isHidden()
    shoot_window.action_table["undo"].trigger()
    shoot_window.clips.catch_up()
    shoot_window.column.refresh()
    assert first.undone.text() == "Undone: Make. Nothing is lost: Redo brings it back."
    assert shoot_window.column.undone == "↶ undone: Make; Redo brings it back"
    button = next(b for b in first.findChildren(QPushButton) if b.isVisible() and b.text() == "Redo Make")
    button.click()
    shoot_window.clips.catch_up()
    shoot_window.column.refresh()
    assert len(shoot_window.session.view.clips) == 12
    assert shoot_window.column.undone == ""


def test_every_control_has_a_name_and_a_tip(shoot_window: MainWindow) -> None:
    from PySide6.QtWidgets import QAbstractButton, QAbstractScrollArea, QLineEdit, QScrollArea

    kinds = (QAbstractButton, QLineEdit, QAbstractScrollArea)
    for number, place in enumerate(shoot_window.places):
        shoot_window.go(number)
        place.catch_up()
        controls = [
            w
            for kind in kinds
            for w in shoot_window.findChildren(kind)
            if w.isVisible() and not isinstance(w, QScrollArea) and not _inside_qt(w)
        ]
        assert controls
        nameless = [w for w in controls if not w.accessibleName() or not w.toolTip()]
        assert not nameless, (place.title, [(type(w).__name__, w.objectName()) for w in nameless])


def _inside_qt(widget: object) -> bool:
    """Header views and the corner button belong to Qt's tables."""
    return type(widget).__name__ in ("QHeaderView", "QAbstractButton", "QTableCornerButton", "QToolButton")


def test_rows_stay_chosen_when_an_answer_comes(shoot_window: MainWindow) -> None:
    table = shoot_window.clips.table
    table.selectRow(2)
    chosen = table.selected_ids()
    shoot_window.session.apply("Make", (make_shoot(), EVERYTHING), "test")
    shoot_window.clips.catch_up()
    assert table.selected_ids() == chosen


def test_the_keyboard_comes_along_when_the_table_comes_behind_a_question(
    qtbot: QtBot, window: MainWindow
) -> None:
    window.go(0)
    assert window.focusWidget() is window.clips.first.buttons[0]
    asked = QDialog(window)
    QPushButton("Restore", asked)
    asked.show()
    asked.activateWindow()
    qtbot.waitUntil(asked.isActiveWindow)
    window.session.apply("Make", (make_shoot(), EVERYTHING), "test")
    window.clips.catch_up()
    asked.close()
    assert window.focusWidget() is window.clips.table, "else its keys would be dead"
