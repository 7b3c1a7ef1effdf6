"""Playback files in Plan: what is listed is made, known to the shoot as a step, and can be stopped."""

import csv
import threading
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QListWidget
from pytestqt.qtbot import QtBot

from app.model.document.change import NOTHING
from app.model.document.shoot import Shoot
from app.window.parts.tick_list import TickList
from app.window.plan.kit_window import KitWindow
from app.window.plan.plan_place import PlanPlace
from app.window.session import Session
from tests.app.window.answers import Answers
from tests.app.window.made_up import MadeUpTasks


@pytest.fixture
def kit(place: PlanPlace, qtbot: QtBot, tmp_path: Path) -> KitWindow:
    qtbot.waitUntil(place.isActiveWindow)
    place.grid.setFocus()
    qtbot.keyClick(place.grid, Qt.Key.Key_K)
    window = place.kit.window
    assert window is not None
    qtbot.addWidget(window)
    assert window.folder.text() == "/shoot/Playback files"
    window.folder.setText(str(tmp_path / "set"))
    return window


def tick(rows: TickList, *starts: str) -> None:
    """Tick the rows that begin so, and no others."""
    for number in range(rows.count()):
        item = rows.item(number)
        wanted = any(item.text().startswith(one) for one in starts)
        item.setCheckState(Qt.CheckState.Checked if wanted else Qt.CheckState.Unchecked)


def rows(listed: QListWidget) -> list[str]:
    return [listed.item(number).text() for number in range(listed.count())]


def test_four_actions_from_plan_to_the_files(
    qtbot: QtBot, place: PlanPlace, kit: KitWindow, session: Session, tmp_path: Path
) -> None:
    """K, a tick or two, Ctrl+Enter."""
    tick(kit.choices.starts, "Whole song", "From A", "From C")
    tick(kit.choices.speeds, "As recorded", "Camera 50 fps: 200 %")
    listed = rows(kit.listed)
    assert [one.split()[0] for one in listed] == ["01", "02", "03", "04"]
    # A second, two bars of 2 s that lead into 0.5 s of the song, 128.5 s, and half a second.
    assert listed[0].split()[1] == "2:14"
    assert "4 files" in kit.total.text()
    qtbot.keyClick(kit, Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
    qtbot.waitUntil(lambda: len(session.shoot.playbacks) == 4)
    qtbot.waitUntil(lambda: kit.said.text().startswith("Wrote 4 files"))
    made = session.shoot.playbacks
    assert [one.pieces[0].speed for one in made] == [1.0, 1.0, 2.0, 2.0]
    assert all(one.made for one in made)
    assert [one.split(" · ")[0] for one in rows(kit.known)] == [Path(one.media.path).name for one in made]
    table = list(csv.DictReader((tmp_path / "set" / "Playback list.csv").read_text("utf-8").splitlines()))
    assert [row["file"] for row in table] == [Path(one.media.path).name for one in made]
    session.undo()
    assert session.shoot.playbacks == ()
    session.redo()
    assert len(session.shoot.playbacks) == 4


def test_speeds_follow_the_timelines_rate_exactly(kit: KitWindow) -> None:
    assert kit.shutters.text().splitlines()[0].startswith("25 fps: 180° at 50 Hz")
    kit.choices.rate.setCurrentIndex(0)
    assert kit.shutters.text() == "23.976 fps: 172.6° at 50 Hz, 143.9° at 60 Hz"
    assert "Camera 60 fps: 250.25 % (1001/400)" in rows(kit.choices.speeds)
    tick(kit.choices.speeds, "Camera 60 fps")
    assert kit.shutters.text().splitlines()[-1] == "60 fps: only 216° at 50 Hz, 180° at 60 Hz"
    kit.choices.other.setText("80%, 30:24000/1001")
    assert [plan.speed for plan in kit.plans] == [Fraction(1001, 400), Fraction(4, 5), Fraction(1001, 800)]
    kit.choices.other.setText("fast")
    assert not kit.plans
    assert not kit.make.isEnabled()
    assert "fast is not a speed" in kit.said.text()


def test_what_is_whole_when_it_is_stopped_stays(
    qtbot: QtBot, kit: KitWindow, session: Session, tasks: MadeUpTasks
) -> None:
    begun, count = threading.Event(), [0]

    def before(stop: Callable[[], bool]) -> None:
        count[0] += 1
        if count[0] == 2:
            begun.set()
            while not stop():
                pass

    tasks.before_made = before
    tick(kit.choices.starts, "Whole song", "From C", "From D")
    kit.make.click()
    qtbot.waitUntil(begun.is_set)
    assert kit.stop.isVisible()
    assert not kit.make.isVisible()
    kit.stop.click()
    qtbot.waitUntil(lambda: not kit.stop.isVisible())
    assert len(session.shoot.playbacks) == 1
    assert kit.said.text() == "1 file is whole."


def test_nothing_is_written_among_clips(
    qtbot: QtBot, kit: KitWindow, session: Session, tmp_path: Path
) -> None:
    def beside(shoot: Shoot) -> tuple[Shoot, object]:
        clips = (replace(shoot.clips[0], media=replace(shoot.clips[0].media, path=str(tmp_path / "a.mov"))),)
        return replace(shoot, clips=clips), ~NOTHING

    session.find_out(beside, "test")  # type: ignore[arg-type]
    kit.make.click()
    qtbot.waitUntil(lambda: "there are clips" in kit.said.text())
    assert session.shoot.playbacks == ()


def test_known_files_have_notes_and_can_be_forgotten(
    qtbot: QtBot, kit: KitWindow, session: Session, answers: Answers
) -> None:
    kit.make.click()
    qtbot.waitUntil(lambda: len(session.shoot.playbacks) == 1)
    kit.known.setCurrentRow(0)
    answers.text = "for the rain machine"
    kit.note.click()
    assert session.shoot.playbacks[0].note == "for the rain machine"
    assert "for the rain machine" in rows(kit.known)[0]
    kit.known.setFocus()
    qtbot.keyClick(kit.known, Qt.Key.Key_Delete)
    assert session.shoot.playbacks == ()
    assert session.undo_label == "Remove Playback File"


def test_a_given_file_is_added_with_its_pieces(
    qtbot: QtBot, kit: KitWindow, session: Session, answers: Answers, tasks: MadeUpTasks
) -> None:
    kit.add.click()
    assert session.shoot.playbacks == ()
    answers.playback = Path("/shoot/played.wav")
    kit.add.click()
    qtbot.waitUntil(lambda: len(session.shoot.playbacks) == 1)
    assert session.undo_label == "Add Playback File"
    assert "given" in rows(kit.known)[0]
    tasks.closed["broken.wav"] = "broken.wav is cut off. Copy it again."
    answers.playback = Path("/shoot/broken.wav")
    kit.add.click()
    qtbot.waitUntil(lambda: "cut off" in kit.said.text())
    assert len(session.shoot.playbacks) == 1
