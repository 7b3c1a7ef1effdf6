"""A first evening in a real window, with clicks and keys: ``python -m tests.screens.first_evening``.

First start, the song and the folders dropped, placed by the engine while a timer watches that the window
never freezes, a take in doubt confirmed, clips searched and noted, the shoot saved, the window closed,
started again and the shoot opened from the list. Runs on whatever platform
``QT_QPA_PLATFORM`` names; under X no window manager is needed. Ends with 0 when all was as it should be.
"""

import os
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QSettings, Qt
from PySide6.QtWidgets import QApplication, QFileDialog, QInputDialog, QLineEdit, QTableView, QWidget

from app.engine import tasks
from app.model.document.decisions import Decision
from app.model.document.verdict import Verdict
from app.model.on_song import SongView, Take
from app.window.frame.folders import Folders
from app.window.frame.main_window import MainWindow
from app.window.handoff.hand_over import hand_over
from app.window.work.background_look import SLOT as LOOK
from tests.screens.faint import FAINT_S, SAMPLE, faint
from tests.screens.freezes import Freezes
from tests.screens.walking import (
    action,
    answering,
    click,
    control,
    drop,
    press,
    show,
    type_text,
    wait,
    wait_until,
)

CHECK = 3
PLACE = "place"


def main() -> int:
    """Walk; gives the exit status."""
    QApplication.setAttribute(Qt.ApplicationAttribute.AA_DontUseNativeDialogs)
    app = QApplication(sys.argv[:1])
    app.setStyle("Fusion")
    before = on_disk(SAMPLE)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        os.environ["ANGLEBOOK_CACHE"] = name  # nothing is known from earlier runs
        shoot = evening(folder)
        next_day(folder, shoot)
    assert on_disk(SAMPLE) == before, "the sample's files or folders changed"
    say("the sample's folders are as they were")
    return 0


def evening(folder: Path) -> SongView:
    """From the first start to the saved shoot."""
    window = start(folder)
    first = window.places[0]
    assert control(window, "Open Sample Shoot").isVisible()
    assert not window.recent.paths
    say("first start: what to do, and the sample one click away")

    told = drop(window, first, [SAMPLE / "song.ogg", SAMPLE / "clips", faint(folder / "mandolin")])
    assert told == "Drop to add 3 files and folders", told
    freezes = Freezes(window)
    wait_until(lambda: all_placed(window))
    wait_until(lambda: window.jobs.busy(LOOK), 60)
    for number in (5, 2, 3, 4, 1):  # the places as they are while pictures come and clips are looked at
        press(f"Ctrl+{number}")
        wait(300)
    press("Ctrl+T")  # a person who has no time for that; the walk that takes pictures waits for all of it
    wait_until(lambda: not window.running.doing, 60)
    verdicts = [clip.verdict for clip in window.session.view.clips]
    assert len(verdicts) == 16 + len(FAINT_S), len(verdicts)
    assert Verdict.WAITING not in verdicts
    assert Verdict.PLACED in verdicts
    say(f"dropped and placed: {len(verdicts)} clips")
    freezes.never_froze()

    press("Ctrl+4")
    doubts = in_doubt(window.session.view)
    assert doubts, "nothing is in doubt"
    wait(500)
    press(action(window.places[CHECK], "Confirm").shortcut())
    wait_until(lambda: len(in_doubt(window.session.view)) < len(doubts), 10)
    confirmed = [take for take in takes(window.session.view) if take.decision is Decision.CONFIRMED]
    assert len(confirmed) == 1
    assert confirmed[0].decided is not None
    say("a take in doubt confirmed with a key")

    press("Ctrl+1")
    press("Ctrl+F")
    type_text("fiddle placed")
    wait(200)
    press("Escape")
    press("Ctrl+F")
    type_text("r0005")
    click(control(window, "Clips", QTableView).viewport())
    press("Ctrl+A")
    answering(write("a little soft"))
    press("Ctrl+E")
    noted = {Path(clip.media.path).name: clip.note for clip in window.session.view.clips if clip.note}
    assert noted == {"R0005.WAV": "a little soft"}, noted
    press("Escape")
    say("clips searched, one noted")

    press("Ctrl+4")
    answering(save_as(folder / "evening"))
    press("Ctrl+S")
    assert (folder / "evening.anglebook").is_file()
    assert not window.session.modified
    shoot = window.session.view
    press("Ctrl+Q")
    wait_until(lambda: not window.isVisible(), 60)
    say("saved and closed")
    return shoot


def next_day(folder: Path, shoot: SongView) -> None:
    """The window started once more, and the shoot opened from the list."""
    window = start(folder)
    click(control(window, "Open evening"))
    wait_until(lambda: window.session.path is not None, 30)
    assert window.session.view == shoot, "it came back changed"
    assert window.places[CHECK].isVisible(), "it did not open where it was left"
    assert not window.session.modified
    say("opened again as it was, where it was left")
    window.close()


def start(folder: Path) -> MainWindow:
    """A window of one and the same person."""
    settings = QSettings(str(folder / "settings.ini"), QSettings.Format.IniFormat)
    folders = Folders(folder / "pictures", folder / "unsaved")
    window = MainWindow(tasks, hand_over, settings, folders=folders)
    show(window)
    window.safe_copy.offer_unsaved()
    return window


def save_as(path: Path) -> Callable[[QWidget], None]:
    """What to do in the question where to save."""

    def action(asked: QWidget) -> None:
        assert isinstance(asked, QFileDialog), type(asked)
        field = asked.findChild(QLineEdit)
        assert field is not None
        click(field)
        press("Ctrl+A")
        type_text(str(path))
        press("Return")

    return action


def write(text: str) -> Callable[[QWidget], None]:
    """What to do in a question for a line of text."""

    def action(asked: QWidget) -> None:
        assert isinstance(asked, QInputDialog), type(asked)
        type_text(text)
        press("Return")

    return action


def all_placed(window: MainWindow) -> bool:
    """Whether all clips have their answers, compared ones included."""
    clips = window.session.view.clips
    waiting = any(clip.verdict is Verdict.WAITING for clip in clips)
    return bool(clips) and not waiting and not window.jobs.busy(PLACE)


def takes(shoot: SongView) -> list[Take]:
    return [take for clip in shoot.clips for take in clip.takes]


def in_doubt(shoot: SongView) -> list[Take]:
    return [take for take in takes(shoot) if take.verdict is Verdict.DOUBTFUL]


def on_disk(folder: Path) -> dict[str, tuple[int, int]]:
    """Every file and folder below with size and time of change; what Python makes of scripts left out."""
    found = (path for path in folder.rglob("*") if "__pycache__" not in path.parts)
    return {str(path): (path.stat().st_size, path.stat().st_mtime_ns) for path in found if path.is_file()}


def say(what: str) -> None:
    print(f"✓ {what}", flush=True)


if __name__ == "__main__":
    sys.exit(main())
