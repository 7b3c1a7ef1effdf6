"""Keys in the two tables of Plan: the one that has the keyboard keeps its keys."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QLineEdit
from pytestqt.qtbot import QtBot

from app.model.document.plan import Passage
from app.window.plan.plan_place import PlanPlace
from app.window.plan.set_up_list import ANGLE, NOTE, PASSAGE
from app.window.session import Session


@pytest.fixture
def planned(place: PlanPlace, session: Session) -> PlanPlace:
    """A need in the first section, and two set-ups."""
    place.steps.ask_for(place.grid.rows[1].passage, "Singer")
    for name in ("Crane", "Dolly"):
        place.steps.add_set_up(name, Passage(), ("Singer",))
    place.catch_up()
    place.grid.choose(1, "Singer")
    place.set_ups.setCurrentCell(1, ANGLE)
    place.set_ups.setFocus()
    return place


def editor(place: PlanPlace) -> QLineEdit:
    found = place.set_ups.indexWidget(place.set_ups.currentIndex())
    assert isinstance(found, QLineEdit)
    return found


@pytest.mark.parametrize("enter", [Qt.Key.Key_Return, Qt.Key.Key_Enter])
def test_enter_keeps_what_was_typed_and_leaves_the_needs_alone(
    qtbot: QtBot, planned: PlanPlace, session: Session, enter: Qt.Key
) -> None:
    before = session.shoot.plan.needs
    qtbot.keyClick(planned.set_ups, Qt.Key.Key_F2)
    editor(planned).selectAll()
    qtbot.keyClicks(editor(planned), "Slider 25bn")
    qtbot.keyClick(editor(planned), enter)
    QApplication.processEvents()
    planned.catch_up()
    assert [one.angle for one in session.shoot.plan.set_ups] == ["Crane", "Slider 25bn"]
    assert session.shoot.plan.needs == before


def test_keys_of_the_grid_do_nothing_to_it_from_the_set_ups(
    qtbot: QtBot, planned: PlanPlace, session: Session
) -> None:
    before = session.shoot.plan
    for name in (Qt.Key.Key_1, Qt.Key.Key_2, Qt.Key.Key_5, Qt.Key.Key_B):
        qtbot.keyClick(planned.set_ups, name)
    qtbot.keyClick(planned.set_ups, Qt.Key.Key_Return, Qt.KeyboardModifier.ShiftModifier)
    assert session.shoot.plan == before
    # The same keys work where the grid has the keyboard.
    planned.grid.setFocus()
    qtbot.keyClick(planned.grid, Qt.Key.Key_2)
    assert [one.least_angles for one in session.shoot.plan.needs] == [2]


def test_enter_types_in_the_chosen_cell_and_n_in_the_note(
    qtbot: QtBot, planned: PlanPlace, session: Session
) -> None:
    before = session.shoot.plan.needs
    planned.set_ups.setCurrentCell(1, PASSAGE)
    qtbot.keyClick(planned.set_ups, Qt.Key.Key_Return)
    assert planned.set_ups.currentColumn() == ANGLE
    qtbot.keyClick(editor(planned), Qt.Key.Key_Escape)
    qtbot.keyClick(planned.set_ups, Qt.Key.Key_N)
    assert planned.set_ups.currentColumn() == NOTE
    qtbot.keyClicks(editor(planned), "low light")
    qtbot.keyClick(editor(planned), Qt.Key.Key_Return)
    QApplication.processEvents()
    assert session.shoot.plan.set_ups[1].note == "low light"
    assert session.shoot.plan.needs == before
