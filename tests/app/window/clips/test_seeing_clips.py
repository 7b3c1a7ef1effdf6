"""Pictures in the table, the selected clip larger, any clip heard and seen by itself, and its folder."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from PySide6.QtCore import QItemSelectionModel, QObject, QPoint, Qt, QUrl, Slot
from PySide6.QtGui import QDesktopServices
from pytestqt.qtbot import QtBot

from app.model.document.media_ref import MediaRef
from app.model.document.shoot import Shoot
from app.model.document.verdict import Verdict
from app.window.clips.clips_model import FILE
from app.window.clips.picture_cell import moments
from app.window.frame.main_window import MainWindow
from app.window.jobs import Jobs
from app.window.parts.clip_pictures import SLOT
from app.window.playing.clip_player import ClipPlayer
from app.window.playing.player import Player
from app.window.playing.sound_out import RATE
from app.window.session import EVERYTHING, Session
from tests.app.window.made_playing import MadeUpDevice
from tests.app.window.made_up import MadeUpTasks, make_clip, make_shoot, make_song, with_clip
from tests.audio.media_files import Recipe, low_noise, make

CLIP_S = 4.0


@pytest.fixture(scope="module")
def no_song(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, NDArray[np.float32]]:
    """A clip in which no song runs, and what its microphone heard."""
    sound = low_noise(CLIP_S, RATE, level=0.1)
    return make(
        tmp_path_factory.mktemp("card") / "C0077.mov", Recipe(tracks=[sound], picture_s=CLIP_S)
    ), sound


def shoot_of(
    path: Path, verdict: Verdict = Verdict.NO_SONG, frame_rate: Fraction | None = Fraction(25)
) -> Shoot:
    clip = replace(
        make_clip(path.name),
        media=MediaRef(str(path), 1000, path.name),
        duration_s=CLIP_S,
        frame_rate=frame_rate,
        width=64,
        height=48,
        verdict=verdict,
    )
    return with_clip(make_shoot(), clip)


def show(window: MainWindow, shoot: Shoot, name: str) -> None:
    """Show a shoot and select a clip of it."""
    window.session.apply("Make", (shoot, EVERYTHING), "test")
    window.clips.catch_up()
    select(window, name)


def select(window: MainWindow, name: str) -> None:
    table = window.clips.table
    rows = range(table.model().rowCount())
    row = next(row for row in rows if table.model().index(row, FILE).data() == name)
    table.setFocus()
    # Not as by a key: one that an earlier test held with another would count.
    flags = QItemSelectionModel.SelectionFlag
    table.selectionModel().setCurrentIndex(table.model().index(row, FILE), flags.ClearAndSelect | flags.Rows)


def test_only_rows_in_view_have_their_pictures_read(
    qtbot: QtBot, window: MainWindow, tasks: MadeUpTasks, monkeypatch: pytest.MonkeyPatch
) -> None:
    read: list[str] = []
    taken = tasks.pictures

    def pictures(path: Path, times: Sequence[float], height: int) -> list[NDArray[np.uint8]]:
        read.append(path.name)
        return taken(path, times, height)

    monkeypatch.setattr(tasks, "pictures", pictures)
    shoot = make_shoot()
    for number in range(100, 160):
        shoot = with_clip(shoot, make_clip(f"Wide/C0{number}.mov", ((1, 9, False),)))
    window.session.apply("Make", (shoot, EVERYTHING), "test")
    window.clips.catch_up()
    table = window.clips.table
    window.grab()
    qtbot.waitUntil(lambda: "C0001.mov" in read and not window.jobs.busy(SLOT))
    last = table.rowAt(table.viewport().height() - 2)
    assert 0 < last < 40
    assert "C0159.mov" not in read
    assert len(set(read)) <= last + 3
    table.scrollToBottom()
    window.grab()
    qtbot.waitUntil(lambda: "C0159.mov" in read and not window.jobs.busy(SLOT))


def test_a_wider_column_shows_more_moments() -> None:
    clip = make_clip("a.mov", ((1, 9, False),))
    assert len(moments(clip, 5)) == 5
    assert 0 < moments(clip, 5)[0] < moments(clip, 5)[-1] < clip.duration_s


def test_w_shows_the_selected_clip_larger_and_it_follows_the_table(
    qtbot: QtBot, window: MainWindow, no_song: tuple[Path, object]
) -> None:
    show(window, shoot_of(no_song[0]), "C0003.mov")
    clips, table = window.clips, window.clips.table
    assert not clips.panel.isVisible()
    qtbot.keyClick(table, Qt.Key.Key_W)
    assert clips.panel.isVisible()
    assert clips.panel._name.text() == "Accordion · C0003.mov"
    qtbot.keyClick(table, Qt.Key.Key_Down)
    assert clips.panel._name.text() == "Accordion · C0004.mov"
    assert clips.panel._about.text() == "● placed · 25 fps · 1920 × 1080"
    assert len(clips.panel.strip.boxes) >= 3
    qtbot.keyClick(table, Qt.Key.Key_W)
    assert not clips.panel.isVisible()
    assert table.hasFocus()


@pytest.fixture
def quiet(window: MainWindow) -> Iterator[MadeUpDevice]:
    """A device for what is played in a window, in the place of the system's."""
    device = MadeUpDevice()
    window.clip_player._device = device
    yield device
    window.clip_player.close()


