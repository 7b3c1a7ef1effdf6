"""Dropping and choosing files: what becomes the song, what a clip, and how failures are told."""

import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import QCoreApplication, QEvent, QMimeData, QPointF, Qt, QUrl
from PySide6.QtGui import QDropEvent
from PySide6.QtWidgets import QPushButton, QWidget
from pytestqt.qtbot import QtBot

from app.model.document.verdict import Verdict
from app.model.reasons import in_words
from app.window.clips.clips_model import FILE, VERDICT, WHY
from app.window.frame.main_window import MainWindow
from tests.app.window.answers import Answers
from tests.app.window.made_up import SHOT, MadeUpTasks, make_clip


@pytest.fixture
def folder(tmp_path: Path, tasks: MadeUpTasks) -> Path:
    """A folder with the made-up clips, and one file that is none."""
    shoot = tmp_path / "shoot"
    for name, _ in SHOT:
        path = shoot / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(name.encode())
        answer = tasks.answers.pop(f"/shoot/{name}")
        media = answer.media.__class__(str(path), len(name), name)
        tasks.answers[str(path)] = answer.__class__(
            **{f: getattr(answer, f) for f in answer.__slots__} | {"media": media}
        )
        tasks.files.append(path)
    broken = shoot / "broken.mov"
    broken.write_bytes(b"nothing")
    tasks.files.append(broken)
    return shoot


def drop(window: MainWindow, paths: list[Path]) -> None:
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(path)) for path in paths])
    at = QPointF(600, 400)
    buttons, keys = Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
    # The constructor of QDragEnterEvent itself differs from release to release.
    enter = QDropEvent(at, Qt.DropAction.CopyAction, data, buttons, keys, QEvent.Type.DragEnter)
    QCoreApplication.sendEvent(window.windowHandle(), enter)
    assert enter.isAccepted()
    assert window.drops.hint.text.startswith("Drop to ")
    fall = QDropEvent(at, Qt.DropAction.CopyAction, data, buttons, keys)
    QCoreApplication.sendEvent(window.windowHandle(), fall)
    assert not window.drops.hint.text


def song_file(tmp_path: Path) -> Path:
    path = tmp_path / "harbour-waltz.wav"
    path.write_bytes(b"song")
    return path


def idle(window: MainWindow) -> bool:
    return not window.running.doing


def test_song_and_folder_dropped_are_placed(
    qtbot: QtBot, window: MainWindow, folder: Path, tmp_path: Path
) -> None:
    drop(window, [song_file(tmp_path)])
    qtbot.waitUntil(lambda: window.session.view.song is not None and idle(window))
    assert window.session.view.name == "harbour-waltz"
    drop(window, [folder])
    qtbot.waitUntil(lambda: len(window.session.view.clips) == 10 and idle(window))
    verdicts = [clip.verdict for clip in window.session.view.clips]
    assert verdicts.count(Verdict.PLACED) == 8
    assert verdicts.count(Verdict.DOUBTFUL) == 1
    assert verdicts.count(Verdict.UNREADABLE) == 1, "one bad file does not stop the rest"
    window.clips.catch_up()
    rows = {window.clips.model.index(row, FILE).data(): row for row in range(window.clips.model.rowCount())}
    row = rows["broken.mov"]
    assert window.clips.model.index(row, VERDICT).data() == "✕  unreadable"
    assert window.clips.model.index(row, WHY).data() == "This is not a file with sound or pictures."
    assert window.session.undo_label == "Add 10 Clips", "answers are no steps of their own"


def test_clips_before_the_song_wait_for_it(
    qtbot: QtBot, window: MainWindow, folder: Path, tmp_path: Path
) -> None:
    drop(window, [folder])
    qtbot.waitUntil(lambda: len(window.session.view.clips) == 10 and idle(window))
    assert {clip.verdict for clip in window.session.view.clips} == {Verdict.WAITING}
    drop(window, [song_file(tmp_path)])
    qtbot.waitUntil(lambda: window.session.view.song is not None and idle(window))
    assert Verdict.WAITING not in {clip.verdict for clip in window.session.view.clips}


