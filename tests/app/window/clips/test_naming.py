"""Angles named on one page: offered once clips are placed; typed, dragged, moved by keys; one step."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import QCoreApplication, QEvent, QMimeData, QPointF, Qt, QUrl
from PySide6.QtGui import QDropEvent, QKeySequence
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget
from pytestqt.qtbot import QtBot

from app.model.document.media_ref import MediaRef
from app.model.edits.look_edits import see_clip
from app.model.seen import Seen
from app.window.clips.naming_clips import MIME
from app.window.clips.naming_page import NewAngle
from app.window.clips.naming_row import NamingRow
from app.window.frame.main_window import MainWindow
from app.window.handoff.handoff_place import SLOT as HAND_OFF
from tests.app.window.answers import Answers
from tests.app.window.made_up import MadeUpTasks, make_clip

CARDS: dict[str, tuple[float, float]] = {
    "A001/A001C001_1128.MOV": (1, 64.9),
    "A001/A001C002_1128.MOV": (1, 30),
    "A002/A002C001_1128.MOV": (33, 64),
    "B001/B001C001_1128.MOV": (1, 20),
    "B001/B001C002_1128.MOV": (5, 20),
    "DCIM/100/P1000007.MP4": (1, 20),
    "DCIM/101/P1010001.MP4": (3, 20),
    "phones/IMG_0041.MOV": (1, 20),
    "phones/VID_20261128_201500.mp4": (3, 20),
}
FOUND = ["Camera A", "Camera B", "Camera 1", "Phone 1", "Phone 2"]


class Person:
    """Drives the window and counts: a key, a typed name, a drop and an answer are one action each."""

    def __init__(self, window: MainWindow) -> None:
        self.window = window
        self.actions = 0

    def press(self, key: str) -> None:
        self.actions += 1
        combination = QKeySequence(key)[0]
        QTest.keyClick(self._there(), combination.key(), combination.keyboardModifiers())

    def type(self, text: str) -> None:
        self.actions += 1
        QTest.keyClicks(self._there(), text)

    def drop(self, paths: Sequence[Path]) -> None:
        self.actions += 1
        data = QMimeData()
        data.setUrls([QUrl.fromLocalFile(str(path)) for path in paths])
        for kind in (QEvent.Type.DragEnter, QEvent.Type.Drop):
            QCoreApplication.sendEvent(self.window.windowHandle(), drag(kind, data))

    def answers(self, answers: Answers, folder: Path) -> None:
        """Choose a folder in the system's own question, when it comes."""
        self.actions += 1
        answers.folder = folder

    def _there(self) -> QWidget:
        focused = QApplication.focusWidget()
        return focused if focused is not None else self.window


def drag(kind: QEvent.Type, data: QMimeData) -> QDropEvent:
    buttons, keys = Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
    return QDropEvent(QPointF(9, 9), Qt.DropAction.CopyAction, data, buttons, keys, kind)


def drag_clips(over: QWidget, *ids: str) -> None:
    """Drag clips of the shoot over a widget and let them fall."""
    data = QMimeData()
    data.setData(MIME, "\n".join(ids).encode())
    for kind in (QEvent.Type.DragEnter, QEvent.Type.Drop):
        event = drag(kind, data)
        QCoreApplication.sendEvent(over, event)
        assert event.isAccepted(), kind.name


@pytest.fixture
def card(tmp_path: Path, tasks: MadeUpTasks) -> Path:
    """A folder of cards from five cameras."""
    folder = tmp_path / "Harbour waltz"
    for name, (first, last) in CARDS.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(name.encode())
        tasks.files.append(path)
        media = MediaRef(str(path), len(name), name)
        tasks.answers[str(path)] = replace(make_clip(name, [(first, last, False)]), media=media)
    return folder


@pytest.fixture
def song(tmp_path: Path) -> Path:
    path = tmp_path / "song.wav"
    path.write_bytes(b"song")
    return path


@pytest.fixture
def person(window: MainWindow) -> Person:
    return Person(window)


@pytest.fixture
def asked(qtbot: QtBot, window: MainWindow, person: Person, song: Path, card: Path) -> MainWindow:
    """The window after song and cards were dropped and placed: it asks for names."""
    person.drop([song, card])
    qtbot.waitUntil(lambda: window.clips.is_naming and not window.running.doing, timeout=20000)
    return window


def names(window: MainWindow) -> list[str]:
    return [angle.name for angle in window.session.view.angles]


