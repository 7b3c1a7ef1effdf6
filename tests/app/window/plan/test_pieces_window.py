"""The pieces of a playback file: listed, corrected by typing and nudging, taken for true, found again."""

from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from app.window.plan.pieces_window import PiecesWindow
from app.window.plan.plan_place import PlanPlace
from app.window.session import Session
from tests.app.window.answers import Answers


def rows(window: PiecesWindow) -> list[list[str]]:
    table = window.table
    return [
        [table.item(row, column).text() for column in range(table.columnCount())]
        for row in range(table.rowCount())
    ]


@pytest.fixture
def pieces(qtbot: QtBot, place: PlanPlace, session: Session, answers: Answers) -> PiecesWindow:
    """A given file of which one piece is sure and one in doubt."""
    qtbot.waitUntil(place.isActiveWindow)
    place.kit.open()
    kit = place.kit.window
    assert kit is not None
    qtbot.addWidget(kit)
    answers.playback = Path("/shoot/played.wav")
    kit.add.click()
    qtbot.waitUntil(lambda: len(session.shoot.playbacks) == 1)
    assert kit.said.text() == "Added played.wav."
    kit.known.setCurrentRow(0)
    kit.pieces.click()
    window = place.kit.pieces.window
    assert window is not None
    qtbot.waitUntil(lambda: window.table.rowCount() == 2)
    return window


def test_pieces_are_seen_and_corrected(qtbot: QtBot, pieces: PiecesWindow, session: Session) -> None:
    def piece(number: int = 0) -> tuple[float, float]:
        one = session.shoot.playbacks[0].pieces[number]
        return one.song_start_s, one.speed

    name = session.shoot.songs[0].called
    assert rows(pieces) == [
        ["0:01.0 – 1:01.0", name, "0:05.000", "125 %", "by hand"],
        ["0:58.0 – 1:09.0", name, "1:20.000", "110 %", "? in doubt"],
    ]
    assert not pieces.use.isVisible()
    # Typing, then Enter.
    pieces.start.selectAll()
    qtbot.keyClicks(pieces.start, "5.25")
    assert piece() == (5.0, 1.25)
    qtbot.keyClick(pieces.start, Qt.Key.Key_Return)
    assert piece() == (5.25, 1.25)
    assert session.undo_label == "Move Piece"
    assert session.shoot.playbacks[0].by_hand
    # Nudging by a millisecond.
    qtbot.keyClick(pieces.start, Qt.Key.Key_Up)
    qtbot.keyClick(pieces.start, Qt.Key.Key_Return)
    assert piece() == pytest.approx((5.251, 1.25))
    pieces.speed.setValue(125.12)
    pieces.speed.editingFinished.emit()
    assert piece() == pytest.approx((5.251, 1.2512))
    assert rows(pieces)[0][3] == "125.12 %"
    pieces.start.setValue(9999.0)
    pieces.start.editingFinished.emit()
    assert "outside the song" in pieces.said.text()
    assert piece() == pytest.approx((5.251, 1.2512))
    # Taken for true: it begins where the sure one ends.
    pieces.table.setCurrentCell(1, 0)
    assert "tempo is not steady" in pieces.why.text()
    assert not pieces.start.isEnabled()
    pieces.use.click()
    assert piece(1) == pytest.approx((80.0 + 3.0 * 1.1, 1.1))
    assert len(rows(pieces)) == 2
    assert rows(pieces)[1][4] == "by hand"
    session.undo()
    assert rows(pieces)[1][4] == "? in doubt"
    pieces.again.click()
    qtbot.waitUntil(lambda: pieces.said.text() == "Found again.")
    assert piece() == (5.0, 1.25)
    assert session.undo_label == "Find Pieces Again"
    session.undo()
    assert piece() == pytest.approx((5.251, 1.2512))
