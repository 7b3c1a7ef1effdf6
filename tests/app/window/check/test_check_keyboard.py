"""Who has the keyboard in Check: Space plays, Enter presses what has it, clicks leave nothing armed."""

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QPushButton
from pytestqt.qtbot import QtBot

from app.model.document.decisions import Decision
from app.model.document.verdict import Verdict
from app.window.check.check_place import CheckPlace
from app.window.frame.main_window import MainWindow
from tests.app.window.check.driving import clip_of, hands


def button(check: CheckPlace, text: str) -> QAbstractButton:
    return next(one for one in check.page.findChildren(QPushButton) if one.text() == text)


def test_space_plays_after_a_click_and_refuses_nothing(shoot_window: MainWindow, check: CheckPlace) -> None:
    QTest.mouseClick(button(check, "Not This Song"), Qt.MouseButton.LeftButton)
    check.catch_up()
    assert clip_of(check).verdict is Verdict.NO_SONG
    refused = check.session.view
    focus = shoot_window.focusWidget()
    assert focus is check.list, "the click gave the keyboard back"
    QTest.keyClick(focus, Qt.Key.Key_Space)
    assert check.session.view == refused
    assert shoot_window.player.playing
    button(check, "Not This Song").setFocus(Qt.FocusReason.TabFocusReason)
    QTest.keyClick(button(check, "Not This Song"), Qt.Key.Key_Space)
    assert not shoot_window.player.playing, "with a button under the keyboard too"
    assert check.session.view == refused
    QTest.mouseClick(button(check, "Next in Doubt"), Qt.MouseButton.LeftButton)
    assert shoot_window.focusWidget() is check.list, "nor is the button from before armed any more"


def test_enter_presses_the_button_that_has_the_keyboard(shoot_window: MainWindow, check: CheckPlace) -> None:
    pins = button(check, "Pin Frames")
    pins.setFocus(Qt.FocusReason.TabFocusReason)
    QTest.keyClick(pins, Qt.Key.Key_Return)
    assert check.page.pinning
    assert hands(check).decision is Decision.COMPUTED, "nothing was confirmed beside that"
    pins.setFocus()
    QTest.keyClick(pins, Qt.Key.Key_Enter, Qt.KeyboardModifier.KeypadModifier)
    assert not check.page.pinning
    check.fits[0].setFocus(Qt.FocusReason.TabFocusReason)
    QTest.keyClick(check.fits[0], Qt.Key.Key_Return)
    assert hands(check).decision is Decision.CONFIRMED, "the place that is shown has nothing else to press"


def test_enter_presses_buttons_of_the_first_page(qtbot: QtBot, window: MainWindow) -> None:
    pressed: list[str] = []
    first = next(one for one in window.clips.findChildren(QPushButton) if one.isVisible())
    first.clicked.disconnect()
    first.clicked.connect(lambda: pressed.append(first.text()))
    first.setFocus(Qt.FocusReason.TabFocusReason)
    QTest.keyClick(first, Qt.Key.Key_Return)
    assert pressed == [first.text()]


def test_an_open_list_of_choices_has_the_keys_for_itself(check: CheckPlace) -> None:
    filters = check.queue.filter
    filters.setFocus(Qt.FocusReason.TabFocusReason)
    QTest.keyClick(filters, Qt.Key.Key_Return)
    assert filters.view().isVisible()
    QTest.keyClick(filters.view(), Qt.Key.Key_Down)
    assert check.list.currentRow() == 0, "not the list of takes"
    QTest.keyClick(filters.view(), Qt.Key.Key_Return)
    assert not filters.view().isVisible()
    assert filters.currentIndex() == 1
    assert hands(check).decision is Decision.COMPUTED
