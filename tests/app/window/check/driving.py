"""How the tests of Check press keys, and what they look for."""

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from app.model.on_song import Clip, Take
from app.window.check.check_place import CheckPlace

NONE = Qt.KeyboardModifier.NoModifier
SHIFT, ALT, CTRL = (
    Qt.KeyboardModifier.ShiftModifier,
    Qt.KeyboardModifier.AltModifier,
    Qt.KeyboardModifier.ControlModifier,
)
FRAME_S = 1 / 25


def key(check: CheckPlace, which: Qt.Key, modifier: Qt.KeyboardModifier = NONE) -> None:
    check.list.setFocus()
    QTest.keyClick(check.list, which, modifier)
    check.catch_up()


def clip_of(check: CheckPlace, name: str = "C0008") -> Clip:
    return next(c for c in check.session.view.clips if name in c.media.path)


def hands(check: CheckPlace) -> Take:
    return clip_of(check).takes[0]


def proved(qtbot: QtBot, check: CheckPlace) -> None:
    """Wait until what is asked for is drawn."""
    qtbot.waitUntil(lambda: not check.examining.asking)