def rows(window: MainWindow) -> list[NamingRow]:
    QApplication.processEvents()  # they are laid out
    found = [row for row in window.clips.naming.findChildren(NamingRow) if row.isVisible()]
    return sorted(found, key=lambda row: row.y())


def held(window: MainWindow) -> list[int]:
    return [row.clips.count() for row in rows(window)]


def test_from_start_to_hand_off_with_five_cameras_named_takes_25_actions_at_most(
    qtbot: QtBot, asked: MainWindow, person: Person, answers: Answers, tmp_path: Path
) -> None:
    assert names(asked) == FOUND
    for name in ("Singer", "Drums", "McKay", "Safety wide", "Fiddle"):
        person.type(name)
        person.press("Return")
    assert names(asked) == ["Singer", "Drums", "McKay", "Safety wide", "Fiddle"]
    assert all(angle.named for angle in asked.session.view.angles)
    assert [angle.name for angle in asked.session.view.angles if angle.safety] == ["Safety wide"]
    assert not asked.clips.is_naming
    person.press("Ctrl+6")
    person.answers(answers, tmp_path / "edit")
    person.press("Ctrl+L")
    qtbot.waitUntil(lambda: asked.handoff.action_table["write"].isEnabled())
    person.press("Ctrl+Return")
    qtbot.waitUntil(lambda: bool(asked.handoff.hand_over.written))  # type: ignore[attr-defined]
    qtbot.waitUntil(lambda: not asked.jobs.busy(HAND_OFF))
    assert person.actions <= 25, person.actions
    assert person.actions == 15


def test_accepting_is_one_step(asked: MainWindow, person: Person) -> None:
    before = asked.session.shoot
    person.type("Singer")
    person.press("Ctrl+Return")
    assert names(asked) == ["Singer", *FOUND[1:]]
    assert all(angle.named for angle in asked.session.view.angles), "what is accepted has its name"
    asked.session.undo()
    assert asked.session.shoot == before


def test_it_is_asked_once_and_can_be_put_off(qtbot: QtBot, asked: MainWindow, person: Person) -> None:
    person.press("Escape")
    assert not asked.clips.is_naming
    assert asked.clips.table.hasFocus()
    assert asked.clips.offer.isVisible()
    assert asked.clips.offer.text == "?  5 angles not named yet: each is what one camera shot."
    asked.work.moved.emit()
    assert not asked.clips.is_naming
    person.press("Ctrl+5")
    person.press("Ctrl+Shift+N")
    assert asked.clips.is_naming
    assert asked.clips.isVisible()


def test_what_was_typed_is_there_again_after_a_look_elsewhere(asked: MainWindow, person: Person) -> None:
    person.type("Singer")
    person.press("Escape")
    person.press("Ctrl+Shift+N")
    assert rows(asked)[0].field.text() == "Singer"
    person.press("Ctrl+Return")
    asked.session.undo()
    person.press("Ctrl+Shift+N")
    assert rows(asked)[0].field.text() == ""


def test_elsewhere_one_is_told_and_not_disturbed(
    qtbot: QtBot, window: MainWindow, person: Person, song: Path, card: Path
) -> None:
    window.go(1)
    person.drop([song, card])
    qtbot.waitUntil(lambda: window.clips.is_naming, timeout=20000)
    assert window.song.isVisible()
    assert "5 angles not named yet" in window.notice.text


def test_clips_are_dragged_to_another_angle_and_to_a_new_one(asked: MainWindow, person: Person) -> None:
    assert held(asked) == [3, 2, 2, 1, 1]
    ids = [clip.id for clip in asked.session.view.clips]
    drag_clips(rows(asked)[1].clips.viewport(), ids[0])
    assert held(asked) == [2, 3, 2, 1, 1]
    drag_clips(asked.clips.naming.findChildren(NewAngle)[0], ids[1], ids[2])
    QCoreApplication.sendPostedEvents()
    assert held(asked) == [3, 2, 1, 1, 2], "an angle without clips is gone, another is there"
    person.press("Ctrl+Return")
    assert sorted(names(asked)) == sorted(["New angle", *FOUND[1:]])


def test_clips_are_moved_by_keys(asked: MainWindow, person: Person) -> None:
    person.press("Tab")
    assert rows(asked)[0].clips.hasFocus()
    person.press("Alt+Down")
    assert held(asked) == [2, 3, 2, 1, 1]
    assert rows(asked)[1].clips.hasFocus()
    person.press("Alt+Up")
    assert held(asked) == [3, 2, 2, 1, 1]
    person.press("Alt+Ins")
    assert held(asked) == [2, 2, 2, 1, 1, 1]


