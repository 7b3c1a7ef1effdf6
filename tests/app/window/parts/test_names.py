"""A screen reader, a mouse and a keyboard each find every control: name, tip, and a key where one is due."""

import re
from collections.abc import Iterator

import pytest
from PySide6.QtGui import QAction
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QAbstractSlider,
    QAbstractSpinBox,
    QComboBox,
    QDialog,
    QDialogButtonBox,
    QHeaderView,
    QLineEdit,
    QMenu,
    QPlainTextEdit,
    QScrollBar,
    QWidget,
)
from pytestqt.qtbot import QtBot

from app.window.clips.moved_media import Sought
from app.window.frame.main_window import MainWindow
from app.window.parts.choice import Choice

CONTROLS = (
    QAbstractButton,
    QAbstractItemView,
    QAbstractSlider,
    QAbstractSpinBox,
    QComboBox,
    QLineEdit,
    QPlainTextEdit,
)
WHOLE = (QAbstractItemView, QComboBox, QAbstractSpinBox, QLineEdit, QDialogButtonBox)


def controls(top: QWidget) -> Iterator[QWidget]:
    """The controls a person can reach; parts that Qt makes of its own controls are left out."""
    for widget in top.findChildren(QWidget):
        if not isinstance(widget, CONTROLS) or not widget.isVisibleTo(top):
            continue
        if isinstance(widget, QScrollBar | QHeaderView):
            continue
        parent = widget.parentWidget()
        if isinstance(
            parent, QAbstractItemView | QComboBox | QAbstractSpinBox | QLineEdit | QDialogButtonBox
        ):
            continue  # a corner, a popup, a field or a clear button inside a control; Close, which Esc does
        yield widget


def key_of(widget: QWidget) -> str:
    """The key that a button tells: its own, or the one in its tip."""
    if not isinstance(widget, QAbstractButton):
        return "focus"
    own = widget.shortcut().toString()
    told = re.search(r"\(([^()]+)\)$", widget.toolTip())
    return own or (told.group(1) if told else "")


def check(top: QWidget, where: str = "") -> None:
    found = list(controls(top))
    assert found
    where = where or type(top).__name__
    for widget in found:
        what = f"{type(widget).__name__} {widget.accessibleName()!r} in {where}"
        assert widget.accessibleName(), f"{what} has no name"
        assert widget.toolTip(), f"{what} has no tip"
        assert key_of(widget), f"{what} has no key"


@pytest.mark.parametrize("filled", [False, True])
def test_every_control_of_every_place(shoot_window: MainWindow, filled: bool) -> None:
    if not filled:
        shoot_window.session.new()
    for number, place in enumerate(shoot_window.places):
        shoot_window.go(number)
        place.catch_up()
        check(place.window(), place.title)


def test_every_control_of_the_side_windows(qtbot: QtBot, shoot_window: MainWindow) -> None:
    side = shoot_window.side
    shoot_window.list_keys()
    side.how()
    side.about()
    side.preferences()
    side.sought((Sought("/a/b.mov", "", "why"),))
    dialogs = [dialog for dialog in shoot_window.findChildren(QDialog) if dialog.isVisible()]
    assert len(dialogs) == 5
    for dialog in dialogs:
        assert dialog.windowTitle()
        if list(controls(dialog)):
            check(dialog)
        dialog.close()


@pytest.mark.parametrize("answers", [2, 7])
def test_every_control_of_a_question(qtbot: QtBot, answers: int) -> None:
    choice = Choice("Song", "Which is it?", [f"answer {n}" for n in range(answers)])
    qtbot.addWidget(choice)
    choice.show()
    check(choice)


def check_menu(menu: QMenu, most: int) -> None:
    """Names, tips, keys and letters of a menu, and of those in it."""
    entries: list[QAction] = [entry for entry in menu.actions() if not entry.isSeparator()]
    assert 0 < len(entries) <= most, menu.title()
    letters = [
        found.group(1).lower() for e in entries if (found := re.search(r"&([^&])", e.text())) is not None
    ]
    assert len(letters) == len(set(letters)), (menu.title(), letters)
    for entry in entries:
        assert entry.toolTip(), entry.text()
        below = entry.menu()
        if isinstance(below, QMenu):
            check_menu(below, most)
        else:
            assert entry.shortcut().toString(), f"{entry.text()} has no key"


def test_every_entry_of_the_menus_has_a_tip_and_no_letter_twice(shoot_window: MainWindow) -> None:
    """At every place; and no menu is longer than a small screen."""
    for number in range(len(shoot_window.places)):
        shoot_window.go(number)
        for menu_action in shoot_window.menuBar().actions():
            menu = menu_action.menu()
            assert isinstance(menu, QMenu)
            menu.aboutToShow.emit()
            check_menu(menu, most=17)


def test_every_action_of_a_place_is_in_the_edit_menu(shoot_window: MainWindow) -> None:
    for number, place in enumerate(shoot_window.places):
        shoot_window.go(number)
        edit = shoot_window.menuBar().actions()[1].menu()
        assert isinstance(edit, QMenu)
        edit.aboutToShow.emit()
        found = {action for entry in edit.actions() for action in (entry, *_below(entry))}
        assert set(place.actions()) <= found, place.title


def test_every_key_of_a_place_is_on_the_page_of_keys(shoot_window: MainWindow) -> None:
    """And every line of the page tells of a key."""
    for place in shoot_window.places:
        lines = place.key_lines()
        assert lines, place.title
        assert all(line.keys and line.text for line in lines), place.title
        for action in place.actions():
            assert any(action.toolTip() in line.more for line in lines), (place.title, action.text())


def _below(entry: QAction) -> list[QAction]:
    menu = entry.menu()
    return menu.actions() if isinstance(menu, QMenu) else []
