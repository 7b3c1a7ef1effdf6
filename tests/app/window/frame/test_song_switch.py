"""A second song in the window: added, shown in the column of places, taken in hand, taken out again."""

from pathlib import Path

from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from app.model.document.verdict import Verdict
from app.window.clips.clips_model import TAKES
from app.window.frame.main_window import MainWindow
from tests.app.window.answers import Answers
from tests.app.window.made_up import MadeUpTasks


def add(qtbot: QtBot, window: MainWindow, answers: Answers, path: str) -> None:
    answers.song = Path(path)
    count = len(window.session.songs)
    window.action_table["add song"].trigger()
    qtbot.waitUntil(lambda: len(window.session.songs) == count + 1)
    qtbot.waitUntil(lambda: not window.jobs.busy("place"))


def in_hand(window: MainWindow) -> str:
    assert window.session.view.song is not None
    return window.session.view.song.called


def test_a_second_song_is_added_and_taken_in_hand(
    qtbot: QtBot, shoot_window: MainWindow, answers: Answers, tasks: MadeUpTasks
) -> None:
    window = shoot_window
    switch = window.column.songs
    assert switch.isHidden()
    tasks.digests["slow-air.wav"] = "air"
    add(qtbot, window, answers, "/shoot/slow-air.wav")
    assert switch.isVisible()
    assert [switch.itemText(n) for n in range(switch.count())] == ["harbour-waltz", "slow-air"]
    assert in_hand(window) == "harbour-waltz"
    placed = [clip for clip in window.session.everywhere.clips if clip.takes]
    assert placed
    # All clips were held against it, and the table tells the song of each take.
    assert not window.work.waiting
    window.clips.catch_up()
    texts = [text for text in window.clips.model.texts(TAKES) if text]
    assert texts
    assert all(line.startswith("harbour-waltz: ") for text in texts for line in text.splitlines())
    qtbot.keyClick(window, Qt.Key.Key_PageDown, Qt.KeyboardModifier.ControlModifier)
    assert in_hand(window) == "slow-air"
    assert switch.currentText() == "slow-air"
    assert not any(clip.takes for clip in window.session.view.clips)
    # What is of another song is not asked about here, and counts as what it is there.
    window.check.catch_up()
    assert {one.clip.id for one in window.check.queue.entries}.isdisjoint(clip.id for clip in placed)
    qtbot.waitUntil(lambda: window.column.figure("Check").endswith(" in other songs"))
    assert window.column.summary.startswith(f"{sum(c.verdict is Verdict.PLACED for c in placed)} placed")
    # In Clips every clip still stands as it does on its own song, and is found by it.
    assert "song" in window.clips.filter.text.placeholderText()
    window.clips.filter.text.setText("harbour")
    assert window.clips.table.shown == len(placed)
    window.clips.filter.show_all()
    window.clips.catch_up()
    assert [text for text in window.clips.model.texts(TAKES) if text] == texts
    for _ in window.places:
        window.go((window.place_number + 1) % len(window.places))
    # A take of the other song opens in Check on that song.
    window.clips.wanted_in_check.emit(placed[0].takes[0].id)
    assert in_hand(window) == "harbour-waltz"
    window.action_table["Previous Song"].trigger()
    assert in_hand(window) == "slow-air"
    window.action_table["remove song"].trigger()
    assert in_hand(window) == "harbour-waltz"
    assert switch.isHidden()
    window.session.undo()
    assert len(window.session.songs) == 2
    qtbot.waitUntil(lambda: not window.jobs.busy("place"))


def test_all_sound_files_of_a_folder_may_be_songs(
    qtbot: QtBot, window: MainWindow, answers: Answers, tasks: MadeUpTasks, tmp_path: Path
) -> None:
    names = ["air.wav", "jig.wav", "reel.wav"]
    for name in names:
        (tmp_path / name).write_bytes(name.encode())
        tasks.digests[name] = name
        tasks.files.append(tmp_path / name)
    answers.one = len(names) + 1
    window.work.take_in([tmp_path])
    qtbot.waitUntil(lambda: len(window.session.songs) == 3)
    assert answers.offered[-1] == "All of them are songs"
    assert [song.called for song in window.session.songs] == ["air", "jig", "reel"]
    assert window.session.view.clips == ()


def test_songs_beside_a_folder_are_told_from_what_a_recorder_left(
    qtbot: QtBot, window: MainWindow, answers: Answers, tasks: MadeUpTasks, tmp_path: Path
) -> None:
    card = tmp_path / "card"
    card.mkdir()
    paths = [tmp_path / "air.wav", tmp_path / "jig.wav", card / "ZOOM0001.WAV"]
    for path in paths:
        path.write_bytes(path.name.encode())
        tasks.digests[path.name] = path.name
        tasks.files.append(path)
    answers.one = 0
    window.work.take_in([*paths[:2], card])
    qtbot.waitUntil(lambda: len(window.session.songs) == 2)
    assert answers.offered[0] == "2 songs: air.wav, jig.wav"
    qtbot.waitUntil(lambda: not window.jobs.busy("place"))
    assert [Path(clip.media.path).name for clip in window.session.view.clips] == ["ZOOM0001.WAV"]
