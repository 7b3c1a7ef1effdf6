"""Pictures of every place of the window, on the sample shoot: ``python -m tests.screens.shots OUTDIR``.

The window takes the sample shoot in as a person would drop it, waits for the engine, and is painted in both
colour schemes and in two sizes, under whatever platform ``QT_QPA_PLATFORM`` names (offscreen unless it is
set).
"""

import argparse
import os
import sys
import tempfile
from collections.abc import Callable, Sequence
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from PySide6.QtCore import QElapsedTimer, QEventLoop, QSettings, QTimer
from PySide6.QtWidgets import QApplication

from app import tasks
from app.views.folders import Folders
from app.views.hand_over import hand_over
from app.views.keys_window import KeysWindow
from app.views.main_window import MainWindow
from app.views.pictures import SLOT

SAMPLE = Path(__file__).parent.parent.parent / "sample_media"
SIZES = "1280x720,2560x1440"
PLACES = ("clips", "song", "check", "score", "hand-off")


def wait(ms: int) -> None:
    """Let the window live for a while."""
    loop = QEventLoop()
    QTimer.singleShot(ms, loop.quit)
    loop.exec()


def wait_until(true: Callable[[], bool], most_s: float = 600.0) -> None:
    """Let the window live until something is so. Raises TimeoutError."""
    clock = QElapsedTimer()
    clock.start()
    while not true():
        if clock.elapsed() > most_s * 1000:
            raise TimeoutError
        wait(50)


def main() -> int:
    """Take the pictures; gives the exit status."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("out", type=Path, help="folder for the pictures")
    parser.add_argument("--sizes", default=SIZES, help=f"comma-separated; {SIZES} unless told")
    chosen = parser.parse_args()
    out: Path = chosen.out
    sizes = [
        (int(width), int(height)) for width, height in (one.split("x") for one in chosen.sizes.split(","))
    ]
    out.mkdir(parents=True, exist_ok=True)
    app = QApplication(sys.argv[:1])
    app.setStyle("Fusion")
    with tempfile.TemporaryDirectory() as folder:
        settings = QSettings(str(Path(folder) / "settings.ini"), QSettings.Format.IniFormat)
        window = MainWindow(
            tasks,
            hand_over,
            settings,
            dialogs=NoDialogs(),
            folders=Folders(Path(folder) / "pictures", Path(folder) / "unsaved"),
        )
        window.show()
        shoot(window, out, sizes, "0-empty")
        window.take_in([SAMPLE / "song.ogg"])
        wait_until(lambda: window.session.shoot.song is not None and not window.work.doing)
        window.take_in([SAMPLE / "clips"])
        wait_until(lambda: bool(window.work.progress))
        shoot(window, out, sizes, "1-placing")
        wait_until(lambda: bool(window.session.shoot.clips) and not window.work.doing)
        for index, name in enumerate(PLACES):
            window.go(index)
            if name == "score":
                window.score.next_thin()
            if name == "hand-off":
                window.handoff.folder.setText(str(Path(folder) / "hand-off"))
                window.handoff.write()
                wait_until(lambda: not window.jobs.busy("hand-off"))
            shoot(window, out, sizes, f"{index + 2}-{name}")
        window.menus.keys.trigger()
        wait(200)
        keys = window.findChild(KeysWindow)
        assert keys is not None
        keys.grab().save(str(out / "keys.png"))
        keys.close()
        window.close()
    return 0


def shoot(window: MainWindow, out: Path, sizes: Sequence[tuple[int, int]], name: str) -> None:
    """Paint the window in both schemes and all sizes."""
    for width, height in sizes:
        window.resize(width, height)
        for scheme, action in (("light", window.menus.schemes[1]), ("dark", window.menus.schemes[2])):
            action.trigger()
            wait(150)
            wait_until(lambda: not window.jobs.busy(SLOT))
            wait(100)
            window.grab().save(str(out / f"{name}-{scheme}-{width}.png"))


class NoDialogs:
    """Nobody is there to ask: every question is left unanswered, changes may go."""

    def choose_song(self) -> None:
        return None

    def choose_clips(self) -> list[Path]:
        return []

    def choose_folder(self, title: str) -> None:
        return None

    def choose_shoot(self) -> None:
        return None

    def choose_save_path(self, name: str) -> None:
        return None

    def keep_changes(self, name: str) -> str:
        return "discard"

    def choose_one(self, title: str, question: str, answers: object) -> None:
        return None

    def ask_text(self, title: str, question: str, text: str) -> None:
        return None

    def tell(self, title: str, sentence: str) -> None:
        raise AssertionError(f"{title}: {sentence}")


if __name__ == "__main__":
    sys.exit(main())
