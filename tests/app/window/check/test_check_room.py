"""Check in a small window: what is needed most is seen, also with large text."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, QRect, QSettings
from PySide6.QtWidgets import QApplication, QPushButton
from pytestqt.qtbot import QtBot

from app.model.document.findings import Rival
from app.window.check.check_place import CheckPlace
from app.window.check.frame_trio import FrameTrio
from app.window.frame.folders import Folders
from app.window.frame.main_window import MainWindow
from app.window.parts.theme import Theme
from app.window.session import EVERYTHING
from tests.app.window.answers import Answers
from tests.app.window.made_hand_over import MadeHandOver
from tests.app.window.made_up import MadeUpTasks, bar_s, make_shoot

PLACES = ((50, 0.97, True), (38, 0.77, True), (10, 0.66, False), (22, 0.61, False), (27, 0.5, False))


@pytest.fixture(params=[100, 150])
def small(
    qtbot: QtBot, qapp: QApplication, tmp_path: Path, request: pytest.FixtureRequest
) -> Iterator[CheckPlace]:
    """Check of a take with many places, in a window of 1280 by 720 and text of so many percent."""
    before = qapp.font()
    font = qapp.font()
    font.setPointSizeF(font.pointSizeF() * request.param / 100)
    qapp.setFont(font)
    window = MainWindow(
        MadeUpTasks(),
        MadeHandOver(),
        QSettings(str(tmp_path / "settings.ini"), QSettings.Format.IniFormat),
        dialogs=Answers(),
        folders=Folders(tmp_path / "pictures", tmp_path / "unsaved"),
    )
    qtbot.addWidget(window)
    shoot = make_shoot()
    rivals = tuple(Rival(bar_s(n), strength, as_well=fits) for n, strength, fits in PLACES)
    findings = tuple(
        replace(one, takes=tuple(replace(t, rivals=rivals if t.rivals else ()) for t in one.takes))
        for one in shoot.findings
    )
    with qtbot.waitExposed(window):
        window.show()
    window.session.apply("Make", (replace(shoot, findings=findings), EVERYTHING), "test")
    window.go(3)
    window.check.catch_up()
    window.resize(1280, 720)
    qtbot.wait(50)
    assert (window.width(), window.height()) == (1280, 720), "all of it has room there"
    yield window.check
    qapp.setFont(before)


def test_the_places_that_fit_are_all_seen(small: CheckPlace) -> None:
    view = small.page.places.viewport
    seen = [
        row
        for row in small.fits
        if view.rect().contains(QRect(row.mapTo(view, QPoint()), row.size()), proper=False)
    ]
    assert len(seen) >= 3


def test_no_button_is_cut_off(small: CheckPlace) -> None:
    for pinning in (False, True):
        if small.page.pinning is not pinning:
            small.commands.toggle_pins()
        small.page.layout().activate()
        for button in small.page.findChildren(QPushButton):
            if button.isVisible():
                assert button.width() >= button.sizeHint().width(), button.text()


@pytest.mark.parametrize(("wide", "high", "beside"), [(300, 330, False), (336, 130, True), (300, 90, True)])
def test_frames_stand_where_they_are_largest(
    theme: Theme, shoot_window: MainWindow, wide: int, high: int, beside: bool
) -> None:
    trio = FrameTrio(theme, shoot_window.check.page.trio.pictures)
    trio.resize(wide, high)
    large, before, after = trio.frames()
    assert (before.left() >= large.right()) is beside
    assert (before.top() >= large.bottom()) is not beside
    for one in (large, before, after):
        assert 0 <= one.left() < one.right() <= wide
        assert 0 <= one.top() < one.bottom() <= high
        assert one.width() == pytest.approx(one.height() * 16 / 9)
    assert not before.intersects(after)
    trio.deleteLater()
