"""Files dropped anywhere: the window takes them, whatever lies under the pointer."""

from pathlib import Path

from PySide6.QtCore import QCoreApplication, QEvent, QMimeData, QPoint, QPointF, Qt, QUrl
from PySide6.QtGui import QDragLeaveEvent, QDropEvent
from PySide6.QtWidgets import QWidget
from pytestqt.qtbot import QtBot

from app.window.frame.main_window import MainWindow


def drag(window: MainWindow, kind: QEvent.Type, over: QWidget, data: QMimeData) -> bool:
    at = QPointF(over.mapTo(window, over.rect().center()))
    buttons, keys = Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
    event = QDropEvent(at, Qt.DropAction.CopyAction, data, buttons, keys, kind)
    QCoreApplication.sendEvent(window.windowHandle(), event)
    return event.isAccepted()


def files(*paths: Path, text: str = "") -> QMimeData:
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(path)) for path in paths])
    if text:
        data.setText(text)
    return data


def test_every_place_takes_a_drop_and_says_what_it_does(
    qtbot: QtBot, shoot_window: MainWindow, tmp_path: Path
) -> None:
    taken: list[list[Path]] = []
    shoot_window.drops.dropped.disconnect()
    shoot_window.drops.dropped.connect(taken.append)
    data = files(tmp_path / "card", tmp_path / "a.mov")
    for number, over in enumerate(shoot_window.places):
        shoot_window.go(number)
        taken.clear()
        assert drag(shoot_window, QEvent.Type.DragEnter, over, data), over.title
        assert shoot_window.drops.hint.text == "Drop to add 2 files and folders"
        assert drag(shoot_window, QEvent.Type.DragMove, over, data), over.title
        assert drag(shoot_window, QEvent.Type.Drop, over, data), over.title
        assert taken == [[tmp_path / "card", tmp_path / "a.mov"]], over.title
        assert shoot_window.drops.hint.text == ""


def test_a_file_dropped_on_a_field_is_no_text_of_it(
    qtbot: QtBot, shoot_window: MainWindow, tmp_path: Path
) -> None:
    """File managers hand the name over as text too."""
    taken: list[list[Path]] = []
    shoot_window.drops.dropped.disconnect()
    shoot_window.drops.dropped.connect(taken.append)
    field = shoot_window.clips.filter.text
    drag(shoot_window, QEvent.Type.DragEnter, field, files(tmp_path / "a.mov", text="a.mov"))
    drag(shoot_window, QEvent.Type.Drop, field, files(tmp_path / "a.mov", text="a.mov"))
    assert len(taken) == 1
    assert field.text() == ""


def test_the_hint_covers_a_window_that_changes_its_size(shoot_window: MainWindow, tmp_path: Path) -> None:
    drag(shoot_window, QEvent.Type.DragEnter, shoot_window.clips, files(tmp_path / "card"))
    shoot_window.resize(1400, 900)
    assert shoot_window.drops.hint.size() == shoot_window.size()


def test_the_hint_goes_when_the_drag_leaves(shoot_window: MainWindow, tmp_path: Path) -> None:
    drag(shoot_window, QEvent.Type.DragEnter, shoot_window.clips, files(tmp_path / "waltz.anglebook"))
    assert shoot_window.drops.hint.text == "Drop to open the shoot waltz"
    QCoreApplication.sendEvent(shoot_window.windowHandle(), QDragLeaveEvent())
    assert shoot_window.drops.hint.text == ""


def test_the_hint_goes_when_the_drag_ends_without_a_word(
    qtbot: QtBot, shoot_window: MainWindow, tmp_path: Path
) -> None:
    """The program dragged from ended: the next thing the window gets is the mouse."""
    drag(shoot_window, QEvent.Type.DragEnter, shoot_window.clips, files(tmp_path / "card"))
    assert shoot_window.drops.hint.text
    qtbot.mouseMove(shoot_window.windowHandle(), QPoint(300, 300))
    assert shoot_window.drops.hint.text == ""


def test_the_hint_goes_when_something_else_takes_the_drop(
    qtbot: QtBot, shoot_window: MainWindow, tmp_path: Path
) -> None:
    drag(shoot_window, QEvent.Type.DragEnter, shoot_window.clips, files(tmp_path / "card"))
    drag(shoot_window, QEvent.Type.Drop, shoot_window.clips, QMimeData())
    assert shoot_window.drops.hint.text == ""


def test_what_is_no_file_is_left_alone(shoot_window: MainWindow) -> None:
    data = QMimeData()
    data.setUrls([QUrl("https://example.org/a.mov")])
    drag(shoot_window, QEvent.Type.DragEnter, shoot_window.clips, data)
    assert shoot_window.drops.hint.text == ""
