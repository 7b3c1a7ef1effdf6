"""Clicks come out of the device where the map has its beats, and nothing but the song is heard with them."""

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from PySide6.QtCore import QSettings
from pytestqt.qtbot import QtBot

from app.model.on_song import SongView
from app.window.jobs import Jobs
from app.window.playing.player import Heard, Player
from app.window.playing.sound_out import RATE
from app.window.session import EVERYTHING, Session
from audio.play.clicks import ACCENT_LEVEL, LEVEL
from tests.app.documents import document
from tests.app.window.made_playing import MadeUpDevice, noise_shoot
from tests.app.window.made_up import MadeUpTasks

Noise = tuple[SongView, NDArray[np.float32]]


@pytest.fixture
def device() -> MadeUpDevice:
    return MadeUpDevice()


@pytest.fixture
def noise(tmp_path: Path) -> Noise:
    return noise_shoot(tmp_path)


@pytest.fixture
def player(qtbot: QtBot, tmp_path: Path, device: MadeUpDevice, noise: Noise) -> Iterator[Player]:
    session, jobs = Session(), Jobs()
    session.apply("Make", (document(noise[0], own_ids=True), EVERYTHING), "test")
    settings = QSettings(str(tmp_path / "settings.ini"), QSettings.Format.IniFormat)
    made = Player(session, MadeUpTasks(), jobs, settings=settings, out=device)
    yield made
    made.close()
    jobs.close()


def test_clicks_stand_out_of_the_song_where_the_beats_are(
    qtbot: QtBot, player: Player, device: MadeUpDevice, noise: Noise
) -> None:
    player.hear_alone(True)
    player.choose("t0")
    player.set_clicks((2.5, 3.0, 3.5), (False, True, False))
    player.play(2.0)
    qtbot.waitUntil(lambda: not player.waiting)
    device.go(2.0)
    sound = device.sound / 10 ** (player.volume_db / 20)
    np.testing.assert_array_equal(sound[:, 0], sound[:, 1])
    last = round(player.position() * RATE)
    count = round(1.8 * RATE)
    clicks = sound[-count:, 0] - 0.7 * noise[1][last - count : last]
    times = (last - count + np.arange(count)) / RATE
    for moment, level in ((2.5, LEVEL), (3.0, ACCENT_LEVEL), (3.5, LEVEL)):
        assert np.abs(clicks[(times > moment - 0.1) & (times < moment - 0.001)]).max() < 0.01
        heard = np.abs(clicks[(times >= moment) & (times < moment + 0.02)])
        assert 0.4 * level < heard.max() <= level
        assert np.argmax(heard) < 0.002 * RATE, "loudest on the beat"


def test_what_was_chosen_is_heard_again_elsewhere(qtbot: QtBot, player: Player, device: MadeUpDevice) -> None:
    player.hear_alone(True)
    player.choose("t0")
    player.play(2.0)
    qtbot.waitUntil(lambda: not player.waiting)
    device.go(0.5)
    np.testing.assert_array_equal(device.sound[:, 0], device.sound[:, 1])
    assert player.heard is Heard.EARS, "it stays chosen"
    player.hear_alone(False)
    qtbot.waitUntil(lambda: not player.jobs.busy("take to listen to"))
    device.go(0.5)
    tail = device.sound[-1000:]
    assert not np.array_equal(tail[:, 0], tail[:, 1])
