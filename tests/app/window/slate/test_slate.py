"""The slate page: what is on it is read back from its pixels, by zxing, while a test lets time go by."""

from collections.abc import Iterator
from pathlib import Path

import cv2
import numpy as np
import pytest
from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot
from shiboken6 import delete

from app.window.jobs import Jobs
from app.window.slate.slate import LATE, running_words
from audio.pictures.slate_code import SlateCode, decode, encode, matrix, song_part, stay
from tests.app.window.slate.slate_stage import DIGEST, SPEED, Stage, slate_session


@pytest.fixture
def stage(tmp_path: Path, qtbot: QtBot) -> Iterator[Stage]:
    jobs = Jobs()
    session = slate_session(tmp_path)
    made = Stage(session, jobs, qtbot.waitUntil)
    yield made
    made.slate.end()
    jobs.close()
    delete(jobs)


def key(qtbot: QtBot, stage: Stage, name: Qt.Key) -> None:
    qtbot.keyClick(stage.page, name)


def test_a_code_tells_when_it_appeared_and_stays_as_long_as_told(qtbot: QtBot, stage: Stage) -> None:
    assert stage.code() is None
    key(qtbot, stage, Qt.Key.Key_Space)
    refresh = stage.slate.refresh
    seen: list[tuple[int, float, SlateCode]] = []
    for number in range(120):
        stage.go(1 / refresh)
        song_s, code = stage.take.song_s(), stage.code()
        if code is not None and song_s is not None and (not seen or seen[-1][2] != code):
            seen.append((number, song_s, code))
    assert len(seen) >= 5
    for _, song_s, code in seen:
        assert code.song_s == pytest.approx(song_s + (LATE + 0.5) / refresh, abs=0.001)
        assert (code.song, code.speed, code.take, code.by_hand) == (song_part(DIGEST), 1, 1, False)
    steps = np.diff([number for number, _, _ in seen])
    assert set(steps[1:]) == {stay(refresh)}
    assert stage.page.time == running_words(stage.take.song_s() or 0.0)
    key(qtbot, stage, Qt.Key.Key_Space)
    assert stage.code() is None
    assert not stage.page.time


def test_another_take_is_another_number_and_never_counted_twice(qtbot: QtBot, stage: Stage) -> None:
    for _ in range(4):  # on and off, twice
        key(qtbot, stage, Qt.Key.Key_Space)
    assert stage.take.number == 2
    key(qtbot, stage, Qt.Key.Key_N)
    assert stage.page.words.take == "Take 3"
    key(qtbot, stage, Qt.Key.Key_Space)
    stage.go(0.1)
    code = stage.code()
    assert code is not None
    assert code.take == 3
    # Another library reads the whole page alike.
    text, _, _ = cv2.QRCodeDetector().detectAndDecode(stage.picture())
    assert decode(text) == code
    # The number is kept while the window is open.
    key(qtbot, stage, Qt.Key.Key_Escape)
    assert stage.slate.page is None
    stage.slate.open()
    assert stage.take.number == 3


def test_it_flashes_once_on_the_first_beat(qtbot: QtBot, stage: Stage) -> None:
    key(qtbot, stage, Qt.Key.Key_Space)
    flash = stage.page.boxes.flash.center().toPoint()
    bright = []
    for _ in range(150):
        stage.go(1 / 60)
        song_s = stage.take.song_s()
        lit = stage.page.grab().toImage().pixelColor(flash.x(), int(stage.page.boxes.flash.top() + 4))
        if lit.lightness() > 200 and song_s is not None:
            bright.append(song_s)
    assert bright[0] == pytest.approx(0.5 - 1.5 / 60, abs=1 / 60)
    assert bright[-1] - bright[0] == pytest.approx(0.1, abs=2 / 60)


def test_a_playback_file_tells_song_time_at_its_speed(qtbot: QtBot, stage: Stage) -> None:
    key(qtbot, stage, Qt.Key.Key_Down)
    key(qtbot, stage, Qt.Key.Key_Down)  # that of another song is not offered
    assert stage.page.words.where == "at 60 fps"
    qtbot.waitUntil(stage.is_ready)
    assert stage.page.words.settings == "Speed 250.25 %\nSame frame rate on every camera"
    key(qtbot, stage, Qt.Key.Key_F)
    assert stage.page.words.settings == "Speed 250.25 %\nCamera 60 fps"
    key(qtbot, stage, Qt.Key.Key_Space)
    stage.go(0.5)
    code = stage.code()
    assert code is not None
    assert code.speed == SPEED
    # Before the song begins in the file its time is negative.
    heard_s = stage.take.song_s()
    assert heard_s is not None
    assert heard_s < -3.0
    assert code.song_s == pytest.approx(heard_s + float(SPEED) * 1.5 / stage.slate.refresh, abs=0.001)


def test_started_by_hand_the_code_says_so_and_runs_from_the_section(qtbot: QtBot, stage: Stage) -> None:
    key(qtbot, stage, Qt.Key.Key_Right)
    key(qtbot, stage, Qt.Key.Key_Right)
    assert stage.page.words.where == "from B Chorus"
    key(qtbot, stage, Qt.Key.Key_Return)
    stage.go(0.0)
    code = stage.code()
    assert code is not None
    assert code.by_hand
    assert code.song_s == pytest.approx(4.0 + 1.5 / stage.slate.refresh, abs=0.001)
    stage.go(4.1)
    assert not stage.take.running
    assert stage.code() is None


def test_only_what_changes_is_painted(qtbot: QtBot, stage: Stage, monkeypatch: pytest.MonkeyPatch) -> None:
    key(qtbot, stage, Qt.Key.Key_Space)
    stage.go(0.05)
    painted: list[float] = []
    monkeypatch.setattr(stage.page, "_paint_now", lambda box: painted.append(box.width() * box.height()))
    for _ in range(60):
        stage.go(1 / 60)
    # Ten tenths of a second, five codes, a flash: each its own box.
    assert len(painted) <= 18
    assert sum(painted) < 4 * stage.page.width() * stage.page.height()


@pytest.mark.parametrize("size", [(1280, 720), (640, 480), (500, 900), (1920, 1080)])
def test_the_code_is_whole_and_sharp_on_any_screen(stage: Stage, qtbot: QtBot, size: tuple[int, int]) -> None:
    stage.page.resize(*size)
    key(qtbot, stage, Qt.Key.Key_Space)
    stage.go(0.3)
    picture, code = stage.picture(), stage.code()
    assert code is not None
    dark = matrix(encode(code))
    box = stage.page.boxes.code
    module = int(box.width() // (len(dark) + 8))
    assert module >= 0.55 * min(size) // (len(dark) + 8)
    left = round(box.center().x() - module * len(dark) / 2)
    top = round(box.center().y() - module * len(dark) / 2)
    part = picture[top - 4 * module : top + module * (len(dark) + 4), left - 4 * module :]
    part = part[:, : module * (len(dark) + 8)]
    big = np.kron(np.pad(dark, 4), np.ones((module, module), bool))
    assert part.shape == big.shape, "four modules of white are on the page"
    assert np.array_equal(part < 128, big)
    assert set(np.unique(part)) == {0, 255}
