"""The player: what comes out, where it is, what it says when there is nothing to hear."""

import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from PySide6.QtCore import QSettings
from pytestqt.qtbot import QtBot

from app.model.edits import deciding
from app.window.jobs import Jobs
from app.window.playing.player import REMEMBERED_MOST_DB, START_DB, Heard, Player
from app.window.playing.sound_out import RATE, DeviceOut, SilentOut
from app.window.session import EVERYTHING, Session
from tests.app.documents import document
from tests.app.window.made_playing import SONG_S, MadeUpDevice, noise_shoot
from tests.app.window.made_up import MadeUpTasks


class Stage:
    """A shoot, a player and its device."""

    def __init__(self, qtbot: QtBot, folder: Path) -> None:
        self._qtbot = qtbot
        shoot, self.song = noise_shoot(folder)
        self.session, self.jobs, self.device = Session(), Jobs(), MadeUpDevice()
        self.session.apply("Make", (document(shoot, own_ids=True), EVERYTHING), "test")
        self.settings = QSettings(str(folder / "settings.ini"), QSettings.Format.IniFormat)
        self.player = self.another()

    def another(self) -> Player:
        return Player(self.session, MadeUpTasks(), self.jobs, settings=self.settings, out=self.device)

    def begin(self, song_s: float, take_id: str | None = None) -> None:
        """Play, and wait until the sounds were read."""
        self.player.play(song_s, take_id)
        self._qtbot.waitUntil(lambda: not self.player.waiting)

    def aligned(self, ear: int, seconds: float) -> NDArray[np.float32]:
        """What one ear heard in the last seconds, with the volume taken off."""
        return self.device.sound[-round(seconds * RATE) :, ear] / 10 ** (self.player.volume_db / 20)


@pytest.fixture
def stage(qtbot: QtBot, tmp_path: Path) -> Iterator[Stage]:
    (tmp_path / "card").mkdir()
    made = Stage(qtbot, tmp_path / "card")
    yield made
    made.player.close()
    made.jobs.close()


def song_up_to(stage: Stage, seconds: float) -> NDArray[np.float32]:
    last = round(stage.player.position() * RATE)
    return stage.song[last - round(seconds * RATE) : last]


def test_song_left_take_right_at_the_same_moment(stage: Stage) -> None:
    stage.begin(2.0, "t0")
    stage.device.go(1.5)
    assert stage.player.heard is Heard.EARS
    assert 3.48 < stage.player.position() <= 3.5
    want = song_up_to(stage, 1.0)
    np.testing.assert_allclose(stage.aligned(0, 1.0), want, atol=1e-3)
    right = stage.aligned(1, 1.0)
    assert np.corrcoef(right, want)[0, 1] > 0.9999
    # About as loud as the song, however loud the camera recorded it.
    assert right.std() == pytest.approx(want.std(), rel=0.1)


@pytest.mark.parametrize(
    ("heard", "ears"), [(Heard.SONG, (1, 1)), (Heard.TAKE, (1, 1)), (Heard.MIXED, (1, 1))]
)
def test_what_is_heard_can_be_chosen_while_it_plays(
    stage: Stage, heard: Heard, ears: tuple[int, int]
) -> None:
    stage.begin(2.0, "t0")
    stage.player.hear(heard)
    stage.device.go(1.0)
    want = song_up_to(stage, 0.5)
    for ear in (0, 1):
        assert np.corrcoef(stage.aligned(ear, 0.5), want)[0, 1] > 0.9999


def test_time_goes_on_rests_and_jumps(stage: Stage, qtbot: QtBot) -> None:
    heard: list[float] = []
    stage.player.moved.connect(heard.append)
    stage.begin(1.0)
    stage.device.go(0.5)
    qtbot.waitUntil(lambda: max(heard) > 1.4)
    stage.player.pause()
    at = stage.player.song_s
    assert 1.45 < at <= 1.5
    assert not stage.player.playing
    stage.device.go(0.5)
    assert stage.player.position() == at
    stage.player.seek(5.0)
    assert stage.player.position() == heard[-1] == 5.0
    stage.player.toggle()
    assert stage.player.playing
    stage.device.go(0.25)
    assert 5.2 < stage.player.position() <= 5.25
    stage.player.seek(2.0)
    assert stage.player.position() == 2.0, "at once, though the old place may still sound for a moment"
    stage.device.go(0.25)
    assert 2.2 < stage.player.position() <= 2.25


