"""A playback file that becomes known: clips that nothing was sure of are heard again, on it too."""

from pytestqt.qtbot import QtBot

from app.model.document.media_ref import MediaRef
from app.model.document.playback_file import PlaybackFile
from app.model.document.verdict import Verdict
from app.model.edits.playback_edits import add_playbacks
from app.window.frame.main_window import MainWindow
from tests.app.window.made_up import MadeUpTasks


def test_clips_in_doubt_are_heard_again(qtbot: QtBot, shoot_window: MainWindow, tasks: MadeUpTasks) -> None:
    session = shoot_window.session
    qtbot.waitUntil(lambda: not shoot_window.jobs.busy("place"))
    runs = len(tasks.placed_beside)
    unsure = {clip.media.path for clip in session.view.clips if clip.verdict is Verdict.DOUBTFUL}
    sure = {clip.media.path for clip in session.view.clips if clip.verdict is Verdict.PLACED}
    assert unsure
    file = PlaybackFile("", MediaRef("/set/fast.wav", 1, "fast"), 60.0)
    session.apply("Add Playback File", add_playbacks(session.whole, [file]), "plan")
    qtbot.waitUntil(lambda: len(tasks.placed_beside) > runs)
    qtbot.waitUntil(lambda: not shoot_window.jobs.busy("place"))
    assert sure <= tasks.placed_beside[-1]
    assert not unsure & tasks.placed_beside[-1]
    assert len(tasks.placed_beside) == runs + 1
