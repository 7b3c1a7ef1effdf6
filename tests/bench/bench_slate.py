"""How well the slate page keeps time on a real X server: ``python -m tests.bench.bench_slate``.

The page plays with its own clock, for there is no sound device on most servers without a screen. Another
process looks at the screen as fast as it can and notes when a code gave way to another; zxing reads them.
What a code says is compared with the song time at that moment. The page counts on a screen that shows a
picture `LATE` refreshes after it is painted, and tells the middle of that refresh; a server without a screen
shows it at once. That much is taken off, and what is left is the error of the page's own.
"""

import json
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "xcb")

import numpy as np
import zxingcpp
from PySide6.QtCore import QTimer
from PySide6.QtGui import QGuiApplication, QImage
from PySide6.QtWidgets import QApplication
from shiboken6 import delete

from app.window.jobs import Jobs
from app.window.playing.player import Player
from app.window.slate.slate import LATE, Slate
from audio.pictures.slate_code import decode
from tests.app.window.made_up import MadeUpTasks
from tests.app.window.slate.slate_stage import slate_session

WATCHED_S = 6.0


def main() -> int:
    """Print how far off codes are, and how evenly the page paints."""
    app = QApplication(sys.argv[:1])
    with tempfile.TemporaryDirectory() as folder:
        jobs = Jobs()
        session = slate_session(Path(folder))
        player = Player(session, MadeUpTasks(), jobs, session)
        slate = Slate(session, player)
        slate.setParent(session)
        slate.open()
        page, sound = slate.page, slate._sound
        assert page is not None
        assert sound is not None
        while not sound.ready:
            app.processEvents()
        clock: list[tuple[float, float]] = []
        ticks: list[tuple[float, float]] = []
        tick = slate.tick

        def timed() -> None:
            began = time.monotonic()
            tick()
            ticks.append((began, time.monotonic() - began))
            sound.position()  # whatever has to be mixed by now takes its time here
            now_s, heard = time.monotonic(), sound.position()
            if heard is not None:
                clock.append((now_s, heard))

        slate._timer.timeout.disconnect()
        slate._timer.timeout.connect(timed)
        box = page.boxes.code.toAlignedRect()
        area = (box.x(), box.y(), box.width(), box.height())
        asked = [sys.executable, "-m", "tests.bench.bench_slate", "--watch", *map(str, area)]
        with subprocess.Popen(asked, stdout=subprocess.PIPE, text=True) as watcher:
            assert watcher.stdout is not None
            watcher.stdout.readline()
            slate.toggle()
            QTimer.singleShot(round((WATCHED_S + 1) * 1000), app.quit)
            app.exec()
            seen = json.loads(watcher.stdout.read())
        refresh = slate.refresh
        slate.end()
        jobs.close()
        delete(jobs)
    _tell(np.array(clock), np.array(ticks), seen, refresh)
    return 0


def _tell(clock: np.ndarray, ticks: np.ndarray, seen: list[tuple[float, float, str]], refresh: float) -> None:
    offs, waits = [], []
    # The silent clock is the computer's own, so that one figure tells it.
    begun_s = float(np.median(clock[:, 1] - clock[:, 0]))
    for before_s, after_s, text in seen:
        code = decode(text)
        if code is None or not clock[0, 0] < after_s < clock[-1, 0]:
            continue
        appeared = (before_s + after_s) / 2
        song_s = appeared + begun_s
        offs.append(1000 * (code.song_s - song_s - (LATE + 0.5) / refresh))
        waits.append(1000 * (after_s - before_s))
    wobble = 1000 * np.abs(clock[:, 1] - clock[:, 0] - begun_s).max()
    gaps = 1000 * np.diff(ticks[:, 0])
    costs = 1000 * ticks[:, 1]
    print(f"{len(offs)} codes at {refresh:g} refreshes a second, looked at every {np.median(waits):.1f} ms")
    print(
        f"told less seen, without what a screen needs: median {np.median(offs):+.1f} ms, "
        f"nine in ten within {np.percentile(np.abs(np.array(offs) - np.median(offs)), 90):.1f} of that, "
        f"from {min(offs):+.1f} to {max(offs):+.1f}"
    )
    print(f"the player's clock is straight to {wobble:.2f} ms")
    print(
        f"painted every {np.median(gaps):.1f} ms, 99 in 100 within {np.percentile(gaps, 99):.1f}; "
        f"a tick takes {np.median(costs):.2f} ms, at most {costs.max():.1f}"
    )


def watch(left: int, top: int, width: int, height: int) -> None:
    """Look at a part of the screen; print when it changed, and what it said then."""
    app = QGuiApplication(sys.argv[:1])
    screen = app.primaryScreen()
    print("watching", flush=True)
    changes: list[tuple[float, float, QImage]] = []
    last, before_s = QImage(), time.monotonic()
    ends_s = before_s + WATCHED_S
    while time.monotonic() < ends_s:
        now_s = time.monotonic()
        # A strip of it changes with every code, and costs the server little.
        strip = screen.grabWindow(0, left, top + height // 2, width, 24).toImage()
        if strip != last:
            changes.append((before_s, now_s, screen.grabWindow(0, left, top, width, height).toImage()))
            last = strip
        time.sleep(0.002)
        before_s = now_s
    told = []
    for before_s, after_s, image in changes:
        grey = image.convertToFormat(QImage.Format.Format_Grayscale8)
        rows = np.frombuffer(grey.constBits(), np.uint8).reshape(grey.height(), grey.bytesPerLine())
        found = zxingcpp.read_barcodes(np.ascontiguousarray(rows[:, : grey.width()]))
        if found:
            told.append((before_s, after_s, found[0].text))
    print(json.dumps(told), flush=True)


if __name__ == "__main__":
    if sys.argv[1:2] == ["--watch"]:
        watch(*map(int, sys.argv[2:6]))
        sys.exit(0)
    sys.exit(main())
