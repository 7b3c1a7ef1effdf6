"""Tests of the window run without a screen, and leave nothing alive behind them."""

import gc
import os
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")


@pytest.fixture(autouse=True)
def nothing_left_alive(request: pytest.FixtureRequest) -> Iterator[None]:
    """Fail a test of the window that leaves a thread, a timer or a window alive."""
    if not {"qtbot", "qapp"} & set(request.fixturenames):
        yield
        return
    from app.views.steady import keep_none_alive

    keep_none_alive()
    before = _pool_threads()
    yield
    from PySide6.QtCore import QCoreApplication, QEvent, QTimer
    from PySide6.QtWidgets import QApplication
    from shiboken6 import isValid

    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
    gc.collect()
    windows = [w for w in QApplication.topLevelWidgets() if isValid(w) and w.isVisible()]
    assert not windows, f"windows left open: {windows}"
    timers = [o for o in gc.get_objects() if isinstance(o, QTimer) and isValid(o) and o.isActive()]
    assert not timers, f"timers left running: {timers}"
    threads = [
        t
        for t in threading.enumerate()
        if t is not threading.main_thread() and not isinstance(t, threading._DummyThread)
    ]
    assert not threads, f"threads left running: {threads}"
    assert _pool_threads() <= before, "threads of a job pool left running"


def _pool_threads() -> int:
    """Threads of Qt's pools in this process, where the system tells (Linux)."""
    tasks = Path("/proc/self/task")
    if not tasks.is_dir():
        return 0
    names = []
    for task in tasks.iterdir():
        try:
            names.append((task / "comm").read_text())
        except OSError:
            continue  # it ended just now
    return sum("pooled" in name for name in names)
