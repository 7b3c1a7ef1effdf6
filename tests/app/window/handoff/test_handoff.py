"""The place Hand-off: what would be written, writing, stopping, and what came of it."""

import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QCheckBox, QComboBox, QLabel, QProgressBar
from pytestqt.qtbot import QtBot

from app.handoff.each_song import Part
from app.model.check_queue import is_open
from app.model.document.shoot import Shoot
from app.model.on_song import on_song
from app.window.frame.main_window import MainWindow
from app.window.handoff.hand_over import hand_over
from app.window.handoff.handoff_files import EARLIER, MISSED, PLANNED, WRITTEN, Entry
from app.window.handoff.handoff_place import HandoffPlace
from app.window.handoff.handoff_words import summary_words
from app.window.parts.empty_page import EmptyPage
from app.window.session import EVERYTHING
from tests.app.documents import document
from tests.app.window.answers import Answers
from tests.app.window.handoff.on_screen import is_busy, listed, may_write, press, shown_button
from tests.app.window.made_hand_over import MadeHandOver
from tests.app.window.made_up import make_shoot

ROOT = Path(__file__).parents[4]


def test_an_empty_page_tells_what_is_missing(place: HandoffPlace) -> None:
    shoot = place.session.view
    bare = replace(shoot, clips=tuple(replace(clip, takes=()) for clip in shoot.clips))
    for value, why in (
        (document(bare), "No clip has a take yet"),
        (Shoot(), "Drop the song and the clips"),
    ):
        place.session.apply("x", (value, EVERYTHING), "test")
        place.catch_up()
        page = place.findChild(EmptyPage)
        assert page.isVisible()
        assert page.lines[-1].text().startswith(why)


def test_files_are_named_as_the_shoot_is_on_screen(qtbot: QtBot, place: HandoffPlace, tmp_path: Path) -> None:
    place.hand_over = hand_over
    place.session.save(tmp_path / "Ferry, day two.anglebook")
    place.catch_up()
    names = ["Ferry, day two.otio", "Ferry, day two.csv"]
    qtbot.waitUntil(lambda: [entry.name for entry in place.files.entries] == names, timeout=20_000)


def test_angles_of_which_all_is_in_doubt_are_not_counted(place: HandoffPlace) -> None:
    view = place.session.view
    sure = {clip.angle_id for clip in view.clips for take in clip.takes if not is_open(take)}
    assert len(sure) < len({clip.angle_id for clip in view.clips if clip.takes})
    said = [one.text() for one in place.findChildren(QLabel) if "each at its place" in one.text()]
    assert said == [f"10 takes from {len(sure)} angles, each at its place in the song."]


def test_what_would_be_written_is_listed_before(place: HandoffPlace, made: MadeHandOver) -> None:
    assert listed(place) == [(PLANNED, "x.otio", "1.0 kB"), (PLANNED, "x.takes", "1.0 kB")]
    assert place.files.notes.toPlainText() == "about otio"
    place.files.table.setCurrentCell(1, 0)
    assert place.files.notes.toPlainText() == "about takes"
    place.files.show_entries(
        [Entry(state=PLANNED, name="x", size="–", lines=("new\nline.mov: at most", "next"))]
    )
    assert place.files.notes.toPlainText() == "new line.mov: at most\nnext"
    assert made.written == []


def test_another_choice_is_listed_anew(qtbot: QtBot, place: HandoffPlace, made: MadeHandOver) -> None:
    place.chosen.boxes["edl"].click()
    place.chosen.boxes["takes"].click()
    qtbot.waitUntil(lambda: [entry.name for entry in place.files.entries] == ["x.edl", "x.otio"])
    assert made.previewed[-1].what == {"edl", "otio"}


def test_what_was_written_takes_the_place_of_what_would_be(
    qtbot: QtBot, place: HandoffPlace, made: MadeHandOver
) -> None:
    made.troubles = ("No event list at this rate. Choose another.",)
    place.write()
    qtbot.waitUntil(lambda: not is_busy(place))
    assert listed(place) == [(WRITTEN, "x.otio", "1.0 kB"), (MISSED, "x.takes", "1.0 kB")]
    assert place.outcome.told.text() == "✕ No event list at this rate. Choose another."
    assert place.outcome.told.isVisible()
    assert place.outcome.done.text() == "! Done in part: 1 file, 1.0 kB"


def test_what_an_earlier_hand_off_left_is_told_before_and_after(
    qtbot: QtBot, place: HandoffPlace, made: MadeHandOver, tmp_path: Path
) -> None:
    assert not place.outcome.left.isVisible()
    made.left = ("old.edl", "old.otio")
    place.folder.setText(str(tmp_path / "used"))
    qtbot.waitUntil(lambda: made.looked_into[-1:] == [tmp_path / "used"] and place.outcome.left.isVisible())
    assert "2 files from an earlier hand-off: old.edl, old.otio." in place.outcome.left.text()
    assert listed(place)[2:] == [(EARLIER, "old.edl", ""), (EARLIER, "old.otio", "")]
    made.left = ("old.otio",)
    place.write()
    qtbot.waitUntil(lambda: place.files.entries[0].state == WRITTEN and not is_busy(place))
    assert [entry.state for entry in place.files.entries] == [WRITTEN, WRITTEN, EARLIER]
    assert "1 file from an earlier hand-off: old.otio." in place.outcome.left.text()
    made.left = ()
    place.folder.setText(str(tmp_path / "fresh"))
    assert not place.outcome.left.isVisible()
    assert EARLIER not in [entry.state for entry in place.files.entries]


