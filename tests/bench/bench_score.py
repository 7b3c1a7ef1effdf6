"""How quickly the score is painted: ``python -m tests.bench.bench_score [--takes 200] [--minutes 10]``.

A song of ten minutes with 200 takes on twelve angles is shown, scrolled by wheel steps and zoomed in and out
step by step, and a playing position runs through it; then once more with 60 needs and 300 faults and
keepers. Each frame is timed from the wish to the painted widget
and held against a repaint of an empty widget of the same size in the same run, as a ratio that holds on any
machine. Pictures are invented ones that are at hand after a first pass; that pass, in which they arrive, is
told too. Frames over 1/60 s are counted.

Nothing fails here for being slow: figures are printed, and a person reads them.
"""

import argparse
import os
import platform
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QPoint
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget

from app.model.coverage.coverage import coverage
from app.model.coverage.need_bars import subject_bars
from app.window.jobs import Jobs
from app.window.parts.clip_pictures import SLOT, Pictures
from app.window.parts.theme import Theme
from app.window.score.score_canvas import ScoreCanvas
from tests.bench.large_score import large_shoot, planned

FRAME_S = 1 / 60
SIZES = ((1000, 560), (2200, 1250))
"""The score's own size in windows of 1280×720 and 2560×1440."""


class InventedPictures:
    """Pictures of one grey, at once."""

    def pictures(self, path: Path, times: Sequence[float], height: int) -> list[NDArray[np.uint8]]:
        """One picture for each moment."""
        return [np.full((height, height * 16 // 9, 3), 90, np.uint8) for _ in times]


class Empty(QWidget):
    """Paints its ground and nothing else."""

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self._theme = theme

    def paintEvent(self, event: QPaintEvent) -> None:
        QPainter(self).fillRect(event.rect(), self._theme.colour("paper"))


def frames(wish: Callable[[int], None], count: int) -> list[float]:
    """Seconds from each wish until everything it called for is painted."""
    taken = []
    for n in range(count):
        begun = time.perf_counter()
        wish(n)
        QApplication.processEvents()
        taken.append(time.perf_counter() - begun)
    return taken


def line(name: str, taken: Sequence[float], empty_s: float) -> str:
    """A row of the table."""
    middle, worst = statistics.median(taken), max(taken)
    late = sum(one > FRAME_S for one in taken)
    high = sorted(taken)[int(0.95 * (len(taken) - 1))]
    return (
        f"{name:<34}{middle * 1e3:>8.2f}{high * 1e3:>8.2f}{worst * 1e3:>8.2f}{middle / empty_s:>9.1f}"
        f"{late:>8} of {len(taken)}"
    )


def settle(jobs: Jobs) -> None:
    """Wait until no picture is on its way."""
    quiet = 0
    while quiet < 10:
        QTest.qWait(20)
        quiet = 0 if jobs.busy(SLOT) else quiet + 1


def measure(canvas: ScoreCanvas, jobs: Jobs, size: tuple[int, int], empty: Empty) -> None:
    """Print the table for one size."""
    for widget in (canvas, empty):
        widget.resize(*size)
        widget.show()
    settle(jobs)
    base_s = statistics.median(frames(lambda n: empty.update(), 200))
    print(f"\n{size[0]} × {size[1]}: an empty repaint takes {base_s * 1e3:.2f} ms")
    print(f"{'':<34}{'median':>8}{'95 %':>8}{'worst':>8}{'ratio':>9}{'over 1/60 s':>14}")
    bar = canvas.verticalScrollBar()

    def scroll(n: int) -> None:
        # Up and down by three lines of text, as a wheel does.
        bar.setValue(bar.value() + (48 if n % 400 < 200 else -48))

    def zoom(n: int) -> None:
        span = canvas.zoom.highest - canvas.zoom.lowest
        at = n % (2 * span)
        canvas.zoom_to(canvas.zoom.lowest + (at if at <= span else 2 * span - at), middle)

    middle = QPoint(size[0] // 2, size[1] // 2)
    canvas.zoom_to(0)
    print(line("scrolling, pictures arriving", frames(scroll, 400), base_s))
    settle(jobs)
    print(line("scrolling", frames(scroll, 400), base_s))
    steps = 2 * (canvas.zoom.highest - canvas.zoom.lowest)
    print(line("zooming, pictures arriving", frames(zoom, steps), base_s))
    for step in range(canvas.zoom.lowest, canvas.zoom.highest + 1):
        canvas.zoom_to(step)
        settle(jobs)
    print(line("zooming", frames(zoom, 2 * steps), base_s))
    canvas.zoom_to(0)
    settle(jobs)
    print(
        line(
            "playing position",
            frames(lambda n: canvas.show_position(30 + n / 30, follow=True), 300),
            base_s,
        )
    )


def main(arguments: Sequence[str] | None = None) -> int:
    """Make, measure, print."""
    parser = argparse.ArgumentParser(
        prog="python -m tests.bench.bench_score", description=(__doc__ or "").split("\n\n")[1]
    )
    parser.add_argument("--takes", type=int, default=200)
    parser.add_argument("--minutes", type=float, default=10.0, help="length of the song")
    parser.add_argument("--needs", type=int, default=60, help="of the plan, the second time")
    parser.add_argument("--marks", type=int, default=300, help="faults and keepers, the second time")
    chosen = parser.parse_args(arguments)
    app = QApplication.instance() or QApplication(sys.argv[:1])
    assert isinstance(app, QApplication)
    app.setStyle("Fusion")
    load = f", load {os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else ""
    print(f"Python {platform.python_version()}, {os.cpu_count()} cores{load}, Qt on {app.platformName()}")
    shoot = large_shoot(chosen.takes, chosen.minutes)
    jobs, theme = Jobs(), Theme()
    with tempfile.TemporaryDirectory() as folder:
        pictures = Pictures(InventedPictures(), jobs, Path(folder))  # type: ignore[arg-type]
        canvas, empty = ScoreCanvas(theme, pictures), Empty(theme)
        for shown in (shoot, planned(shoot, chosen.needs, chosen.marks)):
            begun = time.perf_counter()
            sections = coverage(shown)
            counted_s = time.perf_counter() - begun
            needs = subject_bars(shown)
            canvas.show_shoot(shown, sections, needs)
            bars = sum(len(section.bars) for section in sections)
            marks = sum(len(clip.marks) for clip in shown.clips)
            print(
                f"\n{chosen.takes} takes, {bars} bars, {len(shown.plan.needs)} needs, {marks} marks; "
                f"coverage counted in {counted_s * 1e3:.1f} ms"
            )
            for size in SIZES:
                measure(canvas, jobs, size, empty)
        canvas.close()
        empty.close()
        jobs.close()
    return 0


if __name__ == "__main__":
    sys.exit(main())
