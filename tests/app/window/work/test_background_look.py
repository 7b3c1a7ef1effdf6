"""Clips are looked at in the background once they are placed: what comes of it, and when it gives way."""

import threading
from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import QTimer
from pytestqt.qtbot import QtBot

from app.model.document.looks import Measure
from app.model.edits.shoot_edits import set_note
from app.model.faults_seen import seen_faults
from app.model.seen import Proposed, Seen
from app.window.frame.main_window import MainWindow
from app.window.frame.preferences_window import PreferencesWindow
from app.window.work.background_look import SLOT
from tests.app.window.made_up import MadeUpTasks

SOFT = Proposed("soft", 1.0, 2.0, 0.5)


@pytest.fixture
def paths(tasks: MadeUpTasks) -> list[str]:
    """Paths of two clips of the made-up shoot, which both can be placed."""
    found = sorted(path for path, clip in tasks.answers.items() if clip.takes)[:2]
    tasks.seen = [
        Seen(
            tasks.answers[found[0]].media,
            (Measure("level", 0.4),),
            "view-1",
            0.9,
            (SOFT,),
        ),
        Seen(tasks.answers[found[1]].media, trouble="No picture of the clip can be decoded."),
    ]
    return found


def placed(window: MainWindow, qtbot: QtBot, paths: list[str], idle: Callable[[], bool]) -> None:
    """Take in a song and clips, and wait."""
    window.work.read_song(Path("/shoot/song.wav"))
    window.take_in([Path(path) for path in paths])
    qtbot.waitUntil(lambda: bool(window.session.view.clips) and idle())


def test_clips_are_looked_at_once_when_all_are_placed(
    window: MainWindow, qtbot: QtBot, tasks: MadeUpTasks, paths: list[str]
) -> None:
    def idle() -> bool:
        return bool(tasks.looked_at) and not window.jobs.busy("place") and not window.jobs.busy(SLOT)

    placed(window, qtbot, paths, idle)
    by_path = {clip.media.path: clip for clip in window.session.view.clips}
    look = by_path[paths[0]].look
    assert look is not None
    assert (look.group, look.sure) == ("view-1", 0.9)
    assert [mark.by for mark in seen_faults(by_path[paths[0]].marks)] == ["soft"]
    assert by_path[paths[1]].look is None
    # It is no step: whatever is undone, it stays, as long as its clip does.
    label = window.session.undo_label
    assert label is not None
    assert "Clip" in label or "Song" in label
    # Nobody looks again at what was looked at, or at what could not be.
    times = len(tasks.looked_at)
    window.look.start()
    assert not window.jobs.busy(SLOT)
    window.work.place_again([clip.id for clip in window.session.view.clips])
    qtbot.waitUntil(lambda: not window.jobs.busy("place"))
    assert not window.jobs.busy(SLOT)
    assert len(tasks.looked_at) == times


def test_whoever_wants_no_looking_unticks_it(
    window: MainWindow, qtbot: QtBot, tasks: MadeUpTasks, paths: list[str]
) -> None:
    window.action_table["preferences"].trigger()
    opened = window.findChild(PreferencesWindow)
    assert opened is not None
    assert opened.look.isChecked()
    opened.look.click()
    opened.close()
    assert not window.preferences.looks_at_pictures
    placed(window, qtbot, paths, lambda: all(clip.takes for clip in window.session.view.clips))
    qtbot.waitUntil(lambda: not window.jobs.busy("place"))
    assert tasks.looked_at == []


def test_looking_is_told_stopped_and_gives_way_to_placing(
    window: MainWindow, qtbot: QtBot, tasks: MadeUpTasks, paths: list[str]
) -> None:
    def until_stopped(stop: Callable[[], bool]) -> None:
        while not stop():
            threading.Event().wait(0.01)

    tasks.before_look = until_stopped
    placed(window, qtbot, paths, lambda: window.jobs.busy(SLOT) and not window.jobs.busy("place"))
    assert "Looking at pictures" in [one.words for one in window.running.doing]
    window.running.stop()
    qtbot.waitUntil(lambda: not window.jobs.busy(SLOT))
    assert all(clip.look is None for clip in window.session.view.clips)

    # What a person stopped begins again only when asked for.
    window.session.apply("Note", set_note(window.session.shoot, [window.session.view.clips[0].id], "x"), "")
    wait_for_timers(qtbot)
    assert not window.jobs.busy(SLOT)
    window.action_table["look"].trigger()
    assert window.jobs.busy(SLOT)
    tasks.before_look = lambda stop: None
    window.work.place_again([window.session.view.clips[0].id])
    assert not window.jobs.busy(SLOT)
    # It goes on when that is done.
    qtbot.waitUntil(lambda: any(clip.look for clip in window.session.view.clips))


def test_an_opened_shoot_is_looked_at(
    window: MainWindow, qtbot: QtBot, tasks: MadeUpTasks, paths: list[str], tmp_path: Path
) -> None:
    window.preferences.look_at_pictures(False)
    placed(window, qtbot, paths, lambda: all(clip.takes for clip in window.session.view.clips))
    qtbot.waitUntil(lambda: not window.jobs.busy("place"))
    window.session.save(tmp_path / "waltz.anglebook")
    window.session.new()
    window.session.open(tmp_path / "waltz.anglebook", trust=True)
    wait_for_timers(qtbot)
    assert tasks.looked_at == [], "nobody wants it"
    window.preferences.look_at_pictures(True)
    window.session.open(tmp_path / "waltz.anglebook", trust=True)
    qtbot.waitUntil(lambda: len(window.session.shoot.looks) == 1 and not window.jobs.busy(SLOT))
    assert "The pictures propose 1 fault." in window.notice.text
    # One file is in trouble: it is named, and not tried again and again.
    assert f"{Path(paths[1]).name} could not be looked at. No picture" in window.notice.text
    wait_for_timers(qtbot)
    assert len(tasks.looked_at) == 1
    # Looked at once and saved, it has nothing new when it is opened again.
    tasks.seen = tasks.seen[:1]
    window.session.save()
    window.session.open(tmp_path / "waltz.anglebook", trust=True)
    qtbot.waitUntil(lambda: len(tasks.looked_at) == 2 and not window.jobs.busy(SLOT))
    assert not window.notice.text


def test_who_asks_is_answered_whatever_the_preference(
    window: MainWindow, qtbot: QtBot, tasks: MadeUpTasks, paths: list[str]
) -> None:
    look = window.action_table["look"]
    assert not look.isEnabled()
    assert "no clip with pictures" in look.toolTip()
    window.preferences.look_at_pictures(False)
    placed(window, qtbot, paths, lambda: all(clip.takes for clip in window.session.view.clips))
    qtbot.waitUntil(lambda: not window.jobs.busy("place"))
    assert look.isEnabled()
    for times, said in ((1, "propose 1 fault."), (2, "Looked at 1 clip: no new fault is proposed.")):
        look.trigger()
        assert not look.isEnabled(), "it is being done"
        qtbot.waitUntil(lambda times=times: len(tasks.looked_at) == times and not window.jobs.busy(SLOT))  # type: ignore[misc]
        assert said in window.notice.text
        assert "could not be looked at" in window.notice.text


def wait_for_timers(qtbot: QtBot) -> None:
    """Wait until what was to be done at once, but later, is done."""
    gone: list[bool] = []
    QTimer.singleShot(0, lambda: QTimer.singleShot(0, lambda: gone.append(True)))
    qtbot.waitUntil(lambda: bool(gone))
