"""The slate page: what is on it is read back from its pixels, by zxing, while a test lets time go by."""

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from PySide6.QtCore import Qt
from PySide6.QtGui import QImage
from pytestqt.qtbot import QtBot
from shiboken6 import delete

from app.model.document.change import NOTHING
from app.model.document.media_ref import MediaRef
from app.model.document.playback_file import PlaybackFile, PlaybackPiece
from app.model.document.shoot import Shoot
from app.model.edits.kit_edits import add_made
from app.model.edits.shoot_edits import set_song
from app.window.jobs import Jobs
from app.window.playing.player import Player
from app.window.session import Session
from app.window.slate.slate import LATE, Slate, running_words
from app.window.slate.slate_page import SlatePage
from app.window.slate.slate_take import SlateTake
from audio.pictures.code_reader import codes_in
from audio.pictures.slate_code import SlateCode, song_part, stay
from tests.app.window.made_playing import MadeUpDevice, noise_shoot
from tests.app.window.made_up import MadeUpTasks

SPEED = Fraction(1001, 400)


class Stage:
    """A slate whose device and clock go as the test says."""

    def __init__(self, session: Session, jobs: Jobs, qtbot: QtBot) -> None:
        self.device, self.now_s = MadeUpDevice(), 0.0
        player = Player(session, MadeUpTasks(), jobs, session, out=MadeUpDevice())
        self.slate = Slate(session, player, out=self.device, clock=lambda: self.now_s)
        self.slate.setParent(session)
        self.slate.open()
        qtbot.addWidget(self.page)
        # On the test's screen a page of any size will do; keys go to it.
        self.page.showNormal()
        self.page.resize(960, 540)
        qtbot.waitUntil(lambda: self.slate._sound is not None and self.slate._sound.ready)

    @property
    def page(self) -> SlatePage:
        assert self.slate.page is not None
        return self.slate.page

    @property
    def take(self) -> SlateTake:
        assert self.slate.take is not None
        return self.slate.take

    def go(self, seconds: float) -> None:
        self.device.go(seconds)
        self.now_s += seconds
        self.slate.tick()

    def picture(self) -> NDArray[np.uint8]:
        image = self.page.grab().toImage().convertToFormat(QImage.Format.Format_Grayscale8)
        rows = np.frombuffer(image.constBits(), np.uint8).reshape(image.height(), image.bytesPerLine())
        return rows[:, : image.width()].copy()

    def code(self) -> SlateCode | None:
        found = codes_in(self.picture())
        return found[0][0] if found else None


@pytest.fixture
def session(tmp_path: Path) -> Session:
    """A song of 8 s, and a playback file of it that begins after 2 s, at another speed."""
    view, _ = noise_shoot(tmp_path)
    assert view.song is not None
    media = replace(view.song.media, digest="9f3c01aa55")
    bars = replace(view.song.map, bars_s=(0.5, 2.5, 4.5, 6.5))
    shoot, _ = set_song(Shoot("Noise"), replace(view.song, media=media, map=bars))
    song = shoot.song()
    assert song is not None
    piece = PlaybackPiece(song.id, 2.0, 2.0 + 8.0 / float(SPEED), 0.0, float(SPEED))
    other = replace(media, path=str(tmp_path / "clip.mov"))
    fast = PlaybackFile("", other, 5.5, (piece,), made=True)
    other_song = PlaybackFile("", MediaRef("/x.wav", 1, "x"), 5.0, (replace(piece, song_id="song-9"),))
    made = Session()
    made.find_out(lambda _: (add_made(shoot, [other_song, fast])[0], ~NOTHING), "test")
    return made


@pytest.fixture
def stage(session: Session, qtbot: QtBot) -> Iterator[Stage]:
    jobs = Jobs()
    made = Stage(session, jobs, qtbot)
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
        assert (code.song, code.speed, code.take, code.by_hand) == (song_part("9f3c01aa55"), 1, 1, False)
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
    # The number is kept while the window is open.
    key(qtbot, stage, Qt.Key.Key_Escape)
    assert stage.slate.page is None
    stage.slate.open()
    qtbot.addWidget(stage.page)
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
    qtbot.waitUntil(lambda: stage.slate._sound is not None and stage.slate._sound.ready)
    assert "250.25 %" in stage.page.words.settings
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
    assert "B Chorus" in stage.page.words.where
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
