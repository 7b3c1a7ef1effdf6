"""No clip has the song: the window asks once whether it is the wrong one, and compares the clips."""

import threading
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from app.model.document.verdict import Verdict
from app.model.reasons import Reason
from app.model.wrong_song import Shared
from app.window.frame.main_window import MainWindow
from tests.app.window.made_up import MadeUpTasks, make_clip

ASKED = "None of the 3 clips has this song. Is harbour-waltz.wav the right song?"
NAMES = ("A/C1.mov", "A/C2.mov", "B/C3.mov")


@pytest.fixture
def strangers(tasks: MadeUpTasks, tmp_path: Path) -> list[Path]:
    """Three clips in which the song is not found."""
    paths = []
    for name in NAMES:
        path = tmp_path / name
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(name.encode())
        clip = make_clip(name)
        media = replace(clip.media, path=str(path))
        tasks.answers[str(path)] = replace(
            clip, media=media, verdict=Verdict.NO_SONG, reason=Reason("song not found")
        )
        tasks.files.append(path)
        paths.append(path)
    return paths


def placed(qtbot: QtBot, window: MainWindow, paths: list[Path]) -> None:
    """The song and clips taken in, and everything done."""
    song = paths[0].parent.parent / "harbour-waltz.wav"
    song.write_bytes(b"song")
    window.work.read_song(song)
    qtbot.waitUntil(lambda: window.session.view.song is not None and not window.running.doing)
    window.work.take_in(paths)
    qtbot.waitUntil(lambda: len(window.session.view.clips) == len(paths) and not window.running.doing)


def test_it_is_asked_whether_the_song_is_the_wrong_one(
    qtbot: QtBot, window: MainWindow, tasks: MadeUpTasks, strangers: list[Path]
) -> None:
    tasks.shared = Shared(str(strangers[0]), 2, 2)
    placed(qtbot, window, strangers)
    assert window.notice.text == f"{ASKED} 2 of 2 other clips match C1.mov, so they may be from another song."
    assert window.notice.isVisible()
    assert [sorted(paths) for paths in tasks.shared_among] == [sorted(strangers)]


def test_clips_that_share_nothing_are_not_spoken_of(
    qtbot: QtBot, window: MainWindow, tasks: MadeUpTasks, strangers: list[Path]
) -> None:
    tasks.shared = Shared(str(strangers[0]), 2, 0)
    placed(qtbot, window, strangers)
    assert window.notice.text == ASKED


def test_one_clip_with_the_song_and_nothing_is_asked_or_compared(
    qtbot: QtBot, window: MainWindow, tasks: MadeUpTasks, strangers: list[Path]
) -> None:
    with_song = make_clip("A/C1.mov", ((1, 20, False),))
    tasks.answers[str(strangers[0])] = replace(
        with_song, media=replace(with_song.media, path=str(strangers[0]))
    )
    placed(qtbot, window, strangers)
    assert window.notice.text == ""
    assert tasks.shared_among == []


def test_a_clip_with_the_song_that_comes_later_takes_the_question_away(
    qtbot: QtBot, window: MainWindow, strangers: list[Path]
) -> None:
    placed(qtbot, window, strangers)
    assert window.notice.text == ASKED
    window.work.take_in([Path("/shoot/Singer/C0001.mov")])
    qtbot.waitUntil(lambda: len(window.session.view.clips) == 4 and not window.running.doing)
    assert window.session.view.clips[-1].takes
    assert window.notice.text == ""


def test_the_comparison_can_be_stopped_and_the_question_stays(
    qtbot: QtBot, window: MainWindow, tasks: MadeUpTasks, strangers: list[Path]
) -> None:
    begun = threading.Event()

    def wait(stop: Callable[[], bool]) -> None:
        begun.set()
        while not stop():
            threading.Event().wait(0.01)

    tasks.before_shared = wait
    song = strangers[0].parent.parent / "harbour-waltz.wav"
    song.write_bytes(b"song")
    window.work.read_song(song)
    window.work.take_in(strangers)
    qtbot.waitUntil(begun.is_set)
    qtbot.waitUntil(lambda: window.notice.text == ASKED)
    assert [doing.words for doing in window.running.doing] == ["Checking whether the clips match each other"]
    window.running.stop()
    qtbot.waitUntil(lambda: not window.running.doing)
    assert window.notice.text == ASKED


def test_another_shoot_is_not_asked_about(qtbot: QtBot, window: MainWindow, strangers: list[Path]) -> None:
    placed(qtbot, window, strangers)
    window.session.new()
    assert window.notice.text == ""
