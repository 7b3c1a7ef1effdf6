"""What is not saved outlives a crash, and goes away when it was saved or given up."""

import threading
from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import QObject
from pytestqt.qtbot import QtBot

from app.model.document import store
from app.model.document.media_ref import MediaRef
from app.model.document.shoot import Shoot
from app.model.edits import deciding, shoot_edits
from app.window.frame.safe_copy import SafeCopy
from app.window.session import EVERYTHING, Session, now
from tests.app.window.answers import Answers
from tests.app.window.made_up import make_shoot

Made = tuple[Session, SafeCopy]


@pytest.fixture
def make(qapp: QObject, tmp_path: Path, answers: Answers) -> Callable[[], Made]:
    def one() -> Made:
        session = Session()
        return session, SafeCopy(session, answers, tmp_path / "unsaved")

    return one


def rename(session: Session, name: str) -> None:
    session.apply("Name", shoot_edits.set_name(session.shoot, name), "test")


def crash(copy: SafeCopy) -> None:
    """The window is gone without closing: its lock falls, its copy stays."""
    copy.write()
    for lock in (copy._lock, *copy._held.values()):
        if lock is not None:
            lock.unlock()


def test_a_shoot_without_a_file_is_offered_after_a_crash(
    make: Callable[[], Made], answers: Answers, tmp_path: Path
) -> None:
    session, copy = make()
    rename(session, "Waltz")
    crash(copy)
    answers.one = 0
    session, copy = make()
    copy.offer_unsaved()
    assert session.view.name == "Waltz"
    assert session.modified
    copy.close()
    assert not list((tmp_path / "unsaved").glob("*.anglebook"))