def test_dropping_a_folder_twice_adds_nothing(qtbot: QtBot, window: MainWindow, folder: Path) -> None:
    drop(window, [folder])
    qtbot.waitUntil(lambda: len(window.session.view.clips) == 10 and idle(window))
    drop(window, [folder])
    qtbot.waitUntil(lambda: bool(window.notice.text))
    assert window.notice.text == "All clips in shoot are already in this shoot."
    assert len(window.session.view.clips) == 10


def test_clips_dropped_again_among_new_ones_are_counted(
    qtbot: QtBot, window: MainWindow, tasks: MadeUpTasks, folder: Path
) -> None:
    some = [path for path in tasks.files if path.parent.name == "Singer"]
    drop(window, some)
    qtbot.waitUntil(lambda: len(window.session.view.clips) == len(some) and idle(window))
    assert not window.notice.text
    drop(window, [folder])
    qtbot.waitUntil(lambda: len(window.session.view.clips) == 10 and idle(window))
    assert window.notice.text == f"{len(some)} clips are already in this shoot."


def test_folders_that_cannot_be_opened_are_told(
    window: MainWindow, qtbot: QtBot, folder: Path, tasks: MadeUpTasks
) -> None:
    tasks.passed_over.append("The folder lost+found was passed over.")
    drop(window, [folder])
    qtbot.waitUntil(lambda: "lost+found was passed over" in window.notice.text and idle(window))
    assert window.session.view.clips


def test_a_file_that_is_no_recording_does_not_become_a_clip(
    qtbot: QtBot, window: MainWindow, tasks: MadeUpTasks, folder: Path, tmp_path: Path
) -> None:
    notes, odd = tmp_path / "notes.json", tmp_path / "odd.rec"
    notes.write_text("{}")
    odd.write_bytes(b"sound after all")
    tasks.closed["notes.json"] = "This is not a recording."
    drop(window, [notes, odd])
    qtbot.waitUntil(lambda: bool(window.notice.text) and idle(window))
    assert window.notice.text == "notes.json is not a video or sound file, so it was left out."
    assert [Path(clip.media.path).name for clip in window.session.view.clips] == ["odd.rec"]


def test_a_folder_without_clips_is_told_by_its_name(qtbot: QtBot, window: MainWindow, tmp_path: Path) -> None:
    empty = tmp_path / "card 3"
    empty.mkdir()
    drop(window, [empty])
    qtbot.waitUntil(lambda: bool(window.notice.text))
    assert window.notice.text.startswith("No clips found in card 3 or its subfolders: ")
    assert "Drop the folder" in window.notice.text


def test_a_sound_file_beside_a_song_is_asked_about(
    qtbot: QtBot, window: MainWindow, answers: Answers, tmp_path: Path
) -> None:
    drop(window, [song_file(tmp_path)])
    qtbot.waitUntil(lambda: window.session.view.song is not None and idle(window))
    recorder = tmp_path / "recorder.wav"
    recorder.write_bytes(b"sound")
    answers.one = 0
    drop(window, [recorder])
    qtbot.waitUntil(lambda: len(window.session.view.clips) == 1 and idle(window))
    assert answers.asked == ["This shoot already has a song. What is recorder.wav?"]
    assert window.session.view.song is not None
    assert window.session.view.song.media.path.endswith("harbour-waltz.wav")


def test_a_sound_file_in_a_folder_is_asked_about_and_left_out_of_the_clips(
    qtbot: QtBot, window: MainWindow, answers: Answers, folder: Path, tasks: MadeUpTasks
) -> None:
    song = folder / "mix.wav"
    song.write_bytes(b"song")
    tasks.files.append(song)
    answers.one = 0
    drop(window, [folder])
    qtbot.waitUntil(lambda: window.session.view.song is not None and idle(window))
    assert answers.asked == ["There is no song yet. Which of these sound files are songs?"]
    assert "mix.wav" not in {Path(clip.media.path).name for clip in window.session.view.clips}
    assert len(window.session.view.clips) == 10


