"""Files that are gone: marked, looked for by content, and each told what became of it."""

from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from app.model.document.identity import media_ref
from app.model.document.media_ref import MediaRef
from app.model.document.song import FIRST_SONG, Song
from app.model.edits import shoot_edits
from app.window.clips.clips_model import FILE, WHY
from app.window.clips.sought_window import SoughtWindow
from app.window.frame.main_window import MainWindow
from tests.app.window.answers import Answers
from tests.app.window.made_up import make_song


@pytest.fixture
def moved(qtbot: QtBot, window: MainWindow, tmp_path: Path) -> MainWindow:
    """Song and first clip went to another folder, the second was replaced, the third never read."""
    old, new = tmp_path / "old", tmp_path / "new"
    old.mkdir()
    new.mkdir()
    for name in ("song.wav", "a.mov", "b.mov"):
        (old / name).write_bytes(name.encode() * 100)
    shoot, _ = shoot_edits.set_song(window.session.shoot, Song(media_ref(old / "song.wav"), 10.0))
    clips = [media_ref(old / name) for name in ("a.mov", "b.mov")]
    clips.append(MediaRef(str(old / "c.mov"), 0, ""))
    result = shoot_edits.add_clips(shoot, clips)
    window.session.apply("Make", (result[0], result[1]), "test")
    (old / "song.wav").rename(new / "song.wav")
    (old / "a.mov").rename(new / "renamed.mov")
    (old / "b.mov").unlink()
    (new / "b.mov").write_bytes(b"another take of the same name")
    window.moved.look()
    qtbot.waitUntil(lambda: len(window.moved.gone) == 4)
    return window


def test_what_is_gone_is_marked(moved: MainWindow) -> None:
    assert moved.moved.gone == {FIRST_SONG, "clip-1", "clip-2", "clip-3"}
    moved.clips.catch_up()
    model = moved.clips.model
    assert "The file is missing" in model.index(0, WHY).data()
    assert model.index(0, FILE).data() == "a.mov"


@pytest.mark.parametrize("number", range(6))
def test_what_is_gone_is_told_above_every_place_with_the_remedy(
    qtbot: QtBot, moved: MainWindow, answers: Answers, tmp_path: Path, number: int
) -> None:
    moved.go(number)
    bar = moved.missing
    assert bar.isVisible()
    assert bar.text.startswith("Missing: the song (song.wav) and 3 clips (a.mov, b.mov and 1 more).")
    assert bar.accessibleName() == bar.text
    assert bar.button.text() == "Find 4 Moved Files…"
    assert "(Ctrl+M)" in bar.button.toolTip()
    answers.folder = tmp_path / "new"
    bar.button.click()
    qtbot.waitUntil(lambda: len(moved.moved.gone) == 2)
    assert bar.text.startswith("Missing: 2 clips (b.mov, c.mov).")
    for name in ("b.mov", "c.mov"):
        (tmp_path / "old" / name).write_bytes(b"x")
    moved.go((number + 1) % 6)
    qtbot.waitUntil(lambda: not bar.isVisible())


def test_a_song_that_goes_away_before_the_hand_off_is_told_when_it_is_written(
    qtbot: QtBot, shoot_window: MainWindow, tmp_path: Path
) -> None:
    song = tmp_path / "waltz.wav"
    song.write_bytes(b"x")
    result = shoot_edits.set_song(shoot_window.session.shoot, make_song(str(song)))
    shoot_window.session.apply("Song", result, "test")
    shoot_window.go(5)
    shoot_window.handoff.folder.setText(str(tmp_path / "edit"))
    qtbot.waitUntil(lambda: shoot_window.moved.gone and FIRST_SONG not in shoot_window.moved.gone)
    song.unlink()
    shoot_window.handoff.write()
    qtbot.waitUntil(lambda: shoot_window.missing.text.startswith("Missing: the song (waltz.wav)"))


def test_each_file_is_told_and_the_found_ones_are_followed(
    qtbot: QtBot, moved: MainWindow, answers: Answers, tmp_path: Path
) -> None:
    answers.folder = tmp_path / "new"
    moved.action_table["find"].trigger()
    qtbot.waitUntil(lambda: moved.findChild(SoughtWindow) is not None)
    told = moved.findChild(SoughtWindow)
    assert told is not None
    text = told.list.toPlainText()
    assert f"is now at {tmp_path / 'new' / 'song.wav'}" in text
    assert f"is now at {tmp_path / 'new' / 'renamed.mov'}" in text
    assert f"{tmp_path / 'new' / 'b.mov'} has the same name but different content" in text
    assert "c.mov was never read" in text
    told.close()
    shoot = moved.session.view
    assert shoot.song is not None
    assert Path(shoot.song.media.path).parent.name == "new"
    assert Path(shoot.clips[0].media.path).name == "renamed.mov"
    assert Path(shoot.clips[1].media.path).parent.name == "old"
    qtbot.waitUntil(lambda: moved.moved.gone == {"clip-2", "clip-3"})
    assert moved.session.undo_label == "Make", "no step of its own"
    clip_id = moved.session.view.clips[0].id
    moved.session.apply("Note", shoot_edits.set_note(moved.session.shoot, [clip_id], "x"), "test")
    moved.session.undo()
    assert Path(moved.session.view.clips[0].media.path).name == "renamed.mov"


def test_a_folder_without_any_says_so_for_each(
    qtbot: QtBot, moved: MainWindow, answers: Answers, tmp_path: Path
) -> None:
    empty = tmp_path / "empty"
    empty.mkdir()
    answers.folder = empty
    before = moved.session.view
    moved.action_table["find"].trigger()
    qtbot.waitUntil(lambda: moved.findChild(SoughtWindow) is not None)
    told = moved.findChild(SoughtWindow)
    assert told is not None
    assert told.list.toPlainText().count(f"No file in {empty} or its subfolders") == 3
    told.close()
    assert moved.session.view == before
