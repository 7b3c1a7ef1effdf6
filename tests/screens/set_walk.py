"""Before and on the day of the shoot, in a real window: ``python -m tests.screens.set_walk [OUT]``.

From an empty window to playback files with the song dropped and three keys, then the slate page from Plan
with its keys: sections, files, frame rates, takes counted up. Counts the person's actions and tells how long
the machine took. With a folder as argument pictures are put there. Ends with 0 when all was as it should be.
"""

import os
import shutil
import sys
import tempfile
import time
from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QListWidget, QWidget

from app.window.frame.main_window import MainWindow
from tests.screens.faint import SAMPLE
from tests.screens.first_evening import say, start
from tests.screens.songs_evening import Shots
from tests.screens.walking import control, drop, press, wait, wait_until

MOST_ACTIONS = 4
"""A drop and three keys, from the empty window to the files."""


def main() -> int:
    """Walk; gives the exit status."""
    out = Path(sys.argv[1]) if len(sys.argv) > 1 else None
    if out is not None:
        out.mkdir(parents=True, exist_ok=True)
    app = QApplication(sys.argv[:1])
    app.setStyle("Fusion")
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        os.environ["ANGLEBOOK_CACHE"] = name  # nothing is known from earlier runs
        song = folder / "Song" / "Six o'clock ferry.ogg"
        song.parent.mkdir()
        shutil.copyfile(SAMPLE / "song.ogg", song)
        window = start(folder)
        window.resize(1280, 720)
        shots = Shots(window, out, "")
        shots.take("0-empty")
        actions = kit(window, song, shots)
        slate(window, out)
        window.session.save(folder / "x.anglebook")  # so that closing asks nothing
        window.close()
    return 0 if actions <= MOST_ACTIONS else 1


def kit(window: MainWindow, song: Path, shots: Shots) -> int:
    """From nothing to the files; gives the number of actions."""
    begun = time.monotonic()
    drop(window, window.places[0], [song])
    press("Ctrl+3")
    wait_until(lambda: window.session.view.song is not None)
    mapped_s = time.monotonic() - begun
    wait(300)
    plan_shot = time.monotonic()
    shots.take("1-plan")
    shown_s = time.monotonic() - plan_shot
    press("K")
    asked = window.plan.kit.window
    assert asked is not None, "K did not open the playback files"
    wait_until(asked.isVisible, 10)
    plan_shot = time.monotonic()
    shots.take("2-kit", asked)
    shown_s += time.monotonic() - plan_shot
    press("Ctrl+Return")
    wait_until(lambda: bool(window.session.whole.playbacks) and not window.running.doing, 120)
    whole_s = time.monotonic() - begun - shown_s
    files = sorted(path.name for path in (song.parent / "Playback files").iterdir())
    say(f"4 actions, {whole_s:.0f} s, of which the song's map took {mapped_s:.0f} s: {', '.join(files)}")
    assert any(name.endswith(".wav") for name in files), files
    assert control(asked, "Playback files of this shoot", QListWidget).count() == 1
    wait(500)
    shots.take("3-kit-done", asked)
    press("Escape")
    wait(300)
    return 4


def slate(window: MainWindow, out: Path | None) -> None:
    """The slate page from Plan, with keys alone."""
    press("Shift+K")
    page = window.slate.page
    assert page is not None
    wait_until(page.isVisible, 10)
    page.activateWindow()
    page.setFocus(Qt.FocusReason.OtherFocusReason)
    wait(1500)
    picture(page, out, "4-slate-before")
    take = window.slate.take
    assert take is not None
    number = take.number
    press("Right")
    wait(300)
    picture(page, out, "5-slate-section")
    press("Down")
    wait(300)
    press("F")
    wait(300)
    picture(page, out, "6-slate-file")
    press("Return")  # another device plays; there is no sound here
    wait_until(lambda: page.has_code, 20)
    wait(1500)
    picture(page, out, "7-slate-running")
    press("Space")
    wait(500)
    press("N")
    wait(300)
    picture(page, out, "8-slate-next")
    assert take.number == number + 1, (number, take.number)
    press("Escape")
    wait(300)
    assert window.slate.page is None or not page.isVisible()
    say(f"the slate page, take {number} and the next, with keys alone")


def picture(page: QWidget, out: Path | None, name: str) -> None:
    """A picture of the page; it is the same in both schemes."""
    if out is not None:
        page.grab().save(str(out / f"{name}.png"))


if __name__ == "__main__":
    sys.exit(main())
