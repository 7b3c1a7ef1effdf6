"""Tests of the window run without a screen, wait as long as a busy machine needs, and leave nothing alive
behind them; none knows what an earlier run kept."""

import gc
import importlib
import os
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from tests.longest_first import longest_first

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
# Tests are spread over the processors already: threads of linear algebra in each would only be in the way.
for threads in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(threads, "1")

PATIENCE_MS = 60_000


def pytest_configure(config: pytest.Config) -> None:
    """Have the compiled library compiled before several processes load it (see app/engine/compiling.py)."""
    if not hasattr(config, "workerinput") and config.getoption("numprocesses", None):
        from app.engine.compiling import COMPILED

        for module in (*COMPILED, "librosa.beat"):  # the plain tracker that ours is held against
            importlib.import_module(module)


@pytest.hookimpl(wrapper=True)
def pytest_collection() -> Iterator[None]:
    """What is imported stays to the end: no look at all objects is to go through it, now or later."""
    gc.disable()
    try:
        yield
    finally:
        gc.enable()
        gc.freeze()


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    items[:] = longest_first(items)


@pytest.fixture(autouse=True, scope="session")
def own_folders(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Keep answers, and what is remembered, in folders of this run, in the processes that tests start too."""
    before = {name: os.environ.get(name) for name in ("XDG_CACHE_HOME", "XDG_STATE_HOME")}
    for name in before:
        os.environ[name] = str(tmp_path_factory.mktemp(name.lower()))
    yield
    for name, value in before.items():
        os.environ.pop(name)
        if value is not None:
            os.environ[name] = value


class PatientBot(QtBot):
    """Waits for what comes in its own time: other tests run beside, and no test asserts a time."""

    def waitUntil(self, callback: Callable[[], bool | None], *, timeout: int = PATIENCE_MS) -> None:
        super().waitUntil(callback, timeout=timeout)


@pytest.fixture
def qtbot(qapp: object, request: pytest.FixtureRequest) -> QtBot:
    return PatientBot(request)


@pytest.fixture(autouse=True)
def nothing_left_alive(request: pytest.FixtureRequest) -> Iterator[None]:
    """Fail a test of the window that leaves a thread, a timer or a window alive."""
    if not {"qtbot", "qapp"} & set(request.fixturenames):
        yield
        return
    before = _pool_threads()
    # What was there before is left out of the look at all objects, which takes long after many tests.
    gc.freeze()
    yield
    from PySide6.QtCore import QCoreApplication, QEvent, QTimer
    from PySide6.QtWidgets import QApplication
    from shiboken6 import isValid

    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
    gc.collect()
    windows = [w for w in QApplication.topLevelWidgets() if isValid(w) and w.isVisible()]
    assert not windows, f"windows left open: {windows}"
    # By type(): isinstance() asks the object itself, and a dead weak proxy among them would raise.
    timers = [o for o in gc.get_objects() if issubclass(type(o), QTimer) and isValid(o) and o.isActive()]
    assert not timers, f"timers left running: {timers}"
    threads = [
        t
        for t in threading.enumerate()
        if t is not threading.main_thread() and not isinstance(t, threading._DummyThread)
    ]
    assert not threads, f"threads left running: {threads}"
    # The system lists a thread for a moment after it was waited for.
    for _ in range(100):
        if _pool_threads() <= before:
            return
        time.sleep(0.01)
    raise AssertionError("threads of a job pool left running")


def _pool_threads() -> int:
    """Threads of job pools in this process, where the system tells (Linux); Qt keeps some of its own."""
    from app.window.jobs import POOL_NAME

    tasks = Path("/proc/self/task")
    if not tasks.is_dir():
        return 0
    names = []
    for task in tasks.iterdir():
        try:
            names.append((task / "comm").read_text())
        except OSError:
            continue  # it ended just now
    return sum(name.strip() == POOL_NAME for name in names)