def test_a_song_that_cannot_be_read_is_told_in_a_sentence(
    qtbot: QtBot, window: MainWindow, tasks: MadeUpTasks, tmp_path: Path
) -> None:
    tasks.song_error = OSError("This is not a recording that can be read: check that it plays.")
    drop(window, [song_file(tmp_path)])
    qtbot.waitUntil(lambda: bool(window.notice.text))
    assert window.notice.text == (
        "harbour-waltz.wav can't be used as the song. "
        "This is not a recording that can be read: check that it plays."
    )
    assert window.notice.isVisible()
    assert window.session.view.song is None
    close = window.notice.findChild(QPushButton)
    assert close is not None
    assert close.text() == "Close"
    close.click()
    assert not window.notice.isVisible()


def test_stop_keeps_the_answers_so_far_and_offers_the_rest(
    qtbot: QtBot, window: MainWindow, tasks: MadeUpTasks, folder: Path, tmp_path: Path
) -> None:
    drop(window, [song_file(tmp_path)])
    qtbot.waitUntil(lambda: window.session.view.song is not None and idle(window))
    begun: list[int] = []

    def hold(stop: object) -> None:
        begun.append(1)
        while len(begun) > 3 and not stop():  # type: ignore[operator]
            time.sleep(0.001)

    tasks.before_answer = hold
    drop(window, [folder])
    qtbot.waitUntil(lambda: len(begun) > 3)
    qtbot.waitUntil(lambda: any("3 of 10" in doing.words for doing in window.running.doing))
    row = next(iter(window.work.progress.values()))
    assert row == 0.5
    window.action_table["stop"].trigger()
    qtbot.waitUntil(lambda: idle(window))
    waiting = [c for c in window.session.view.clips if c.verdict is Verdict.WAITING]
    assert len(waiting) == 7
    assert window.work.waiting == 7
    tasks.before_answer = lambda stop: None
    window.work.place_waiting()
    qtbot.waitUntil(lambda: idle(window))
    assert window.work.waiting == 0


def test_clips_added_while_placing_are_placed_too(
    qtbot: QtBot, window: MainWindow, tasks: MadeUpTasks, folder: Path, tmp_path: Path
) -> None:
    drop(window, [song_file(tmp_path)])
    qtbot.waitUntil(lambda: window.session.view.song is not None and idle(window))
    late = folder / "Singer" / "late.mov"
    gate: list[int] = []

    def hold(stop: object) -> None:
        while not gate and not stop():  # type: ignore[operator]
            time.sleep(0.001)

    tasks.before_answer = hold
    drop(window, [folder])
    qtbot.waitUntil(lambda: len(window.session.view.clips) == 10)
    late.write_bytes(b"late")
    drop(window, [late])
    qtbot.waitUntil(lambda: len(window.session.view.clips) == 11)
    gate.append(1)
    qtbot.waitUntil(lambda: idle(window))
    assert window.session.view.clips[-1].verdict is Verdict.UNREADABLE


def test_closing_while_placing_stops_and_waits(
    qtbot: QtBot, window: MainWindow, tasks: MadeUpTasks, folder: Path, tmp_path: Path
) -> None:
    drop(window, [song_file(tmp_path)])
    qtbot.waitUntil(lambda: window.session.view.song is not None and idle(window))
    stopped: list[bool] = []

    def hold(stop: object) -> None:
        while not stop():  # type: ignore[operator]
            time.sleep(0.001)
        stopped.append(True)

    tasks.before_answer = hold
    drop(window, [folder])
    qtbot.waitUntil(lambda: bool(window.work.progress))
    assert window.close()
    assert stopped == [True]
    assert not window.isVisible()


def test_a_flood_of_progress_does_not_flood_the_window(
    qtbot: QtBot, window: MainWindow, tasks: MadeUpTasks, folder: Path, tmp_path: Path
) -> None:
    drop(window, [song_file(tmp_path)])
    qtbot.waitUntil(lambda: window.session.view.song is not None and idle(window))
    told: list[None] = []
    window.work.moved.connect(lambda: told.append(None))
    tasks.reports_per_clip = 2000
    drop(window, [folder])
    qtbot.waitUntil(lambda: len(window.session.view.clips) == 10 and idle(window), timeout=20_000)
    assert len(told) < 1000, "20 000 signs of progress, and the window was told of some of them"


