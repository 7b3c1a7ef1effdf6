"""A watched folder: clips come in when they stop growing and open, and not before."""

from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from app.model.document.verdict import Verdict
from app.model.edits import angle_edits
from app.model.storage.steady_files import LOOKS
from app.window.clips import watched_folder as watching
from app.window.frame.main_window import MainWindow
from tests.app.window.answers import Answers
from tests.app.window.made_up import MadeUpTasks


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    made = tmp_path / "card"
    made.mkdir()
    return made


@pytest.fixture
def watched(window: MainWindow, tasks: MadeUpTasks, folder: Path, qtbot: QtBot, tmp_path: Path) -> MainWindow:
    """A window with a song that watches the folder; looks are made by the test."""
    tasks.find_clips = lambda paths, leave_out=(): sorted(  # type: ignore[method-assign]
        path for path in folder.iterdir() if path not in leave_out
    )
    song = tmp_path / "song.wav"
    song.write_bytes(b"song")
    window.work.read_song(song)
    qtbot.waitUntil(lambda: window.session.view.song is not None and not window.running.doing)
    window.watch.start(folder)
    window.watch.close()
    qtbot.waitUntil(lambda: not window.jobs.busy(watching.SLOT))
    return window


def look(window: MainWindow, qtbot: QtBot, times: int = 1) -> None:
    for _ in range(times):
        window.watch.look()
        qtbot.waitUntil(lambda: not window.jobs.busy(watching.SLOT))
    qtbot.waitUntil(lambda: not window.running.doing)


def names(window: MainWindow) -> list[str]:
    return [Path(clip.media.path).name for clip in window.session.view.clips]


def test_a_clip_comes_in_and_is_placed_when_it_stops_growing(
    qtbot: QtBot, watched: MainWindow, folder: Path
) -> None:
    clip = folder / "C0001.mov"
    for size in range(1, 6):
        clip.write_bytes(b"x" * size)
        look(watched, qtbot)
        assert names(watched) == []
    assert watched.watch.words() == "Watching card: 0 clips added, C0001.mov still copying"
    look(watched, qtbot, LOOKS)
    assert names(watched) == ["C0001.mov"]
    assert watched.session.view.clips[0].verdict is not Verdict.WAITING
    assert watched.session.view.clips[0].media.size_bytes > 0
    assert watched.watch.words() == "Watching card: 1 clip added"
    assert watched.session.undo_label == "Choose Song", "what comes by itself is no step"


def test_undo_keeps_a_clip_that_came_meanwhile(qtbot: QtBot, watched: MainWindow, folder: Path) -> None:
    (folder / "C0001.mov").write_bytes(b"x")
    look(watched, qtbot, LOOKS + 1)
    angle = watched.session.shoot.angles[0]
    renamed = angle_edits.rename_angle(watched.session.shoot, angle.id, "Voice")
    watched.session.apply("Rename Angle", renamed, "test")
    (folder / "C0002.mov").write_bytes(b"xy")
    look(watched, qtbot, LOOKS + 1)
    ids = [clip.id for clip in watched.session.view.clips]
    assert names(watched) == ["C0001.mov", "C0002.mov"]
    for go in (watched.session.undo, watched.session.redo):
        go()
        assert names(watched) == ["C0001.mov", "C0002.mov"]
        assert [clip.id for clip in watched.session.view.clips] == ids
        assert watched.session.view.clips[1].verdict is not Verdict.WAITING
    assert watched.watch.words() == "Watching card: 2 clips added"


def test_a_file_that_does_not_open_yet_waits_but_not_for_ever(
    qtbot: QtBot, watched: MainWindow, folder: Path, tasks: MadeUpTasks, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(watching, "PATIENCE", LOOKS + 2)
    tasks.closed["C0001.mov"] = "The end of the file is missing."
    (folder / "C0001.mov").write_bytes(b"x")
    look(watched, qtbot, LOOKS)
    assert names(watched) == []
    assert watched.watch.words().endswith("C0001.mov still copying")
    look(watched, qtbot, 2)
    assert names(watched) == ["C0001.mov"]
    assert watched.session.view.clips[0].verdict is Verdict.UNREADABLE


def test_an_unreadable_clip_that_changes_is_placed_once_more(
    qtbot: QtBot, watched: MainWindow, folder: Path, tasks: MadeUpTasks
) -> None:
    clip = folder / "C0001.mov"
    clip.write_bytes(b"half")
    look(watched, qtbot, LOOKS + 1)
    assert watched.session.view.clips[0].verdict is Verdict.UNREADABLE
    runs = len(tasks.used_cache)
    look(watched, qtbot, 3)
    assert len(tasks.used_cache) == runs, "as it stayed, so it stays"
    clip.write_bytes(b"whole of it")
    look(watched, qtbot, LOOKS)
    assert len(tasks.used_cache) == runs + 1
    assert names(watched) == ["C0001.mov"]


def test_a_clip_taken_out_does_not_come_back(qtbot: QtBot, watched: MainWindow, folder: Path) -> None:
    (folder / "C0001.mov").write_bytes(b"x")
    look(watched, qtbot, LOOKS)
    watched.clips.catch_up()
    watched.clips.table.selectAll()
    watched.clips.steps.remove()
    look(watched, qtbot, LOOKS + 1)
    assert names(watched) == []


def test_sound_files_wait_until_there_is_a_song(
    qtbot: QtBot, window: MainWindow, tasks: MadeUpTasks, folder: Path, answers: Answers
) -> None:
    tasks.find_clips = lambda paths, leave_out=(): sorted(folder.iterdir())  # type: ignore[method-assign]
    (folder / "mix.wav").write_bytes(b"x")
    answers.folder = folder
    window.action_table["watch"].trigger()
    window.watch.close()
    look(window, qtbot, LOOKS + 1)
    assert names(window) == []
    assert answers.asked == ["Folder that you copy clips into while you shoot"]
    assert window.watch.words().endswith("1 sound file waiting for you to choose the song")
    assert window.clips.watch_strip.isVisible()
    assert window.action_table["watch"].text() == "Stop &Watching"
    assert window.column.watched == "◉ watching card"
    window.action_table["watch"].trigger()
    assert window.watch.folder is None
    assert not window.clips.watch_strip.isVisible()
    assert window.column.watched == ""


def test_a_folder_that_goes_away_is_told_and_looked_for_again(
    qtbot: QtBot, watched: MainWindow, folder: Path
) -> None:
    folder.rmdir()
    look(watched, qtbot)
    assert "No such file or directory" in watched.watch.words()
    folder.mkdir()
    look(watched, qtbot)
    assert watched.watch.words() == "Watching card: 0 clips added"


def test_the_folder_is_looked_at_by_itself(
    qtbot: QtBot, watched: MainWindow, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    watched.watch.look_every(5)
    (folder / "C0001.mov").write_bytes(b"x")
    qtbot.waitUntil(lambda: names(watched) == ["C0001.mov"])
    watched.watch.stop()
    assert not watched.watch.looking


def test_another_shoot_is_not_filled_from_it(qtbot: QtBot, watched: MainWindow) -> None:
    watched.session.new()
    assert watched.watch.folder is None
