"""How soon *still missing* is right after a clip arrives in a watched folder, in a real window:
``python -m tests.screens.watched_walk``.

The song of the sample shoot is read, needs are asked for, and an empty folder is watched with the list beside
the score open. Then clips are copied into the folder one after the other, and placed by the engine. For each
it is told how long after the end of copying the window took it in, how long after that the engine answered,
and how long after the answer the list on screen said what the shoot lacks now, painted. Every change of the
list is held against what the model says of the shoot at that moment. On a busy machine the window waits for a
processor; that is told apart. Ends with 0 when no list was late by more than ``MOST_S`` of its own doing.
"""

import os
import shutil
import sys
import tempfile
import time
from pathlib import Path

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtWidgets import QApplication, QListWidget

from app.model.coverage.missing import still_missing
from app.model.document.change import Change
from app.model.document.plan import Passage
from app.model.document.verdict import Verdict
from app.window.frame.main_window import MainWindow
from app.window.parts.missing_list import missing_lines
from tests.screens.faint import SAMPLE
from tests.screens.first_evening import start
from tests.screens.ticks import waited_s
from tests.screens.walking import drop, press, wait, wait_until

MOST_S = 1.0
"""What is asked of it: to be read aloud on set before anybody has turned round."""
ARRIVING = (
    "safety/Q0041.MP4",
    "accordion/B0003.MP4",
    "fiddle/G0017.MOV",
    "bass/O0009.MP4",
    "drums/P0230.MP4",
    "cutaways/S0001.MP4",
)
"""The last, a cutaway, does not have the song: then the list stays as it is."""
WANTED = ("accordion", "fiddle", "bass", "drums")
"""To be seen in all of the song. Folders of clips are called so: each clip takes something off the list."""


class Painted(QObject):
    """Notes when a list is painted, and since when it says what is true."""

    def __init__(self, window: MainWindow) -> None:
        super().__init__(window)
        self._window = window
        self._list: QListWidget = window.score.side.missing.list
        self.right_at = 0.0
        """When it was first painted with what was true since the last answer; 0 while it is not."""
        self.waited_s = 0.0
        """How long the window had waited for a processor by then."""
        self._list.viewport().installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() == QEvent.Type.Paint and not self.right_at and self.is_right():
            self.right_at, self.waited_s = time.perf_counter(), waited_s()
        return False

    def is_right(self) -> bool:
        """Whether the list says what the model says of the shoot now."""
        shoot = self._window.session.view
        wanted = [missing_lines(one, shoot) for one in still_missing(shoot)]
        shown = [self._list.item(row).text() for row in range(self._list.count())]
        return shown == [f"{n}. {where}\n{whom}\n{why}" for n, (where, whom, why) in enumerate(wanted, 1)]


def main() -> int:
    """Walk; gives the exit status."""
    app = QApplication(sys.argv[:1])
    app.setStyle("Fusion")
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        os.environ["ANGLEBOOK_CACHE"] = name  # nothing is known from earlier runs
        window = start(folder)
        late_s = walk(window, folder / "card")
        window.session.save(folder / "x.anglebook")  # so that closing asks nothing
        window.close()
    sign = "✓" if late_s <= MOST_S else "✗"
    print(f"{sign} right {late_s:.2f} s after the answer at the latest, waiting left out")
    return 0 if late_s <= MOST_S else 1


def walk(window: MainWindow, card: Path) -> float:
    """Copy clip after clip; gives the longest time from an answer to the right list, in seconds."""
    card.mkdir()
    drop(window, window.places[0], [SAMPLE / "song.ogg"])
    wait_until(lambda: window.session.view.song is not None and not window.running.doing)
    press("Ctrl+3")
    window.plan.grid.setFocus(Qt.FocusReason.MouseFocusReason)  # a click
    press("Shift+O")
    for subject in WANTED:
        window.plan.steps.ask_for(Passage(), subject)  # what a click on the grid's first row does
    assert len(window.session.view.plan.needs) > len(WANTED), "nothing was asked for"
    window.watch.start(card)  # what choosing a folder in the dialog does
    took, longest, changed = [], 0.0, 0
    for file in ARRIVING:
        before = window.score.side.missing.passes
        took.append(arrive(window, card, file))
        changed += window.score.side.missing.passes != before
        if file == ARRIVING[0]:  # without a clip Score has no list yet
            press("Ctrl+5")
            press("L")
            assert window.score.side.lists_missing
            wait_until(window.score.side.missing.list.isVisible, 10)
    print(f"{'':<24}{'taken in':>10}{'answered':>10}{'right':>10}{'waiting':>10}")
    for file, (taken_s, answered_s, right_s, kept_s, lines) in zip(ARRIVING, took, strict=True):
        if file != ARRIVING[0]:
            longest = max(longest, right_s - kept_s)
        figures = f"{taken_s:>9.2f}s{answered_s:>9.2f}s{right_s * 1000:>8.0f}ms{kept_s * 1000:>8.0f}ms"
        print(f"{file:<24}{figures}   {lines} to shoot")
    assert changed >= len(WANTED), "the clips took nothing off the list"
    return longest


def arrive(window: MainWindow, card: Path, file: str) -> tuple[float, float, float, float, int]:
    """Copy a clip in; gives seconds from the copy to the window's taking it in, from there to the engine's
    answer, and from the answer to the right list on screen; how many of these the window waited for a
    processor; and how many passes are missing then."""
    target = card / file
    painted = Painted(window)
    times: dict[str, float] = {}

    def look(change: Change, origin: str) -> None:
        mine = [clip for clip in window.session.view.clips if clip.media.path == str(target)]
        if mine and "taken" not in times:
            times["taken"] = time.perf_counter()
        if mine and mine[0].verdict is not Verdict.WAITING and change:
            # Answers may be revised when clips are compared: the last one counts.
            times["answered"] = time.perf_counter()
            times["waited"] = waited_s()
            painted.right_at = 0.0
            if painted.is_right():  # nothing to change
                painted.right_at, painted.waited_s = times["answered"], times["waited"]

    window.session.changed.connect(look)
    target.parent.mkdir(exist_ok=True)
    shutil.copyfile(SAMPLE / "clips" / file, target)
    copied = time.perf_counter()
    wait_until(lambda: "answered" in times and not window.running.doing, 300)
    listed = window.score.side.missing.list
    if listed.isVisible():
        wait_until(lambda: painted.right_at > 0, 30)
    wait(300)
    window.session.changed.disconnect(look)
    listed.viewport().removeEventFilter(painted)
    right_s = painted.right_at - times["answered"] if painted.right_at else 0.0
    kept_s = painted.waited_s - times["waited"] if painted.right_at else 0.0
    return (
        times["taken"] - copied,
        times["answered"] - times["taken"],
        right_s,
        kept_s,
        len(window.score.side.missing.passes),
    )


if __name__ == "__main__":
    sys.exit(main())
