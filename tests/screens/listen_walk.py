"""A person listens: ``python -m tests.screens.listen_walk TAKE SECONDS``.

The window opens with the sample shoot where it truly lies; a take is chosen, the space bar pressed, and after
so many seconds of hearing pressed again. Prints a line of JSON: the trouble that was told, and where in the
song the player said it was.
"""

import json
import os
import sys
import tempfile
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from PySide6.QtCore import QSettings, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.engine import tasks
from app.window.frame.folders import Folders
from app.window.frame.main_window import MainWindow
from app.window.handoff.hand_over import hand_over
from app.window.playing.play_bar import PlayBar
from app.window.session import EVERYTHING
from tests.app.documents import document
from tests.app.window.sample_truth import true_shoot

CHECK = 3


def main() -> int:
    """Walk; gives the exit status."""
    take_id, seconds = sys.argv[1], float(sys.argv[2])
    app = QApplication(sys.argv[:1])
    with tempfile.TemporaryDirectory() as scratch:
        settings = QSettings(str(Path(scratch) / "settings.ini"), QSettings.Format.IniFormat)
        folders = Folders(Path(scratch) / "pictures", Path(scratch) / "unsaved")
        window = MainWindow(tasks, hand_over, settings, folders=folders)
        window.resize(1280, 720)
        window.show()
        QTest.qWaitForWindowExposed(window)
        window.session.apply("Make", (document(true_shoot(), own_ids=True), EVERYTHING), "walk")
        window.go(CHECK)
        QTest.qWait(200)
        player = window.player
        player.choose(take_id)
        _, take = player.found() or (None, None)
        assert take is not None
        player.seek(take.song_start_s + 5.0)
        bars = [bar for bar in window.findChildren(PlayBar) if bar.isVisible()]
        QTest.keyClick(window, Qt.Key.Key_Space)
        for _ in range(1000):
            if player.position() > take.song_start_s + 5.0 + seconds:
                break
            QTest.qWait(20)
        said = player.position()
        told = player.trouble
        QTest.keyClick(window, Qt.Key.Key_Space)
        QTest.qWait(300)
        print(
            json.dumps(
                {
                    "trouble": told,
                    "said_s": said,
                    "start_s": take.song_start_s + 5.0,
                    "playing": player.playing,
                    "bars": len(bars),
                }
            )
        )
        window.session.save(Path(scratch) / "walk.anglebook")
        window.close()
    app.processEvents()
    return 0


if __name__ == "__main__":
    sys.exit(main())
