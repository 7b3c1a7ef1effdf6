"""The columns of Clips fill the window at any size, whatever was remembered of another one."""

from dataclasses import replace

import pytest
from PySide6.QtCore import QSize, Qt
from PySide6.QtWidgets import QStyleOptionViewItem
from pytestqt.qtbot import QtBot

from app.window.clips.clips_model import FILE, HEADS, NOTE, PICTURES, RATE, TAKES, WHY
from app.window.clips.clips_table import ClipsTable
from app.window.frame.main_window import MainWindow
from app.window.session import EVERYTHING
from tests.app.window.made_up import make_clip, make_shoot, with_clip

LONG = "A003C0012_310504_R7XQ_proxy.MP4"
"""As cameras name their files."""
SIZES = [(900, 600), (1280, 720), (1600, 900), (2560, 1440)]


@pytest.fixture
def table(qtbot: QtBot, window: MainWindow) -> ClipsTable:
    shoot = with_clip(make_shoot(), make_clip(f"Crane/{LONG}", ((1, 12, False),)))
    window.session.apply("Make", (shoot, EVERYTHING), "test")
    window.clips.catch_up()
    sized(qtbot, window.clips.table, 1280, 720)
    return window.clips.table


def sized(qtbot: QtBot, table: ClipsTable, width: int, height: int) -> None:
    window = table.window()
    window.setMaximumSize(QSize(16_000, 16_000))
    window.resize(width, height)
    qtbot.waitUntil(lambda: table.fitted)
    assert window.width() == width


def widths(table: ClipsTable) -> dict[str, int]:
    return {name: table.columnWidth(n) for n, name in enumerate(HEADS)}


@pytest.mark.parametrize("size", SIZES[1:])
def test_a_camera_s_name_is_shown_whole_before_why_has_room(
    qtbot: QtBot, table: ClipsTable, size: tuple[int, int]
) -> None:
    sized(qtbot, table, *size)
    assert sum(widths(table).values()) == table.viewport().width()
    needed = table.fontMetrics().horizontalAdvance(LONG)
    assert table.columnWidth(FILE) > needed


@pytest.mark.parametrize("size", SIZES)
def test_the_columns_are_as_wide_as_the_table(qtbot: QtBot, table: ClipsTable, size: tuple[int, int]) -> None:
    sized(qtbot, table, *size)
    assert sum(widths(table).values()) == table.viewport().width()
    assert table.columnWidth(PICTURES) > 0
    assert not table.horizontalScrollBar().isVisible()


def test_where_there_is_no_room_for_a_name_its_middle_gives_way(table: ClipsTable) -> None:
    cell = table.itemDelegateForColumn(FILE)
    option = QStyleOptionViewItem()
    cell.initStyleOption(option, table.model().index(0, FILE))
    assert option.textElideMode == Qt.TextElideMode.ElideMiddle
    assert not option.features & QStyleOptionViewItem.ViewItemFeature.WrapText


def test_what_was_set_in_a_large_window_does_not_ruin_a_small_one(qtbot: QtBot, table: ClipsTable) -> None:
    sized(qtbot, table, 2560, 1440)
    table.horizontalHeader().resizeSection(FILE, 1200)
    assert table.columnWidth(FILE) == 1200
    assert sum(widths(table).values()) == table.viewport().width()
    kept = table.columns.state()
    sized(qtbot, table, 1280, 720)
    table.columns.restore(kept)
    qtbot.waitUntil(lambda: table.fitted)
    small = widths(table)
    table.columns.let_go()
    qtbot.waitUntil(lambda: table.fitted)
    assert small == widths(table), "as if nothing had been set"
    table.columns.restore(kept)
    sized(qtbot, table, 2560, 1440)
    assert table.columnWidth(FILE) == 1200, "where it was set it holds"


def test_what_was_set_holds_as_a_share_and_the_others_give_way(qtbot: QtBot, table: ClipsTable) -> None:
    sized(qtbot, table, 1600, 900)
    room, why = table.viewport().width(), table.columnWidth(WHY)
    table.horizontalHeader().resizeSection(NOTE, 200)
    assert table.columnWidth(NOTE) == 200
    assert table.columnWidth(WHY) < why
    sized(qtbot, table, 1500, 900)
    assert table.columnWidth(NOTE) == round(200 * table.viewport().width() / room)
    assert sum(widths(table).values()) == table.viewport().width()


def test_columns_that_were_set_can_go_by_themselves_again(qtbot: QtBot, window: MainWindow) -> None:
    window.session.apply("Make", (make_shoot(), EVERYTHING), "test")
    window.clips.catch_up()
    table, reset = window.clips.table, window.clips.action_table["columns"]
    before = widths(table)
    assert not reset.isEnabled()
    table.horizontalHeader().resizeSection(TAKES, table.columnWidth(TAKES) + 40)
    assert reset.isEnabled()
    reset.trigger()
    assert widths(table) == before
    assert not reset.isEnabled()


def test_what_an_older_release_kept_is_nothing(table: ClipsTable) -> None:
    before = widths(table)
    table.columns.restore(table.horizontalHeader().saveState())
    assert widths(table) == before


def test_a_narrow_table_leaves_the_rate_out_and_notes_only_as_long_as_there_are_none(
    qtbot: QtBot, table: ClipsTable
) -> None:
    sized(qtbot, table, 900, 600)
    assert table.isColumnHidden(RATE)
    assert table.isColumnHidden(NOTE)
    window = table.window()
    assert isinstance(window, MainWindow)
    shoot = window.session.shoot
    noted = replace(shoot, clips=(replace(shoot.clips[0], note="dawn"), *shoot.clips[1:]))
    window.session.apply("Note", (noted, EVERYTHING), "test")
    window.clips.catch_up()
    assert not table.isColumnHidden(NOTE)
    sized(qtbot, table, 1280, 720)
    assert not table.isColumnHidden(RATE)
