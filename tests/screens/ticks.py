"""How long a window was frozen: a timer that ticks on its thread, and the time it was kept from ticking.

Time for which the system gave no processor is not the window's fault, and on a busy machine it is most of a
gap. Linux tells for each thread how long it ran and how long it waited for a processor (the first two figures
of ``schedstat``, nanoseconds; Documentation/scheduler/sched-stats.rst of the kernel). Taken off are the wait
of the window's own thread and those of the other threads of the process, for whose locks it may have waited
one after the other; what the window's thread worked itself always counts. Where the system does not tell, the
whole gap counts.
"""

import threading
import time
from pathlib import Path

from PySide6.QtCore import QObject, Qt, QTimer

TICK_MS = 10
THREADS = Path("/proc/self/task")

Times = dict[str, tuple[float, float]]
"""For each thread how long it ran and how long it waited for a processor, seconds."""


class Ticks(QObject):
    """Ticks from when it is made until it is stopped."""

    def __init__(self) -> None:
        super().__init__()
        self._own = str(threading.get_native_id())
        self.count = 0
        self.frozen_s = 0.0
        """The longest time between two ticks that was the window's own doing."""
        self.longest_s = 0.0
        """The longest time between two ticks."""
        self._last_s, self._last = time.monotonic(), _times()
        self._timer = QTimer(self)
        self._timer.setTimerType(Qt.TimerType.PreciseTimer)
        self._timer.setInterval(TICK_MS)
        self._timer.timeout.connect(self._tick)
        self._timer.start()

    def stop(self) -> None:
        """Tick no more."""
        self._timer.stop()

    def _tick(self) -> None:
        now_s, times = time.monotonic(), _times()
        gap_s = now_s - self._last_s
        self.count += 1
        self.longest_s = max(self.longest_s, gap_s)
        self.frozen_s = max(self.frozen_s, frozen_s(gap_s, self._last, times, self._own))
        self._last_s, self._last = now_s, times


def frozen_s(gap_s: float, before: Times, after: Times, own: str) -> float:
    """How much of a gap was the window's own doing.

    >>> idle = {"1": (0.0, 0.0), "2": (0.0, 0.0), "3": (0.0, 0.0)}
    >>> other = {"1": (0.02, 0.1), "2": (0.1, 0.03), "3": (0.0, 0.02)}
    >>> round(frozen_s(0.3, idle, other, "1"), 3), round(frozen_s(0.3, {}, {}, "1"), 3)
    (0.15, 0.3)
    >>> frozen_s(0.3, idle, {"1": (0.25, 0.04), "2": (0.0, 0.3)}, "1")
    0.25
    """
    ran, waited = {}, {}
    for thread, (ran_s, waited_s) in after.items():
        start = before.get(thread, (0.0, 0.0))
        ran[thread], waited[thread] = ran_s - start[0], waited_s - start[1]
    others = sum(wait for thread, wait in waited.items() if thread != own)
    return max(ran.get(own, 0.0), gap_s - waited.get(own, 0.0) - others)


def waited_s() -> float:
    """How long this thread has waited for a processor so far; 0 where the system does not tell."""
    return _times().get(str(threading.get_native_id()), (0.0, 0.0))[1]


def _times() -> Times:
    found = {}
    try:
        for thread in THREADS.iterdir():
            try:
                ran, waited, _ = (thread / "schedstat").read_text().split()
            except (OSError, ValueError):
                continue  # it ended just now
            found[thread.name] = int(ran) / 1e9, int(waited) / 1e9
    except OSError:
        return {}
    return found
