"""The open shoot: one signal, undo and redo, saving and opening."""

from pathlib import Path

import pytest
from PySide6.QtCore import QObject

from app.model.answers import Answer
from app.model.document.change import Change
from app.model.document.media_ref import MediaRef
from app.model.document.shoot import Shoot
from app.model.document.song import Song
from app.model.document.store import StoreError
from app.model.document.verdict import Verdict
from app.model.edits import angle_edits, shoot_edits
from app.model.reasons import in_words
from app.window.session import EVERYTHING, Session

Heard = list[tuple[Change, str]]


@pytest.fixture
def session(qapp: QObject) -> Session:
    return Session()


@pytest.fixture
def heard(session: Session) -> Heard:
    calls: Heard = []
    session.changed.connect(lambda change, origin: calls.append((change, origin)))
    return calls


def clip(name: str) -> MediaRef:
    return MediaRef(f"/shoot/{name}.mov", 10, name)


def test_an_edit_is_told_once_with_its_change_and_origin(session: Session, heard: Heard) -> None:
    assert session.apply("Add Clips", shoot_edits.add_clips(session.shoot, [clip("Singer")]), "test")
    assert heard == [(Change.CLIPS | Change.ANGLES, "test")]
    assert session.modified
    assert session.undo_label == "Add Clips"


def test_an_edit_of_nothing_is_not_told(session: Session, heard: Heard) -> None:
    assert not session.apply("Nothing", (session.shoot, Change(0)), "test")
    assert heard == []
    assert session.undo_label is None


def test_undo_and_redo_are_told(session: Session, heard: Heard) -> None:
    session.apply("Add Clips", shoot_edits.add_clips(session.shoot, [clip("Singer")]), "test")
    session.undo()
    assert session.shoot == Shoot()
    assert not session.modified
    assert session.redo_label == "Add Clips"
    session.redo()
    assert [c.media.path for c in session.view.clips] == ["/shoot/Singer.mov"]
    assert [origin for _, origin in heard] == ["test", "undo", "redo"]
    session.redo()
    assert len(heard) == 3


def test_steps_with_one_merge_key_are_one_step(session: Session) -> None:
    for name in ("W", "Wa", "Waltz"):
        session.apply("Name", shoot_edits.set_name(session.shoot, name), "test", merge_key="name")
    session.undo()
    assert session.view.name == ""


def test_what_was_found_out_survives_the_undo_of_an_earlier_edit(session: Session) -> None:
    song = Song(MediaRef("/shoot/song.wav", 5, "s"), 60.0)
    session.apply("Choose Song", shoot_edits.set_song(session.shoot, song), "test")
    session.apply("Add Clips", shoot_edits.add_clips(session.shoot, [clip("Singer"), clip("Drums")]), "test")
    session.apply(
        "Rename", angle_edits.rename_angle(session.shoot, session.shoot.angles[0].id, "Voice"), "test"
    )
    found = Answer(clip("Singer"), verdict=Verdict.NO_SONG, reason=in_words("r"))
    session.find_out(lambda shoot: shoot_edits.answer_clip(shoot, found), "work")
    session.undo()
    assert session.view.angles[0].name == "Singer"
    assert session.view.clips[0].verdict is Verdict.NO_SONG
    assert session.redo_label == "Rename"


def test_save_and_open_again(session: Session, heard: Heard, tmp_path: Path) -> None:
    session.apply("Add Clips", shoot_edits.add_clips(session.shoot, [clip("Singer")]), "test")
    path = tmp_path / "waltz.anglebook"
    with pytest.raises(ValueError, match="no file yet"):
        session.save()
    session.save(path)
    assert not session.modified
    assert heard[-1] == (Change(0), "save")
    assert session.title == "waltz"
    saved = session.view
    session.new()
    assert session.shoot == Shoot()
    session.open(path)
    assert session.view == saved
    assert session.path == path
    assert heard[-1] == (EVERYTHING, "open")
    assert session.undo_label is None


def test_a_damaged_file_leaves_the_open_shoot_alone(session: Session, tmp_path: Path) -> None:
    session.apply("Name", shoot_edits.set_name(session.shoot, "Waltz"), "test")
    path = tmp_path / "bad.anglebook"
    path.write_text("{")
    with pytest.raises(StoreError):
        session.open(path)
    assert session.view.name == "Waltz"
    assert session.path is None
