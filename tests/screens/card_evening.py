"""From the first start to the first hand-off of a shoot in card folders, in a real window, with every action
of the person counted: ``python -m tests.screens.card_evening``.

Five cameras: clips of the sample shoot under names as cameras and telephones give them, placed by the engine.
Ends with 0 when no more than ``MOST_ACTIONS`` were needed and all five angles have their names.
"""

import os
import shutil
import sys
import tempfile
from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QLineEdit

from app.window.frame.main_window import MainWindow
from app.window.handoff.handoff_place import SLOT as HAND_OFF
from tests.screens.faint import SAMPLE
from tests.screens.first_evening import start
from tests.screens.walking import control, drop, press, type_text, wait, wait_until

MOST_ACTIONS = 25
CARDS = {
    "safety/Q0041.MP4": "A001/CLIP/A001C001_0411.MP4",
    "bass/O0009.MP4": "B001/CLIP/B001C001_0411.MP4",
    "drums/P0230.MP4": "DCIM/100/GX010230.MP4",
    "drums/P0231.MP4": "DCIM/101/GX010231.MP4",
    "accordion/B0003.MP4": "phones/20260411_201530.MP4",
    "accordion/B0004.MP4": "phones/20260411_203012.MP4",
    "fiddle/G0017.MOV": "phones/IMG_0417.MOV",
    "fiddle/G0018.MOV": "phones/IMG_0418.MOV",
}
SHOWN = {
    "A001": "Safety wide",
    "B001": "Bass",
    "DCIM": "Drums",
    "2026": "Accordion",
    "IMG_": "Fiddle",
}
"""What a camera shows, by how its files or folders begin."""


def main() -> int:
    """Walk; gives the exit status."""
    app = QApplication(sys.argv[:1])
    app.setStyle("Fusion")
    pictures = Path(sys.argv[1]) if len(sys.argv) > 1 else None
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        os.environ["ANGLEBOOK_CACHE"] = name  # nothing is known from earlier runs
        cards = folder / "Six o'clock"
        for file, called in CARDS.items():
            (cards / called).parent.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(SAMPLE / "clips" / file, cards / called)
        window = start(folder)
        actions = walk(window, cards, folder / "edit", pictures)
        window.session.save(folder / "x.anglebook")  # so that closing asks nothing
        window.close()
    print(f"✓ named and handed off in {actions} actions")
    return 0 if actions <= MOST_ACTIONS else 1


def walk(window: MainWindow, cards: Path, edit: Path, pictures: Path | None) -> int:
    """From the drop to the hand-off; gives how many keys, drops, and pieces of text it took."""
    drop(window, window.places[0], [SAMPLE / "song.ogg", cards])
    actions = 1
    wait_until(lambda: window.clips.is_naming and not window.running.doing)
    wait(1500)
    if pictures is not None:
        window.grab().save(str(pictures / "naming.png"))
    unnamed = [angle.name for angle in window.session.view.angles]
    assert len(unnamed) == len(SHOWN), unnamed
    for _ in unnamed:
        field = QApplication.focusWidget()
        assert isinstance(field, QLineEdit), field
        called = field.accessibleName().removeprefix("Name of ")
        type_text(SHOWN[first_of(window, called)])
        press("Return")
        actions += 2
    assert {angle.name for angle in window.session.view.angles} == set(SHOWN.values())
    press("Ctrl+5")  # a look at what there is to cut to
    wait(1000)
    press("Ctrl+6")
    field = control(window, "Folder for the hand-off", QLineEdit)
    field.setFocus(Qt.FocusReason.MouseFocusReason)  # a click
    type_text(str(edit))
    wait_until(lambda: window.handoff.action_table["write"].isEnabled(), 30)
    press("Ctrl+Return")
    wait_until(lambda: any(edit.glob("*.csv")) and not window.jobs.busy(HAND_OFF), 120)
    if pictures is not None:
        window.grab().save(str(pictures / "handoff.png"))
    return actions + 5


def first_of(window: MainWindow, angle: str) -> str:
    """How the files of an angle begin, as `SHOWN` names it."""
    shoot = window.session.view
    angle_id = next(one.id for one in shoot.angles if one.name == angle)
    path = next(clip.media.path for clip in shoot.clips if clip.angle_id == angle_id)
    return next(key for key in SHOWN if f"/{key}" in path)


if __name__ == "__main__":
    sys.exit(main())
