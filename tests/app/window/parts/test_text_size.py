"""Larger text: nothing is cut off, and the window still fits a small screen."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import QSettings
from PySide6.QtWidgets import (
    QAbstractButton,
    QApplication,
    QComboBox,
    QLabel,
    QScrollArea,
    QTableView,
    QWidget,
)
from pytestqt.qtbot import QtBot

from app.handoff.choices import DEFAULT
from app.window.clips.moved_media import LOOK
from app.window.frame.folders import Folders
from app.window.frame.main_window import MainWindow
from app.window.parts.buttons import ActionButton
from app.window.plan.plan_place import NEEDS_BUTTONS
from app.window.session import EVERYTHING
from app.window.song.beat_actions import TEMPO_BUTTONS
from app.window.song.song_actions import SECTION_BUTTONS
from app.window.work.running import Doing
from tests.app.window.answers import Answers
from tests.app.window.made_hand_over import MadeHandOver
from tests.app.window.made_up import MadeUpTasks, make_shoot

SMALL_SCREEN = (1280, 720)


@pytest.fixture(params=[1.0, 1.5])
def large(
    request: pytest.FixtureRequest, qtbot: QtBot, qapp: QApplication, tmp_path: Path
) -> Iterator[MainWindow]:
    """A window with the made-up shoot whose text is larger, on a small screen."""
    before = qapp.font()
    font = qapp.font()
    font.setPointSizeF(font.pointSizeF() * request.param)
    qapp.setFont(font)
    window = MainWindow(
        MadeUpTasks(),
        MadeHandOver(),
        QSettings(str(tmp_path / "settings.ini"), QSettings.Format.IniFormat),
        dialogs=Answers(),
        folders=Folders(tmp_path / "pictures", tmp_path / "unsaved"),
    )
    qtbot.addWidget(window)
    window.session.apply("Make", (make_shoot(), EVERYTHING), "test")
    window.resize(*SMALL_SCREEN)
    with qtbot.waitExposed(window):
        window.show()
    yield window
    qapp.setFont(before)


def cut_off(top: QWidget) -> list[str]:
    """Labels and buttons that get less room than their text wants."""
    found = []
    for widget in top.findChildren(QWidget):
        if not isinstance(widget, QLabel | QAbstractButton | QComboBox) or not widget.isVisibleTo(top):
            continue
        if isinstance(widget, QLabel):
            if widget.wordWrap():
                short = widget.height() < widget.heightForWidth(widget.width())
            else:
                short = widget.width() < widget.sizeHint().width()
        elif isinstance(widget, QComboBox):
            short = widget.height() < widget.sizeHint().height()
        else:
            short = (
                widget.width() < widget.minimumSizeHint().width()
                or widget.height() < widget.sizeHint().height()
            )
        if short:
            found.append(f"{type(widget).__name__} {getattr(widget, 'text', widget.accessibleName)()!r}")
    return found


@pytest.mark.parametrize("place", range(6))
def test_nothing_is_cut_off(qtbot: QtBot, large: MainWindow, place: int) -> None:
    large.go(place)
    large.places[place].catch_up()
    qtbot.wait(1)
    assert (large.width(), large.height()) <= SMALL_SCREEN, "it does not fit the screen"
    assert cut_off(large.places[place]) == []
    assert cut_off(large.column) == []


def test_the_first_page_and_a_filtered_table_fit(qtbot: QtBot, large: MainWindow) -> None:
    large.clips.filter.text.setText("C00")
    qtbot.wait(1)
    assert cut_off(large.clips) == []
    large.session.new()
    large.clips.catch_up()
    qtbot.wait(1)
    assert (large.width(), large.height()) <= SMALL_SCREEN
    assert cut_off(large.clips) == []


@pytest.mark.parametrize("place", range(6))
def test_what_is_told_above_a_place_fits(qtbot: QtBot, large: MainWindow, place: int) -> None:
    """Missing files, two long troubles, a remark and a watched folder at once: the place gives them room."""
    large.go(place)
    qtbot.waitUntil(lambda: not large.jobs.busy(LOOK))  # all of the made-up files are missing
    large.notice.tell(
        f"The shoot could not be saved: /media/{'a long name/' * 12}waltz: the disk is full.", "a"
    )
    large.notice.tell(f"Your unsaved changes could not be backed up: {'a reason, ' * 20}and no more.", "b")
    large.notice.say("A_long_name_2031-05-04_18-20-00_0001.MP4 has no take to open in Check.")
    large.watch.start(Path("/nowhere"))
    for slot in ("song", "place"):
        large.running.show(slot, Doing(f"Reading {'a long name ' * 9}.wav: beats, bars and sections", 0.5))
    large.places[place].catch_up()
    qtbot.waitUntil(large.progress.isVisible)
    qtbot.wait(1)
    assert large.missing.isVisible()
    assert (large.width(), large.height()) <= SMALL_SCREEN
    assert large.height() <= SMALL_SCREEN[1]
    assert cut_off(large.notice) == []
    assert large.progress.button.width() >= large.progress.button.minimumSizeHint().width()
    told = large.missing._text
    assert told.text().endswith("."), "cut off"
    assert told.fontMetrics().horizontalAdvance(told.text()) <= told.width()
    large.watch.stop()
    for slot in ("song", "place"):
        large.running.abandon(slot)


def rows_in_sight(table: QTableView) -> int:
    """How many rows are seen whole."""
    model, room = table.model(), table.viewport().rect()
    return sum(room.contains(table.visualRect(model.index(row, 0))) for row in range(model.rowCount()))


def test_tables_have_rows_to_work_with(qtbot: QtBot, large: MainWindow) -> None:
    for place, table, least in ((large.song, large.song.table, 4), (large.plan, large.plan.grid, 3)):
        large.go(large.places.index(place))
        place.catch_up()
        qtbot.wait(1)
        assert rows_in_sight(table) >= least


def test_buttons_that_have_no_room_are_in_a_menu(qtbot: QtBot, large: MainWindow) -> None:
    for place, row, names in (
        (large.plan, large.plan.needs_row, NEEDS_BUTTONS),
        (large.song, large.song.tools.row, (*TEMPO_BUTTONS, *SECTION_BUTTONS)),
    ):
        large.go(large.places.index(place))
        place.catch_up()
        qtbot.wait(1)
        seen = [one.action for one in row.findChildren(ActionButton) if one.isVisible()]
        assert bool(row.left_out) == place.is_low
        assert set(place.action_table.several(*names)) <= {*seen, *row.left_out}
    large.resize(2000, 1400)
    qtbot.wait(1)
    assert not large.song.tools.row.left_out, "where there is room again, they are back"


def test_fields_of_an_angle_scroll_beside_pictures_and_the_one_typed_into_is_in_sight(
    qtbot: QtBot, large: MainWindow
) -> None:
    score = large.score
    large.go(large.places.index(score))
    score.catch_up()
    score.action_table["angles"].trigger()
    score.action_table["watch"].trigger()
    qtbot.wait(1)
    assert score.side.minimumSizeHint().height() <= score.height()
    for field in (score.angles.rank, score.angles.name):
        field.setFocus()
        area = field.parentWidget().parentWidget()
        assert area is not None
        at = field.mapTo(area, field.rect().center())
        assert area.rect().contains(at)
    score.action_table["watch"].trigger()


def test_the_larger_view_of_a_clip_fits(qtbot: QtBot, large: MainWindow) -> None:
    large.clips.catch_up()
    large.clips.table.selectRow(0)
    large.clips.action_table["larger"].trigger()
    qtbot.wait(1)
    assert (large.width(), large.height()) <= SMALL_SCREEN
    assert [one for one in cut_off(large.clips) if "C0001" not in one] == []
    assert large.clips.table.viewport().height() > 4 * large.theme.em()
    large.clips.action_table["larger"].trigger()


def test_a_hand_off_being_written_fits(qtbot: QtBot, large: MainWindow, tmp_path: Path) -> None:
    made = MadeHandOver()
    made.waits = True
    place = large.handoff
    place._hand_over = made
    large.go(5)
    place.catch_up()
    place.chosen.show_choices(replace(DEFAULT, what=frozenset(("otioz",))))
    place.folder.setText(str(tmp_path))
    place.write()
    qtbot.waitUntil(lambda: place._doing.text() == "Timeline and media, one file…")
    qtbot.wait(1)
    assert (large.width(), large.height()) <= SMALL_SCREEN
    assert cut_off(place) == []
    place.stop()
    qtbot.waitUntil(lambda: not large.jobs.busy("hand-off"))


def test_the_side_windows_scroll_or_fit(qtbot: QtBot, large: MainWindow) -> None:
    large.list_keys()
    large.side.how()
    large.side.preferences()
    for dialog in [w for w in large.children() if isinstance(w, QWidget) and w.isWindow() and w.isVisible()]:
        scrolled = dialog.findChildren(QScrollArea)
        qtbot.wait(1)
        assert cut_off(scrolled[0].widget() if scrolled else dialog) == []
        dialog.close()


def test_choices_of_the_hand_off_have_room_when_they_grow(qtbot: QtBot, large: MainWindow) -> None:
    large.go(5)
    large.handoff.catch_up()
    chosen = large.handoff.chosen
    chosen.boxes["film"].setChecked(True)
    chosen.drift.setMinimumWidth(chosen.drift.width() + 90)
    qtbot.waitUntil(lambda: chosen.widget().width() <= chosen.viewport().width())


def test_a_list_drops_down_as_wide_as_its_entries(qtbot: QtBot, large: MainWindow) -> None:
    large.go(3)
    field = large.check.queue.filter
    field.setFixedWidth(40)
    field.showPopup()
    assert field.view().width() >= field.view().sizeHintForColumn(0)
    field.hidePopup()


def test_the_figures_of_the_song_stand_side_by_side(large: MainWindow) -> None:
    """In one line, or in two where they do not fit: never a word a line."""
    large.go(1)
    large.song.catch_up()
    QApplication.processEvents()
    label = next(one for one in large.song.findChildren(QLabel) if one.text() == large.song.text)
    assert label.height() < 2.5 * label.fontMetrics().lineSpacing()


def test_watching_many_angles_does_not_widen_the_window(large: MainWindow, qtbot: QtBot) -> None:
    """Nor does it push what the side panel says out of its right edge."""
    large.go(4)
    score = large.score
    score.catch_up()
    score.canvas.choose(20)
    score.canvas.setFocus()
    score.side.toggle_watching()
    score.watch.controls.action_table["many"].trigger()
    large.player.seek(40.0)
    qtbot.wait(50)
    assert sum(tile.isVisible() for tile in score.watch.tiles) >= 5
    assert (large.width(), large.height()) == SMALL_SCREEN
    score.side.toggle_watching()
    qtbot.wait(50)
    page, port = score.panel.widget(), score.panel.viewport()
    assert page.width() <= port.width()