def test_what_was_typed_stays_while_a_clip_comes(
    qtbot: QtBot, asked: MainWindow, person: Person, card: Path, tasks: MadeUpTasks
) -> None:
    person.type("Singer")
    new = card / "A002/A002C002_1128.MOV"
    new.write_bytes(b"new")
    tasks.answers[str(new)] = replace(make_clip("A", [(1, 9, False)]), media=MediaRef(str(new), 3, "new"))
    asked.work.take_watched([MediaRef(str(new), 3, "new")], card)
    qtbot.waitUntil(lambda: held(asked) == [4, 2, 2, 1, 1] and not asked.running.doing)
    assert rows(asked)[0].field.text() == "Singer"
    assert rows(asked)[0].field.hasFocus()
    person.type(" close")
    person.press("Ctrl+Return")
    assert names(asked)[0] == "Singer close"


def test_what_looks_alike_is_told_with_how_sure_and_joined_by_leaving_it_empty(
    asked: MainWindow, person: Person, card: Path
) -> None:
    def look(name: str, group: str, sure: float) -> None:
        (media,) = (one.media for one in asked.session.shoot.clips if one.media.path == str(card / name))
        asked.session.find_out(lambda shoot: see_clip(shoot, Seen(media, group=group, sure=sure)), "looking")

    for name in [one for one in CARDS if one.startswith("A00")]:
        look(name, "view-1", 0.974)
    look("DCIM/100/P1000007.MP4", "view-2", 0.96)
    look("DCIM/101/P1010001.MP4", "view-2", 0.96)
    look("phones/IMG_0041.MOV", "view-2", 0.93)
    asked.clips.catch_up()
    camera_a, camera_b, camera_1, phone_1, phone_2 = rows(asked)
    assert "looks like one set-up, 97 %" in camera_a.facts
    assert "looks like" not in camera_b.facts + phone_2.facts
    assert "looks like one set-up, 96 %" in camera_1.facts
    assert "looks like the same set-up as Camera 1, 93 %" in phone_1.facts
    assert phone_1.field.placeholderText() == "Same angle as Camera 1"
    person.press("Ctrl+Return")
    assert names(asked) == ["Camera A", "Camera B", "Camera 1", "Phone 2"]
    (joined,) = [angle for angle in asked.session.view.angles if angle.name == "Camera 1"]
    assert len([clip for clip in asked.session.view.clips if clip.angle_id == joined.id]) == 3


def test_the_table_below_the_page_is_left_alone(asked: MainWindow, person: Person) -> None:
    person.press("Escape")
    asked.clips.table.selectAll()
    person.press("Ctrl+Shift+N")
    assert not asked.clips.action_table["remove"].isEnabled()
    assert not asked.clips.action_table["type angle"].isEnabled()
    person.press("Tab")
    person.press("Del")
    assert len(asked.session.view.clips) == len(CARDS)


def test_coverage_waits_for_names_but_tells_of_bars_that_nobody_shows(
    qtbot: QtBot, asked: MainWindow, person: Person, tasks: MadeUpTasks
) -> None:
    person.press("Escape")
    person.press("Ctrl+5")
    asked.score.catch_up()
    sections = asked.score.canvas.score.systems
    said = {remark for system in sections for remark in system.remarks}
    assert said == {"angles not named yet"}
    assert "angles not named yet" in asked.score.zoom_row.summary.text()
    assert asked.column.buttons[4].figure == "angles not named yet"
    person.press("T")
    assert "Name the angles in Clips" in asked.notice.text
    asked.score.canvas.choose(40)
    assert "Angles not named yet." in asked.score.panel.sentence.text()
    person.press("Ctrl+Shift+N")
    person.press("Ctrl+Return")
    person.press("Ctrl+5")
    asked.score.catch_up()
    said = {remark for system in asked.score.canvas.score.systems for remark in system.remarks}
    assert any("one angle only (Camera A)" in remark for remark in said)


def test_an_opened_shoot_asks_nothing_by_itself(qtbot: QtBot, asked: MainWindow, tmp_path: Path) -> None:
    asked.session.save(tmp_path / "x.anglebook")
    asked.session.open(tmp_path / "x.anglebook", trust=True)
    qtbot.wait(100)
    asked.work.moved.emit()
    assert not asked.clips.is_naming
    assert asked.clips.offer.isVisibleTo(asked.clips)
