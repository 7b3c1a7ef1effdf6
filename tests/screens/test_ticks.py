"""The timer that watches for a frozen window notices one."""

import time

from PySide6.QtCore import QTimer
from pytestqt.qtbot import QtBot

from tests.screens.ticks import Ticks


def test_a_window_held_up_is_noticed(qtbot: QtBot) -> None:
    ticks = Ticks()
    QTimer.singleShot(30, lambda: time.sleep(0.5))
    qtbot.waitUntil(lambda: ticks.longest_s >= 0.5)
    ticks.stop()
    assert ticks.count > 0
    assert ticks.frozen_s > 0.1
