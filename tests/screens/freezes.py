"""Whether a window froze, measured by what it must do at once anyway: paint a place."""

import statistics
import time

from PySide6.QtCore import QObject, QTimer

from app.window.frame.main_window import MainWindow
from tests.screens.ticks import Ticks

MOST_PAINTS = 8.0
"""How long the window may be frozen, in times of painting a place, which it must do at once anyway; a bound
in seconds would judge the machine. Measured: 1.3 to 5.6, and 6.8 on two processors with twenty processes
waiting for them; the most when a place is shown for the first time while clips are being placed."""
PAINT_MS = 400
"""A place is painted so often while the window is watched: on a machine that is busy with the work watched,
painting takes longer too."""


class Freezes(QObject):
    """Watches a window from when it is made until it is asked."""

    def __init__(self, window: MainWindow) -> None:
        super().__init__()
        self._places = window.places
        self._paint_s: list[list[float]] = [[] for _ in self._places]
        self._next = 0
        self._ticks = Ticks()
        self._timer = QTimer(self)
        self._timer.setInterval(PAINT_MS)
        self._timer.timeout.connect(self._paint)
        self._timer.start()

    def never_froze(self) -> None:
        """Tell the longest freeze since the watch began; it ends. Raises AssertionError."""
        self._timer.stop()
        ticks = self._ticks
        ticks.stop()
        while not all(self._paint_s):
            self._paint()
        paint_s = max(statistics.median(times) for times in self._paint_s)
        figures = f"{ticks.count} ticks, frozen for {ticks.frozen_s * 1000:.0f} ms at most"
        print(f"  {figures}; longest gap {ticks.longest_s * 1000:.0f} ms, waiting for a processor included")
        assert ticks.count > 100, "the timer hardly ticked"
        ratio = ticks.frozen_s / paint_s
        print(f"  that is {ratio:.1f} times the {paint_s * 1000:.0f} ms it takes to paint a place")
        assert ratio <= MOST_PAINTS, f"the window froze: {figures}"

    def _paint(self) -> None:
        begun_s = time.thread_time()  # what waits for a processor is no freeze either
        self._places[self._next].grab()
        self._paint_s[self._next].append(time.thread_time() - begun_s)
        self._next = (self._next + 1) % len(self._places)