def test_it_stops_at_the_end_of_the_song(stage: Stage, qtbot: QtBot) -> None:
    stage.begin(SONG_S - 0.2)
    stage.device.go(0.5)
    qtbot.waitUntil(lambda: not stage.player.playing)
    assert stage.player.song_s == pytest.approx(SONG_S, abs=0.4)


def test_a_loop_goes_round(stage: Stage) -> None:
    stage.begin(1.0)
    stage.player.set_loop((2.0, 3.0))
    assert stage.player.position() == 2.0
    stage.device.go(2.5)
    assert 2.45 < stage.player.position() <= 2.5
    stage.player.set_loop(None)
    stage.device.go(1.5)
    assert stage.player.position() > 3.5


def test_a_take_that_is_moved_is_heard_where_it_is_now(stage: Stage) -> None:
    stage.begin(2.0, "t0")
    edit = deciding.move_take(stage.session.shoot, "t0", 0.010, at="2031-05-04T18:20:00Z")
    stage.session.apply("Nudge", edit, "test")
    stage.device.go(1.0)
    last = round(stage.player.position() * RATE) - round(0.010 * RATE)
    want = stage.song[last - RATE // 2 : last]
    assert np.corrcoef(stage.aligned(1, 0.5), want)[0, 1] > 0.9999
    # As if it lay elsewhere, without being moved.
    take = stage.session.view.clips[0].takes[0]
    stage.player.suppose(replace(take, song_start_s=0.5))
    stage.device.go(1.0)
    last = round(stage.player.position() * RATE) - round(0.5 * RATE)
    assert np.corrcoef(stage.aligned(1, 0.5), stage.song[last - RATE // 2 : last])[0, 1] > 0.9999
    assert stage.session.view.clips[0].takes[0] == take


@pytest.mark.parametrize(("take_id", "words"), [("t1", "mute.mov cannot be heard"), ("t2", "not there")])
def test_a_take_without_sound_leaves_the_song(stage: Stage, take_id: str, words: str) -> None:
    stage.begin(2.0, take_id)
    stage.device.go(1.0)
    assert words in stage.player.trouble
    np.testing.assert_allclose(stage.aligned(0, 0.5), song_up_to(stage, 0.5), atol=1e-3)
    assert np.abs(stage.aligned(1, 0.5)).max() == 0
    stage.player.choose("t0")
    assert stage.player.trouble == ""


def test_a_song_that_is_gone_leaves_the_take(stage: Stage, qtbot: QtBot) -> None:
    Path(stage.session.view.song.media.path).unlink()  # type: ignore[union-attr]
    stage.begin(2.0, "t0")
    stage.device.go(1.0)
    assert stage.player.trouble.startswith("The song cannot be heard: The file is not there")
    assert np.abs(stage.aligned(0, 0.5)).max() == 0
    assert np.abs(stage.aligned(1, 0.5)).max() > 0.01


def test_without_a_song_it_says_so(qtbot: QtBot) -> None:
    jobs = Jobs()
    player = Player(Session(), MadeUpTasks(), jobs, out=MadeUpDevice())
    player.play()
    assert not player.playing
    assert player.trouble.startswith("There is no song to play yet")
    jobs.close()


def test_without_a_device_the_clock_runs_in_silence(stage: Stage, qtbot: QtBot) -> None:
    stage.device.there = False
    heard: list[float] = []
    stage.player.moved.connect(heard.append)
    stage.begin(1.0)
    qtbot.waitUntil(lambda: heard[-1] > 1.1)
    assert stage.player.trouble == "There is no sound device: connect one."
    # One that is connected is taken up where one is.
    stage.device.there = True
    stage.device.lost.emit()
    assert stage.player.trouble == ""
    assert stage.device.starts == 1
    stage.device.go(0.5)
    assert stage.player.position() > 1.5
    # And one that vanishes leaves the clock running.
    stage.device.there = False
    stage.device.lost.emit()
    at = stage.player.song_s
    qtbot.waitUntil(lambda: heard[-1] > at + 0.1)
    assert stage.player.trouble
    assert stage.player.playing
    stage.player.pause()
    qtbot.waitUntil(lambda: stage.player.trouble == "")


def test_without_the_multimedia_library_it_says_so(monkeypatch: pytest.MonkeyPatch, qtbot: QtBot) -> None:
    monkeypatch.setitem(sys.modules, "PySide6.QtMultimedia", None)
    out = DeviceOut()
    assert not out.start(lambda frames: np.zeros((frames, 2), np.float32))
    assert out.trouble.startswith("Sound cannot be played here")
    assert out.heard() is None


def test_volume_and_choice_are_remembered_but_never_a_loud_one(stage: Stage) -> None:
    assert stage.player.volume_db == START_DB == -20
    stage.player.set_volume(-31.0)
    stage.player.hear(Heard.MIXED)
    again = stage.another()
    assert (again.volume_db, again.heard) == (-31.0, Heard.MIXED)
    stage.player.set_volume(99.0)
    assert stage.player.volume_db == 0.0
    assert stage.another().volume_db == REMEMBERED_MOST_DB
    stage.settings.setValue("player/volume_db", "loud")
    assert stage.another().volume_db == START_DB


def test_another_shoot_begins_from_nothing(stage: Stage, tmp_path: Path) -> None:
    stage.begin(2.0, "t0")
    stage.player.set_loop((1.0, 2.0))
    stage.session.save(tmp_path / "other.anglebook")
    stage.session.open(tmp_path / "other.anglebook")
    player = stage.player
    assert (player.playing, player.take_id, player.loop, player.song_s) == (False, None, None, 0.0)


def test_the_silent_clock_takes_what_a_device_would_take() -> None:
    now = [100.0]
    taken: list[int] = []

    def read(frames: int) -> NDArray[np.float32]:
        taken.append(frames)
        return np.zeros((frames, 2), np.float32)

    out = SilentOut(lambda: now[0])
    assert out.start(read)
    for _ in range(50):
        now[0] += 0.033
        heard = out.heard()
        assert heard == pytest.approx((now[0] - 100) * RATE)
        assert heard <= sum(taken) <= heard + 0.11 * RATE
    now[0] += 30
    assert out.heard() == pytest.approx((now[0] - 100) * RATE)
    assert max(taken) <= RATE
    out.stop()
    assert out.heard() is None


def test_nothing_of_it_is_loaded_before_something_is_played() -> None:
    program = """
import sys
from PySide6.QtWidgets import QApplication
import app.window.frame.main_window
late = {"PySide6.QtMultimedia", "audio.play.playback", "audio.play.frame_prefetch", "numpy", "av"}
loaded = late & set(sys.modules)
assert not loaded, loaded
"""
    subprocess.run([sys.executable, "-c", program], check=True, cwd=Path(__file__).parents[4], timeout=120)


def test_a_device_that_stands_still_is_given_up_but_a_busy_window_is_no_sign_of_it(
    monkeypatch: pytest.MonkeyPatch, qtbot: QtBot
) -> None:
    """When the sound server dies the multimedia library does not say so; only its clock stands still."""

    class Sink:
        made_us = 0

        def bufferSize(self) -> int:
            return 0

        def bytesFree(self) -> int:
            return 0

        def processedUSecs(self) -> int:
            return self.made_us

        def stop(self) -> None:
            pass

        def deleteLater(self) -> None:
            pass

    class Feed:
        frames = 10**9

        def close(self) -> None:
            pass

        def deleteLater(self) -> None:
            pass

    now = [50.0]
    monkeypatch.setattr("app.window.playing.sound_out.time.monotonic", lambda: now[0])
    out, sink = DeviceOut(), Sink()
    out._sink, out._feed, out._frame_bytes = sink, Feed(), 8  # type: ignore[assignment]
    out._looked_s = now[0]
    lost: list[int] = []
    out.lost.connect(lambda: lost.append(1))
    for _ in range(100):
        now[0] += 0.03
        sink.made_us += 30_000
        heard = out.heard()
    assert heard == pytest.approx(3.0 * RATE, abs=0.005 * RATE)
    now[0] += 60  # the window was busy, or the computer slept
    assert out.heard() is not None
    assert not lost
    for _ in range(200):
        now[0] += 0.03
        out.heard()
    assert lost == [1]
    assert not out.start(lambda frames: np.zeros((frames, 2), np.float32))
    assert out.trouble.startswith("The sound device has stopped")
