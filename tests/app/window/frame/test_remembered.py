"""From one start to the next: geometry, the place, the watched folder, the hand-off folder, recent shoots."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import QSettings, Qt
from pytestqt.qtbot import QtBot

from app.window.clips.clips_model import FILE, LENGTH
from app.window.frame.folders import Folders
from app.window.frame.main_window import MainWindow
from app.window.frame.window_state import WindowState
from app.window.parts.recent import MOST
from app.window.session import EVERYTHING
from tests.app.window.answers import Answers
from tests.app.window.made_hand_over import MadeHandOver
from tests.app.window.made_up import MadeUpTasks, make_shoot

Start = Callable[[], MainWindow]


@pytest.fixture
def start(qtbot: QtBot, tmp_path: Path, answers: Answers) -> Start:
    """Starts a window as the same person would, again and again."""

    def one() -> MainWindow:
        window = MainWindow(
            MadeUpTasks(),
            MadeHandOver(),
            QSettings(str(tmp_path / "settings.ini"), QSettings.Format.IniFormat),
            dialogs=answers,
            folders=Folders(tmp_path / "pictures", tmp_path / "unsaved"),
        )
        qtbot.addWidget(window)
        with qtbot.waitExposed(window):
            window.show()
        return window

    return one


def saved(window: MainWindow, path: Path) -> None:
    window.session.apply("Make", (make_shoot(), EVERYTHING), "test")
    window.session.save(path)


def test_size_and_columns_come_back(start: Start) -> None:
    window = start()
    with_clips(window)
    window.resize(790, 577)  # the screen of these tests is 800 wide
    window.clips.table.horizontalHeader().resizeSection(LENGTH, 61)
    share = share_of(window, LENGTH)
    window.clips.table.sortByColumn(FILE, Qt.SortOrder.DescendingOrder)
    window.close()
    window = start()
    with_clips(window)
    assert window.height() == 577
    assert share_of(window, LENGTH) == pytest.approx(share, abs=0.003)
    assert window.clips.table.horizontalHeader().sortIndicatorSection() == FILE
    assert window.clips.table.horizontalHeader().sortIndicatorOrder() == Qt.SortOrder.DescendingOrder
    window.preferences.set_text_size(150)
    window.close()
    window = start()
    with_clips(window)
    assert share_of(window, LENGTH) != pytest.approx(share, abs=0.003), "no measure for larger text"


def share_of(window: MainWindow, column: int) -> float:
    """Of the table's width."""
    table = window.clips.table
    return table.columnWidth(column) / table.viewport().width()


def with_clips(window: MainWindow) -> None:
    """Show the table."""
    window.session.apply("Make", (make_shoot(), EVERYTHING), "test")
    window.clips.catch_up()


def test_a_shoot_opens_where_it_was_left(start: Start, tmp_path: Path) -> None:
    window = start()
    saved(window, tmp_path / "waltz.anglebook")
    window.go(4)
    window.handoff.folder.setText(str(tmp_path / "edit"))
    window.watch.start(tmp_path)
    window.close()
    window = start()
    assert window.places[0].isVisible()
    window.shoot_file.open_path(tmp_path / "waltz.anglebook")
    assert window.places[4].isVisible()
    assert window.handoff.folder.text() == str(tmp_path / "edit")
    assert window.watch.folder == tmp_path
    window.watch.stop()
    window.close()
    window = start()
    window.shoot_file.open_path(tmp_path / "waltz.anglebook")
    assert window.watch.folder is None