def test_no_part_of_the_window_takes_a_drop_for_itself(shoot_window: MainWindow) -> None:
    shoot_window.clips.name_angles()
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile("/card/C0001.MP4")])
    buttons, keys = Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
    for widget in shoot_window.findChildren(QWidget):
        if widget.acceptDrops():  # clips of the shoot, while angles are named
            over = QDropEvent(
                QPointF(5, 5), Qt.DropAction.CopyAction, data, buttons, keys, QEvent.Type.DragEnter
            )
            QCoreApplication.sendEvent(widget, over)
            assert not over.isAccepted(), widget


def test_song_and_folder_dropped_together_need_no_question(
    qtbot: QtBot, window: MainWindow, answers: Answers, folder: Path, tasks: MadeUpTasks, tmp_path: Path
) -> None:
    recorder = folder / "recorder.wav"
    recorder.write_bytes(b"sound")
    tasks.files.append(recorder)
    drop(window, [song_file(tmp_path), folder])
    qtbot.waitUntil(lambda: len(window.session.view.clips) == 11 and idle(window))
    assert answers.asked == []
    assert window.session.view.song is not None
    assert window.session.view.song.media.path.endswith("harbour-waltz.wav")


def test_placing_again_leaves_known_answers_aside(
    qtbot: QtBot, window: MainWindow, folder: Path, tmp_path: Path, tasks: MadeUpTasks
) -> None:
    """What is placed of itself may come from an earlier run; what a person has placed again does not."""
    drop(window, [song_file(tmp_path)])
    qtbot.waitUntil(lambda: window.session.view.song is not None and idle(window))
    drop(window, [folder])
    qtbot.waitUntil(lambda: len(window.session.view.clips) == 10 and idle(window))
    assert set(tasks.used_cache) == {True}
    window.work.place_again([window.session.view.clips[0].id])
    qtbot.waitUntil(lambda: idle(window))
    assert tasks.used_cache[-1] is False


def test_clips_are_compared_when_all_are_placed(
    qtbot: QtBot, window: MainWindow, folder: Path, tmp_path: Path, tasks: MadeUpTasks
) -> None:
    """First answers are there at once; comparing is told, can be stopped, and sharpens some of them."""
    drop(window, [song_file(tmp_path)])
    qtbot.waitUntil(lambda: window.session.view.song is not None and idle(window))
    drop(window, [folder])
    qtbot.waitUntil(lambda: len(window.session.view.clips) == 10 and idle(window))
    first = next(clip for clip in window.session.view.clips if clip.verdict is Verdict.UNREADABLE)
    reason = "Decided by another clip of the same moment: WIDE.MP4."
    better = replace(make_clip("x.mov", ((0.0, 20.0, False),)), media=first.media)
    better = replace(better, takes=(replace(better.takes[0], reason=in_words(reason)),))
    tasks.compared = [better]
    begun: list[int] = []

    def hold(stop: Callable[[], bool]) -> None:
        begun.append(1)
        while not stop():
            time.sleep(0.001)

    tasks.before_compared = hold
    others = {clip.media.path for clip in window.session.view.clips} - {first.media.path}
    window.work.place_again([first.id])
    qtbot.waitUntil(lambda: any(d.words == "Comparing clips: 0 of 1 done" for d in window.running.doing))
    assert tasks.placed_beside[-1] == others
    window.action_table["stop"].trigger()
    qtbot.waitUntil(lambda: idle(window))
    assert window.session.view.clip(first.id).verdict is Verdict.UNREADABLE
    tasks.before_compared = lambda stop: None
    window.work.place_again([first.id])
    qtbot.waitUntil(lambda: idle(window))
    assert window.session.view.clip(first.id).verdict is Verdict.PLACED
    window.clips.catch_up()
    model = window.clips.model
    assert reason in {model.index(row, WHY).data() for row in range(model.rowCount())}