def test_the_window_goes_on_while_a_copy_is_written(
    make: Callable[[], Made], tmp_path: Path, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It is written on a thread of its own; a shoot saved before its end leaves no copy behind."""
    begun, go_on, save = threading.Event(), threading.Event(), store.save

    def slow(shoot: Shoot, path: Path, *, expected: str | None = None) -> str:
        if threading.current_thread() is not threading.main_thread():
            begun.set()
            assert go_on.wait(60)
        return save(shoot, path, expected=expected)

    monkeypatch.setattr(store, "save", slow)
    session, copy = make()
    session.save(tmp_path / "waltz.anglebook")
    rename(session, "Slow waltz")
    qtbot.waitUntil(begun.is_set)
    rename(session, "Slower waltz")  # the window is there for it
    threading.Timer(0.1, go_on.set).start()
    session.save(tmp_path / "waltz.anglebook")
    assert [path.name for path in tmp_path.glob("*.anglebook")] == ["waltz.anglebook"]
    assert not list(tmp_path.glob(".waltz*"))
    rename(session, "March")
    qtbot.waitUntil(lambda: copy._written is not None)
    assert copy._written is not None
    assert store.load(copy._written).name == "March"
    copy.close()
    assert not list(tmp_path.glob(".waltz*"))


def test_a_window_still_open_is_not_robbed(make: Callable[[], Made], answers: Answers) -> None:
    session, copy = make()
    rename(session, "Waltz")
    copy.write()
    other, other_copy = make()
    other_copy.offer_unsaved()
    assert answers.asked == []
    rename(other, "March")
    other_copy.write()
    assert copy._written != other_copy._written
    copy.close()
    other_copy.close()


def test_changes_of_a_saved_shoot_are_offered_when_it_is_opened_again(
    make: Callable[[], Made], answers: Answers, tmp_path: Path
) -> None:
    session, copy = make()
    rename(session, "Waltz")
    session.save(tmp_path / "waltz.anglebook")
    rename(session, "Slow waltz")
    crash(copy)
    answers.one = 0
    session, copy = make()
    session.open(tmp_path / "waltz.anglebook")
    assert session.view.name == "Slow waltz"
    session.undo()
    assert session.view.name == "Waltz"
    copy.close()


def test_two_windows_on_one_shoot_leave_each_other_their_changes(
    make: Callable[[], Made], answers: Answers, tmp_path: Path
) -> None:
    session, copy = make()
    rename(session, "Waltz")
    session.save(tmp_path / "waltz.anglebook")
    rename(session, "Slow waltz")
    copy.write()
    other, other_copy = make()
    other.open(tmp_path / "waltz.anglebook")
    assert answers.asked == [], "nothing ended: the other window is still there"
    rename(other, "Quick waltz")
    other_copy.write()
    assert copy._written != other_copy._written
    copy.close()
    assert other_copy._written is not None
    assert store.load(other_copy._written).name == "Quick waltz"
    other_copy.close()


def test_changes_thrown_away_are_not_offered_again(
    make: Callable[[], Made], answers: Answers, tmp_path: Path
) -> None:
    session, copy = make()
    rename(session, "Waltz")
    session.save(tmp_path / "waltz.anglebook")
    rename(session, "Slow waltz")
    crash(copy)
    answers.one = 1
    session, copy = make()
    session.open(tmp_path / "waltz.anglebook")
    assert session.view.name == "Waltz"
    session.open(tmp_path / "waltz.anglebook")
    assert len(answers.asked) == 2, "what to do, and whether that is meant"
    copy.close()


def test_changes_are_thrown_away_only_when_that_is_said_twice(
    make: Callable[[], Made], answers: Answers, tmp_path: Path
) -> None:
    session, copy = make()
    session.apply("Make", (make_shoot(), EVERYTHING), "test")
    crash(copy)
    kept = next((tmp_path / "unsaved").glob("*.anglebook"))
    answers.ones = [1, 0]
    session, copy = make()
    copy.offer_unsaved()
    assert kept.is_file()
    assert "“harbour-waltz”" in answers.asked[0]
    for question in answers.asked:
        assert "12 clips, 11 takes, 0 decisions, song harbour-waltz.wav" in question
    answers.ones = [1, 1]
    session, copy = make()
    copy.offer_unsaved()
    assert not kept.exists()
    copy.close()


@pytest.mark.parametrize("saved", [True, False])
def test_changes_left_for_later_are_never_written_over(
    make: Callable[[], Made], answers: Answers, tmp_path: Path, saved: bool
) -> None:
    def again() -> Made:
        session, copy = make()
        if saved:
            session.open(tmp_path / "waltz.anglebook")
        else:
            copy.offer_unsaved()
        return session, copy

    session, copy = make()
    if saved:
        session.save(tmp_path / "waltz.anglebook")
    rename(session, "Slow waltz")
    crash(copy)
    answers.one = None
    session, copy = again()
    rename(session, "March")
    crash(copy)
    kept = [store.load(path).name for path in tmp_path.rglob("*.anglebook") if path.stem != "waltz"]
    assert sorted(kept) == ["March", "Slow waltz"]
    answers.one = 0
    session, copy = again()
    first = session.view.name
    session.save(tmp_path / "waltz.anglebook")
    copy.close()
    session, copy = again()
    assert {first, session.view.name} == {"March", "Slow waltz"}
    copy.close()


def test_a_clip_that_was_refused_counts_as_a_decision(
    make: Callable[[], Made], answers: Answers, tmp_path: Path
) -> None:
    session, copy = make()
    shoot = make_shoot()
    session.apply("Refuse", (deciding.refuse_clips(shoot, [shoot.clips[0].id], now())[0], EVERYTHING), "test")
    crash(copy)
    session, copy = make()
    copy.offer_unsaved()
    assert "1 decision," in answers.asked[0]
    copy.close()


def test_saving_removes_the_copy(make: Callable[[], Made], tmp_path: Path) -> None:
    session, copy = make()
    rename(session, "Waltz")
    copy.write()
    session.save(tmp_path / "waltz.anglebook")
    assert not list((tmp_path / "unsaved").glob("*.anglebook"))
    rename(session, "March")
    copy.write()
    assert (tmp_path / ".waltz.unsaved.anglebook").is_file()
    session.undo()
    copy.write()
    assert [path.name for path in tmp_path.glob("*.anglebook")] == ["waltz.anglebook"]
    copy.close()


def test_a_damaged_copy_is_passed_over(make: Callable[[], Made], answers: Answers, tmp_path: Path) -> None:
    session, copy = make()
    rename(session, "Waltz")
    session.save(tmp_path / "waltz.anglebook")
    (tmp_path / ".waltz.unsaved.anglebook").write_text("{")
    session.open(tmp_path / "waltz.anglebook")
    assert answers.asked == []
    copy.close()


def test_that_no_copy_can_be_made_is_told_once(make: Callable[[], Made], tmp_path: Path) -> None:
    (tmp_path / "unsaved").write_text("a file where the folder should be")
    session, copy = make()
    told: list[str] = []
    copy.message.connect(told.append)
    for name in ("Waltz", "March"):
        rename(session, name)
        copy.write()
    assert len(told) == 1
    assert told[0].startswith("Your unsaved changes could not be backed up: ")
    copy.close()


def test_no_copy_is_laid_beside_clips(make: Callable[[], Made], answers: Answers, tmp_path: Path) -> None:
    """A shoot that lies among its clips from earlier is saved there, and its changes are kept elsewhere."""
    card = tmp_path / "card"
    card.mkdir()
    (card / "a.mov").write_bytes(b"x")
    session, copy = make()
    rename(session, "Waltz")
    session.save(card / "waltz.anglebook")
    found = MediaRef(str(card / "a.mov"), 1, "00")
    session.apply("Add", shoot_edits.add_clips(session.shoot, [found]), "test")
    session.save()
    rename(session, "Slow waltz")
    crash(copy)
    assert sorted(path.name for path in card.iterdir()) == ["a.mov", "waltz.anglebook"]
    answers.one = 0
    session, copy = make()
    session.open(card / "waltz.anglebook")
    assert session.view.name == "Slow waltz"
    session.save()
    assert store.load(card / "waltz.anglebook").name == "Slow waltz"
    assert not list((tmp_path / "unsaved").rglob("*.anglebook"))
    copy.close()