def test_what_a_watched_folder_gave_comes_again_where_it_was_not_saved(start: Start, tmp_path: Path) -> None:
    path, clip = tmp_path / "waltz.anglebook", str(tmp_path / "card" / "C0001.mov")
    window = start()
    saved(window, path)
    window.watch.start(tmp_path / "card")
    window.session.apply("Add Clips", (replace(make_shoot(), name="more"), EVERYTHING), "work")
    window.watch.pass_over([clip])
    window.watch.changed.emit()
    window.remembered.keep_all()
    window = start()  # as after a crash: of the shoot the file is all there is
    window.shoot_file.open_path(path)
    assert window.watch.passed == []
    window.watch.start(tmp_path / "card")
    window.watch.pass_over([clip])
    window.session.save()
    window.close()
    window = start()
    window.shoot_file.open_path(path)
    assert window.watch.passed == [clip], "what was taken out of a saved shoot stays out"


def test_another_shoot_has_a_hand_off_folder_of_its_own(start: Start, tmp_path: Path) -> None:
    window = start()
    saved(window, tmp_path / "waltz.anglebook")
    window.handoff.folder.setText(str(tmp_path / "edit of the waltz"))
    window.session.save()
    window.session.new()
    saved(window, tmp_path / "march.anglebook")
    window.shoot_file.open_path(tmp_path / "march.anglebook")
    window.go(5)
    window.handoff.catch_up()
    assert window.handoff.folder.text() == str(tmp_path / "march hand-off")
    window.shoot_file.open_path(tmp_path / "waltz.anglebook")
    assert window.handoff.folder.text() == str(tmp_path / "edit of the waltz")


def test_recent_shoots_are_offered_newest_first(start: Start, tmp_path: Path) -> None:
    window = start()
    for n in range(MOST + 2):
        saved(window, tmp_path / f"shoot {n}.anglebook")
    window.close()
    window = start()
    assert [path.stem for path in window.recent.paths] == [f"shoot {n}" for n in range(MOST + 1, 1, -1)]
    assert [button.text() for button in window.clips.first.shoots] == [
        f"shoot {n}" for n in range(MOST + 1, MOST - 3, -1)
    ]
    window.clips.first.shoots[2].click()
    assert window.session.path == tmp_path / f"shoot {MOST - 1}.anglebook"
    assert window.recent.paths[0].stem == f"shoot {MOST - 1}"
    entries = [action.text() for action in window.menus.shoots.actions()]
    assert entries[0] == f"&1  shoot {MOST - 1}"
    assert entries[-1] == "&Clear This List"
    window.menus.shoots.actions()[-1].trigger()
    assert window.recent.paths == []
    assert not window.action_table["recent"].isEnabled()


def test_a_recent_shoot_that_is_gone_is_told_and_taken_off(
    start: Start, tmp_path: Path, answers: Answers
) -> None:
    window = start()
    saved(window, tmp_path / "waltz.anglebook")
    (tmp_path / "waltz.anglebook").unlink()
    before = window.session.view
    window.menus.shoots.actions()[0].trigger()
    assert "waltz.anglebook could not be read" in answers.asked[-1]
    assert window.session.view is before
    assert window.recent.paths == []


def test_little_is_kept_of_long_gone_shoots(tmp_path: Path) -> None:
    settings = QSettings(str(tmp_path / "s.ini"), QSettings.Format.IniFormat)
    state = WindowState(settings)
    for n in range(60):
        state.keep_text(tmp_path / f"{n}.anglebook", "place", "1")
    settings.beginGroup("shoots")
    assert len(settings.childGroups()) == 40
    settings.endGroup()
    assert state.text(tmp_path / "59.anglebook", "place") == "1"
    assert state.text(tmp_path / "0.anglebook", "place") == ""


def test_enter_opens_the_newest_recent_shoot_at_once(qtbot: QtBot, start: Start, tmp_path: Path) -> None:
    window = start()
    for name in ("waltz", "march"):
        saved(window, tmp_path / f"{name}.anglebook")
    window.session.new()
    window.action_table["recent"].trigger()
    assert window.menus.shoots.isVisible()
    qtbot.keyClick(window.menus.shoots, Qt.Key.Key_Return)
    assert window.session.path == tmp_path / "march.anglebook"
    assert not window.menus.shoots.isVisible()
