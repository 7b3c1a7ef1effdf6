"""The window killed in the middle of work: what was not saved is offered at the next start."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from PySide6.QtCore import QSettings
from pytestqt.qtbot import QtBot

from app.window.frame.folders import Folders
from app.window.frame.main_window import MainWindow
from tests.app.window.answers import Answers
from tests.app.window.made_up import MadeUpTasks, make_shoot

ROOT = Path(__file__).parents[3]
# Works on the made-up shoot as a person would, then goes on living until it is killed.
WINDOW = """
import sys
from pathlib import Path
from PySide6.QtCore import QSettings
from PySide6.QtWidgets import QApplication
from app.model.edits import shoot_edits
from app.window.session import EVERYTHING
from app.window.frame.folders import Folders
from app.window.frame.main_window import MainWindow
from tests.app.window.answers import Answers
from tests.app.window.made_up import MadeUpTasks, make_shoot
folder, saved = Path(sys.argv[1]), sys.argv[2] == "saved"
application = QApplication([])
settings = QSettings(str(folder / "settings.ini"), QSettings.Format.IniFormat)
folders = Folders(folder / "pictures", folder / "unsaved")
window = MainWindow(MadeUpTasks(), lambda shoot, to: (), settings, dialogs=Answers(), folders=folders)
window.show()
shoot = make_shoot()
if saved:
    left, _ = shoot_edits.remove_clips(shoot, ["clip-1", "clip-2"])
    window.session.apply("Make", (left, EVERYTHING), "test")
    window.session.save(folder / "waltz.anglebook")
window.session.apply("Make", (shoot_edits.set_note(shoot, ["clip-3"], "dawn")[0], EVERYTHING), "test")
print("at work", flush=True)
application.exec()
"""


def killed(folder: Path, how: str) -> None:
    """Start the window, wait until its safe copy is there, and kill it so that it can tidy nothing."""
    process = subprocess.Popen(
        [sys.executable, "-c", WINDOW, str(folder), how], cwd=ROOT, stdout=subprocess.PIPE, text=True
    )
    try:
        assert process.stdout is not None
        assert process.stdout.readline() == "at work\n"
        for _ in range(600):
            if list(folder.glob(".*.unsaved.anglebook")) + list(folder.glob("unsaved/*.anglebook")):
                break
            time.sleep(0.05)
    finally:
        process.send_signal(getattr(signal, "SIGKILL", signal.SIGTERM))
        process.communicate()


def again(qtbot: QtBot, folder: Path, answers: Answers) -> MainWindow:
    settings = QSettings(str(folder / "settings.ini"), QSettings.Format.IniFormat)
    folders = Folders(folder / "pictures", folder / "unsaved")
    window = MainWindow(MadeUpTasks(), lambda shoot, to: (), settings, dialogs=answers, folders=folders)
    qtbot.addWidget(window)
    with qtbot.waitExposed(window):
        window.show()
    window.safe_copy.offer_unsaved()
    return window


@pytest.mark.skipif(os.name == "nt", reason="a process cannot be killed so there")
@pytest.mark.parametrize("how", ["saved", "never saved"])
def test_what_was_not_saved_comes_back(qtbot: QtBot, tmp_path: Path, how: str) -> None:
    killed(tmp_path, how)
    answers = Answers()
    answers.one = 0
    window = again(qtbot, tmp_path, answers)
    if how == "saved":
        window.shoot_file.open_path(tmp_path / "waltz.anglebook")
    (question,) = answers.asked
    assert "12 clips, 11 takes, 0 decisions, song harbour-waltz.wav" in question
    if how == "saved":
        assert "Saved file waltz.anglebook, " in question
        assert ": 10 clips, 8 takes, " in question
        assert "The unsaved changes are newer, by " in question
    else:
        assert "This shoot has never been saved to a file." in question
    assert len(window.session.shoot.clips) == len(make_shoot().clips)
    assert window.session.shoot.clip("clip-3").note == "dawn"
    assert window.session.modified
    window.session.save(tmp_path / "kept.anglebook")
    assert not list(tmp_path.rglob("*unsaved*.anglebook"))
    assert not list((tmp_path / "unsaved").glob("*.anglebook"))
