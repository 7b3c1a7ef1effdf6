"""The timer that watches for a frozen window notices one."""

import time

from PySide6.QtCore import QTimer
from pytestqt.qtbot import QtBot

from tests.screens.ticks import Ticks

WORK_S = 0.2


def test_a_window_held_up_is_noticed(qtbot: QtBot) -> None:
    """By work on its own thread, which counts however much else the machine has to do."""

    def work() -> None:
        begun_s = time.thread_time()
        while time.thread_time() - begun_s < WORK_S:
            pass

    ticks = Ticks()
    QTimer.singleShot(30, work)
    qtbot.waitUntil(lambda: ticks.longest_s >= WORK_S and ticks.frozen_s >= 0.9 * WORK_S)
    ticks.stop()
    assert ticks.count > 0