@pytest.mark.parametrize("other", ["folder", "choice"])
def test_the_outcome_is_forgotten_at_once(
    qtbot: QtBot, place: HandoffPlace, made: MadeHandOver, tmp_path: Path, other: str
) -> None:
    made.troubles = ("No event list at this rate. Choose another.",)
    place.write()
    qtbot.waitUntil(lambda: place.outcome.done.isVisible() and not is_busy(place))
    if other == "folder":
        place.folder.setText(str(tmp_path / "elsewhere"))
    else:
        place.chosen.drift.setCurrentIndex(1)
    assert {entry.state for entry in place.files.entries} == {PLANNED}
    assert not place.outcome.done.isVisible()
    assert not place.outcome.told.isVisible()
    assert shown_button(place, "Open Folder") is None


@pytest.mark.parametrize("control", ["box", "list", "field"])
def test_its_key_writes_wherever_the_keyboard_is(
    qtbot: QtBot, place: HandoffPlace, made: MadeHandOver, control: str
) -> None:
    has_keys = {"box": place.chosen.boxes["edl"], "list": place.chosen.rate, "field": place.chosen.start}[
        control
    ]
    before = place.chosen.choices
    has_keys.setFocus()
    qtbot.keyClick(has_keys, Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
    qtbot.waitUntil(lambda: bool(made.written) and not is_busy(place))
    assert made.written[-1][1] == before


def test_the_folder_follows_the_name_of_the_shoot_unless_somebody_chose_one(
    place: HandoffPlace, tmp_path: Path
) -> None:
    place.folder.clear()
    for name in ("one", "two"):
        place.session.save(tmp_path / f"{name}.anglebook")
        place.catch_up()
        assert place.folder.text() == str(tmp_path / f"{name} hand-off")
    place.folder.setText(str(tmp_path / "mine"))
    place.session.save(tmp_path / "three.anglebook")
    place.catch_up()
    assert place.folder.text() == str(tmp_path / "mine")


def test_what_was_written_is_shown_in_its_folder(
    qtbot: QtBot, place: HandoffPlace, monkeypatch: pytest.MonkeyPatch
) -> None:
    shown: list[str] = []
    monkeypatch.setattr(
        "app.window.handoff.handoff_place.QDesktopServices.openUrl",
        lambda url: shown.append(url.toLocalFile()),
    )
    assert shown_button(place, "Open Folder") is None
    place.write()
    qtbot.waitUntil(lambda: shown_button(place, "Open Folder") is not None)
    assert place.outcome.done.text() == "✓ Done: 2 files, 2.0 kB"
    button = shown_button(place, "Open Folder")
    assert button is not None
    assert button.accessibleName() == "Open Folder"
    assert "Ctrl+Shift+L" in button.toolTip()
    press(place, "Open Folder")
    assert shown == [place.folder.text()]


def test_an_earlier_hand_off_is_replaced_only_when_asked(
    qtbot: QtBot, place: HandoffPlace, made: MadeHandOver, answers: Answers
) -> None:
    made.there = tuple(f"{n}.edl" for n in range(6))
    place.write()
    qtbot.waitUntil(lambda: place.outcome.told.text() == "Nothing was written.")
    assert made.written == []
    assert answers.asked[-1] == (
        "6 files of an earlier hand-off will be replaced: 0.edl, 1.edl, 2.edl, 3.edl and 2 more."
    )
    answers.one = 0
    place.write()
    qtbot.waitUntil(lambda: bool(made.written) and place.files.entries[0].state == WRITTEN)
    assert not place.outcome.told.isVisible()


def test_writing_is_stopped(qtbot: QtBot, place: HandoffPlace, made: MadeHandOver) -> None:
    made.waits = True
    assert shown_button(place, "Stop Writing") is None
    place.chosen.start.setFocus()
    place.write()
    qtbot.waitUntil(lambda: bool(made.written) and place.findChild(QProgressBar).value() == 500)
    assert "Timeline…" in [one.text() for one in place.findChildren(QLabel) if one.isVisible()]
    for one in (*place.chosen.findChildren(QCheckBox), *place.chosen.findChildren(QComboBox)):
        assert not one.isEnabled()
    assert not place.chosen.start.isEnabled()
    assert not place.folder.isEnabled()
    assert place.focusWidget() is place.files.table
    assert [entry.state for entry in place.files.entries] == [WRITTEN, PLANNED]
    press(place, "Stop Writing")
    assert "Stopping…" in [one.text() for one in place.findChildren(QLabel) if one.isVisible()]
    assert shown_button(place, "Stop Writing") is None
    qtbot.waitUntil(lambda: place.outcome.told.text().startswith("Stopped."))
    assert place.chosen.isEnabled()
    assert not is_busy(place)
    assert [entry.state for entry in place.files.entries] == [WRITTEN, MISSED]
    assert shown_button(place, "Open Folder") is not None


@pytest.mark.parametrize("leave", ["quit", "start a new shoot", "open the other shoot"])
def test_leaving_while_it_is_written_asks_first(
    qtbot: QtBot,
    shoot_window: MainWindow,
    place: HandoffPlace,
    made: MadeHandOver,
    answers: Answers,
    tmp_path: Path,
    leave: str,
) -> None:
    other = tmp_path / "other.anglebook"
    answers.shoot = other
    shoot_window.session.save(other)
    made.waits = True
    place.write()
    qtbot.waitUntil(lambda: bool(made.written) and place.findChild(QProgressBar).value() == 500)
    go = {
        "quit": shoot_window.close,
        "start a new shoot": shoot_window.action_table["new"].trigger,
        "open the other shoot": shoot_window.action_table["open"].trigger,
    }[leave]
    shoot = shoot_window.session.shoot
    go()
    assert answers.offered == ["Keep Writing", f"Stop writing and {leave}"]
    assert "still being written" in answers.asked[-1]
    assert shoot_window.isVisible()
    assert shoot_window.session.shoot is shoot
    assert is_busy(place)
    answers.one = 1
    go()
    assert not shoot_window.isVisible() if leave == "quit" else shoot_window.session.shoot is not shoot
    qtbot.waitUntil(lambda: leave == "quit" or not is_busy(place))
    assert place.outcome.told.text() == ""


def test_a_hand_off_that_fails_is_told(
    qtbot: QtBot, place: HandoffPlace, made: MadeHandOver, tmp_path: Path
) -> None:
    made.error = OSError(28, "No space left on device", str(tmp_path))
    place.write()
    qtbot.waitUntil(lambda: "No space left" in place.outcome.told.text())
    assert may_write(place)


def test_without_a_folder_or_a_choice_nothing_can_be_written(place: HandoffPlace) -> None:
    place.folder.clear()
    assert not may_write(place)
    place.folder.setText("/tmp/x")
    assert may_write(place)
    for what in ("otio", "takes"):
        place.chosen.boxes[what].click()
    assert not may_write(place)


def test_one_hand_off_after_another_from_one_thread() -> None:
    """The library of timelines must not take the first job's thread for its own."""
    program = """
import sys
from PySide6.QtCore import QCoreApplication, QTimer
from app.handoff.choices import DEFAULT
from app.handoff.each_song import Part
from app.window.jobs import Jobs
from app.window.handoff.hand_over import hand_over
from tests.app.random_shoots import clip, shoot, take

app = QCoreApplication([])
assert "opentimelineio" not in sys.modules
jobs = Jobs()
jobs._pool.setMaxThreadCount(1)
parts, sizes = [Part(shoot(clip(1, take("t", 0, 9))))], []

def again(preview):
    sizes.append(preview.planned[0].size_bytes)
    if len(sizes) == 3:
        app.quit()
    else:
        jobs.start("x", lambda ticket: hand_over.preview(parts, DEFAULT), again, print)

QTimer.singleShot(0, lambda: jobs.start("x", lambda ticket: hand_over.preview(parts, DEFAULT), again, print))
app.exec()
jobs.close()
print(len(set(sizes)), len(sizes))
"""
    done = subprocess.run(
        [sys.executable, "-c", program], cwd=ROOT, capture_output=True, text=True, timeout=60, check=False
    )
    assert done.stdout.split() == ["1", "3"], done.stderr


def test_files_are_written_to_disk(qtbot: QtBot, place: HandoffPlace, tmp_path: Path) -> None:
    place.hand_over = hand_over
    for what in ("edl", "sections", "coverage", "report"):
        place.chosen.boxes[what].click()
    place.write()
    qtbot.waitUntil(lambda: {entry.state for entry in place.files.entries} == {WRITTEN}, timeout=20_000)
    qtbot.waitUntil(lambda: not is_busy(place))
    assert {path.suffix for path in (tmp_path / "edit").iterdir()} == {".otio", ".edl", ".csv", ".json"}
    assert sorted(entry.name for entry in place.files.entries) == sorted(
        path.name for path in (tmp_path / "edit").iterdir()
    )
    assert all(entry.size for entry in place.files.entries)
    assert "the song starts at 01:00:00:00" in place.files.notes.toPlainText()


def test_cameras_without_a_name_are_told_before_anything_is_written() -> None:
    shoot = on_song(make_shoot())
    bare = replace(shoot, angles=tuple(replace(angle, named=angle.safety) for angle in shoot.angles))
    assert "no name yet" not in summary_words([Part(shoot)])
    assert "cameras have no name yet: name what they show first" in summary_words([Part(bare)])