def test_space_plays_a_clip_without_the_song_and_shows_it(
    qtbot: QtBot, window: MainWindow, quiet: MadeUpDevice, no_song: tuple[Path, NDArray[np.float32]]
) -> None:
    path, sound = no_song
    show(window, shoot_of(path), path.name)
    clips, player = window.clips, window.clip_player
    qtbot.keyClick(clips.table, Qt.Key.Key_Space)
    assert clips.panel.isVisible()
    assert player.playing
    assert not window.player.playing
    qtbot.waitUntil(lambda: quiet.starts == 1)
    quiet.go(1.0)
    heard = quiet.sound[RATE // 4 : RATE * 3 // 4, 0]
    # Half a second of what comes out is what the microphone heard, with limiter and volume after it.
    best = np.abs(np.correlate(sound[:RATE].astype(float), heard.astype(float), "valid")).max()
    energy = np.sqrt(
        np.sum(heard.astype(float) ** 2) * np.sum(sound[RATE // 4 : RATE * 3 // 4].astype(float) ** 2)
    )
    assert best > 0.9 * energy
    screen = clips.panel.screen_of_clip
    qtbot.waitUntil(lambda: screen._image is not None)
    assert player.position() == pytest.approx(1.0, abs=0.05)
    qtbot.keyClick(clips.table, Qt.Key.Key_Space)
    assert not player.playing
    qtbot.keyClick(clips.table, Qt.Key.Key_Right, Qt.KeyboardModifier.ControlModifier)
    assert player.song_s == pytest.approx(CLIP_S - 0.01)
    clips.panel.slider.setValue(20)
    assert player.song_s == pytest.approx(2.0)


def test_a_click_on_a_moment_goes_there(
    qtbot: QtBot, window: MainWindow, no_song: tuple[Path, object]
) -> None:
    show(window, shoot_of(no_song[0]), no_song[0].name)
    window.clips.action_table["larger"].trigger()
    strip = window.clips.panel.strip
    qtbot.waitUntil(lambda: len(strip.boxes) > 1)
    box, clip_s = strip.boxes[1]
    qtbot.mouseClick(strip, Qt.MouseButton.LeftButton, pos=box.center().toPoint())
    assert window.clip_player.song_s == pytest.approx(clip_s)
    qtbot.mouseClick(strip, Qt.MouseButton.LeftButton, pos=QPoint(strip.width() - 1, strip.height() - 1))
    assert window.clip_player.song_s == pytest.approx(clip_s)


def test_leaving_clips_or_another_clip_ends_the_sound(
    qtbot: QtBot, window: MainWindow, quiet: MadeUpDevice, no_song: tuple[Path, object]
) -> None:
    path = no_song[0]
    show(window, shoot_of(path), path.name)
    window.clips.toggle_own()
    assert window.clip_player.playing
    window.go(4)
    assert not window.clip_player.playing
    window.go(0)
    window.clips.toggle_own()
    assert window.clip_player.playing
    select(window, "C0003.mov")
    assert not window.clip_player.playing
    assert window.clip_player.song_s == 0.0


def test_without_a_selected_clip_space_plays_the_song(qtbot: QtBot, window: MainWindow) -> None:
    window.session.apply("Make", (make_shoot(), EVERYTHING), "test")
    window.clips.catch_up()
    played: list[str] = []
    window.player.toggle = lambda: played.append("song")  # type: ignore[method-assign]
    window.clips.table.clearSelection()
    window.clips.table.setFocus()
    qtbot.keyClick(window.clips.table, Qt.Key.Key_Space)
    assert played == ["song"]
    assert not window.clip_player.playing


def test_a_file_that_cannot_be_read_says_why_it_is_not_played(qtbot: QtBot, window: MainWindow) -> None:
    show(window, make_shoot(), "C0012.mov")
    qtbot.keyClick(window.clips.table, Qt.Key.Key_Space)
    panel = window.clips.panel
    assert not window.clip_player.playing
    assert panel._note.text() == "C0012.mov has not been read yet: it is read when it is placed."
    assert panel.screen_of_clip.says == panel._note.text()
    assert not panel.button.isEnabled()


@pytest.fixture
def players(qtbot: QtBot, no_song: tuple[Path, object]) -> Iterator[tuple[Player, ClipPlayer]]:
    """The player of the song and that of clips, with the clip in which no song runs."""
    session, jobs = Session(), Jobs()
    shoot = shoot_of(no_song[0])
    session.apply("Make", (replace(shoot, songs=(make_song(str(no_song[0])),)), EVERYTHING), "test")
    song = Player(session, MadeUpTasks(), jobs, out=MadeUpDevice())
    clip = ClipPlayer(session, MadeUpTasks(), jobs, song, out=MadeUpDevice())
    clip.show_clip(session.view.clips[-1])
    yield song, clip
    for player in (song, clip):
        player.close()
    jobs.close()


def test_song_and_clip_are_never_heard_at_once(players: tuple[Player, ClipPlayer]) -> None:
    song, clip = players
    song.play()
    clip.play()
    assert (song.playing, clip.playing) == (False, True)
    song.play()
    assert (song.playing, clip.playing) == (True, False)


def test_song_and_clip_have_one_volume(players: tuple[Player, ClipPlayer]) -> None:
    song, clip = players
    assert clip.volume_db == song.volume_db
    song.set_volume(-33.0)
    assert clip.volume_db == -33.0
    clip.set_volume(-21.0)
    assert song.volume_db == -21.0


def test_a_clip_that_was_played_to_its_end_begins_again(players: tuple[Player, ClipPlayer]) -> None:
    _, clip = players
    clip.seek(CLIP_S)
    clip.play()
    assert clip.song_s == 0.0


class Opened(QObject):
    """Takes the place of the system's program for folders."""

    def __init__(self) -> None:
        super().__init__()
        self.urls: list[QUrl] = []

    @Slot(QUrl)
    def take(self, url: QUrl) -> None:
        self.urls.append(url)


def test_a_clip_is_shown_in_its_folder(
    qtbot: QtBot, window: MainWindow, no_song: tuple[Path, object]
) -> None:
    opened = Opened()
    QDesktopServices.setUrlHandler("file", opened, "take")
    try:
        show(window, shoot_of(no_song[0]), no_song[0].name)
        keys = Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.ShiftModifier
        qtbot.keyClick(window.clips.table, Qt.Key.Key_F, keys)
        assert [Path(url.toLocalFile()) for url in opened.urls] == [no_song[0].parent]
        assert window.notice.text == ""
        select(window, "C0003.mov")
        window.clips.action_table["in folder"].trigger()
        assert len(opened.urls) == 1
        assert window.notice.text.startswith("The folder /shoot/Accordion is not there.")
    finally:
        QDesktopServices.unsetUrlHandler("file")
