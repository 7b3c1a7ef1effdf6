"""Whether a window froze, measured by what it must do at once anyway: paint a place."""

import time

from app.window.frame.main_window import MainWindow
from tests.screens.ticks import Ticks

MOST_PAINTS = 5.0
"""How long the window may be frozen, in times of painting a place, which it must do at once anyway; a bound
in seconds would judge the machine. Measured: 1.3 to 3.5, the most on the busiest machine."""


def never_froze(window: MainWindow, ticks: Ticks) -> None:
    """Tell the longest freeze of a window since its ticks began; they are stopped. Raises AssertionError."""
    ticks.stop()
    paint_s = painting_s(window)
    figures = f"{ticks.count} ticks, frozen for {ticks.frozen_s * 1000:.0f} ms at most"
    print(f"  {figures}; longest gap {ticks.longest_s * 1000:.0f} ms, waiting for a processor included")
    assert ticks.count > 100, "the timer hardly ticked"
    ratio = ticks.frozen_s / paint_s
    print(f"  that is {ratio:.1f} times the {paint_s * 1000:.0f} ms it takes to paint a place")
    assert ratio <= MOST_PAINTS, f"the window froze: {figures}"


def painting_s(window: MainWindow) -> float:
    """How long this machine takes to paint the place that takes longest, as it is now; the best of three."""
    longest_s = 0.0
    for place in window.places:
        times = []
        for _ in range(3):
            begun = time.perf_counter()
            place.grab()
            times.append(time.perf_counter() - begun)
        longest_s = max(longest_s, min(times))
    return longest_s
