"""Pictures in step: the frame on screen is the one each clip shows at the moment heard."""

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PySide6.QtCore import QPoint, QRectF, QSettings, Qt
from PySide6.QtGui import QFontMetrics
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QVBoxLayout, QWidget
from pytestqt.qtbot import QtBot

from app.engine import watching
from app.model.document.angle import Angle
from app.model.document.media_ref import MediaRef
from app.model.document.song import Song, SongMap
from app.model.document.verdict import Verdict
from app.model.on_song import Clip, SongView, Take
from app.window.jobs import Jobs
from app.window.parts.theme import Theme
from app.window.playing.play_bar import PlayBar
from app.window.playing.player import Player
from app.window.playing.seats import Seat, covering_takes, seats, seats_shown
from app.window.playing.sound_out import SilentOut
from app.window.playing.watch_panel import NOTHING, WatchPanel
from app.window.playing.watch_tile import fitting
from app.window.session import EVERYTHING, Session
from tests.app.documents import document
from tests.app.window.made_up import MadeUpTasks
from tests.app.window.sample_truth import TRUTH, true_shoot
from tests.audio.media_files import Recipe, make, number_in


class Screen(QWidget):
    """The panel above the row of controls, as places show them, with a clock of the test's own."""

    def __init__(self, shoot: SongView, theme: Theme, folder: Path) -> None:
        super().__init__()
        self.session, self.jobs, self.now_s = Session(), Jobs(), 0.0
        self.session.apply("Make", (document(shoot, own_ids=True), EVERYTHING), "test")
        settings = QSettings(str(folder / "settings.ini"), QSettings.Format.IniFormat)
        clock = SilentOut(lambda: self.now_s)
        self.player = Player(self.session, MadeUpTasks(), self.jobs, self, settings=settings, out=clock)
        self.panel = WatchPanel(self.player, self.session, theme, self.jobs)
        self.bar = PlayBar(self.player, theme)
        column = QVBoxLayout(self)
        column.addWidget(self.panel, 1)
        column.addWidget(self.bar)
        self.resize(900, 620)

    def shown(self, qtbot: QtBot) -> list[Any]:
        """The pictures on screen, once all are those of the moment."""
        qtbot.waitUntil(lambda: self.panel.in_step)
        return [tile.shown_pixels for tile in self.panel.tiles if tile.isVisible() and tile.take]


@pytest.fixture
def open_screen(qtbot: QtBot, theme: Theme, tmp_path: Path) -> Iterator[Any]:
    made: list[Screen] = []

    def show(shoot: SongView) -> Screen:
        screen = Screen(shoot, theme, tmp_path)
        qtbot.addWidget(screen)
        with qtbot.waitExposed(screen):
            screen.show()
        made.append(screen)
        return screen

    yield show
    for screen in made:
        screen.hide()
        screen.player.close()
        screen.jobs.close()


def lamp_level(pixels: Any, lamp: dict[str, float]) -> float:
    """How bright the lamp's glass is in a picture."""
    high, wide, _ = pixels.shape
    x, y, half = lamp["x"] * wide, lamp["y"] * high, lamp["height"] * high * 0.2
    return float(pixels[round(y - half) : round(y + half), round(x - half) : round(x + half)].mean())


@pytest.mark.parametrize("name", ["P0230.MP4", "G0021.MOV"])
def test_at_a_beat_the_lamp_is_lit(open_screen: Any, qtbot: QtBot, name: str) -> None:
    """The sample's lamp lights in the frame during which a beat falls: at ten random beats each of two clips,
    of 25 and of 24000/1001 frames a second, that frame is shown, and none beside it."""
    told = next(one for one in TRUTH["clips"] if one["file"].endswith(name))
    screen: Screen = open_screen(true_shoot())
    screen.player.choose(f"{name} 1")
    take = told["takes"][0]
    length_s = take["clip_end_s"] - take["clip_start_s"]
    inside = [
        s
        for s in TRUTH["song"]["beats_s"]
        if take["song_start_s"] + 1 < s < take["song_start_s"] + length_s - 1
    ]
    frame_s = 1 / float(Fraction(told["fps"]))
    for beat_s in np.random.default_rng(20).choice(inside, 10, replace=False):
        levels = []
        for off in (0.0, -1.0, -2.0):
            screen.player.seek(float(beat_s) + off * frame_s)
            levels.append(lamp_level(screen.shown(qtbot)[0], told["lamp"]))
        lit, before, dark = levels
        assert lit > before + 20, f"{name} at {beat_s}"
        assert lit > dark + 20


def test_running_pictures_stay_in_step(open_screen: Any, qtbot: QtBot) -> None:
    """Half a second of playing, a hundred looks: the lamp is lit exactly from the beat's frame on."""
    told = next(one for one in TRUTH["clips"] if one["file"].endswith("P0230.MP4"))
    screen: Screen = open_screen(true_shoot())
    take = screen.player.found("P0230.MP4 1")
    assert take is not None
    beat_s = TRUTH["song"]["beats_s"][30]
    frame_start_s = np.floor(take[1].clip_time(beat_s) * 25) / 25
    screen.player.play(beat_s - 0.25, "P0230.MP4 1")
    qtbot.waitUntil(lambda: not screen.player.waiting)
    screen.shown(qtbot)
    levels = []
    while screen.player.position() < beat_s + 0.2:
        screen.now_s += 0.005
        at_s = take[1].clip_time(screen.player.position())
        levels.append((at_s, lamp_level(screen.shown(qtbot)[0], told["lamp"])))
    dark = np.median([level for at_s, level in levels if at_s < frame_start_s])
    first = next(at_s for at_s, level in levels if level > dark + 20)
    # The step of the clock, and what it takes from one question for the position to the next.
    assert frame_start_s - 1e-6 <= first <= frame_start_s + 0.011


def numbered_shoot(folder: Path, count: int = 9) -> SongView:
    """Clips of numbered pictures, of three rates, each begun at a time of its own."""
    rates = (Fraction(25), Fraction(30000, 1001), Fraction(24))
    clips = []
    for number in range(count):
        rate = rates[number % 3]
        path = make(folder / f"c{number}.mp4", Recipe(picture_s=6.0, frame_rate=rate, size=(128, 72)))
        start_s = 0.3 + 0.11 * number
        media = MediaRef(str(path), number, str(number))
        take = Take(f"t{number}", start_s, 6.0, 0.0, 1 + number * 1e-5)
        clips.append(
            Clip(
                f"c{number}",
                media,
                f"a{number}",
                6.0,
                rate,
                False,
                128,
                72,
                verdict=Verdict.PLACED,
                takes=(take,),
            )
        )
    angles = tuple(Angle(f"a{number}", f"Camera {number}") for number in range(count))
    return SongView("Numbers", Song(MediaRef("/none.wav", 1, "s"), 5.0, SongMap()), angles, tuple(clips))


def test_nine_angles_in_step(open_screen: Any, qtbot: QtBot, tmp_path: Path) -> None:
    shoot = numbered_shoot(tmp_path)
    screen: Screen = open_screen(shoot)
    QTest.keyClick(screen, Qt.Key.Key_W, Qt.KeyboardModifier.ShiftModifier)
    assert screen.panel.controls.many
    for song_s in np.random.default_rng(9).uniform(0.1, 4.5, 12):
        screen.player.seek(float(song_s))
        seen = [number_in(picture) for picture in screen.shown(qtbot)]
        want = [
            int(np.floor(clip.takes[0].clip_time(float(song_s)) * float(clip.frame_rate or 1)) % 10)
            for clip in shoot.clips
        ]
        assert seen == want
    # A press chooses what is heard.
    qtbot.mouseClick(screen.panel.tiles[4], Qt.MouseButton.LeftButton)
    assert screen.player.take_id == "t4"
    hidden = [tile for tile in screen.panel.tiles if not tile.isVisible()]
    assert not hidden


def test_two_takes_of_one_clip_over_each_other(open_screen: Any, qtbot: QtBot) -> None:
    """The bass clip holds a false start and the whole run; both cover the first bars."""
    screen: Screen = open_screen(true_shoot())
    QTest.keyClick(screen, Qt.Key.Key_W, Qt.KeyboardModifier.ShiftModifier)
    screen.player.seek(2.0)
    screen.shown(qtbot)
    bass = [tile for tile in screen.panel.tiles if tile.take and tile.take.id.startswith("O0009.MP4")]
    assert [tile.take.id for tile in bass if tile.take] == ["O0009.MP4 1", "O0009.MP4 2"]
    assert np.abs(bass[0].shown_pixels.astype(int) - bass[1].shown_pixels).mean() > 0.5


def test_where_nothing_is_to_be_seen_it_says_why(open_screen: Any, qtbot: QtBot) -> None:
    screen: Screen = open_screen(true_shoot())
    screen.player.choose("G0021.MOV 1")
    screen.player.seek(5.0)
    tile = screen.panel.tiles[0]
    assert tile.toolTip().startswith("This take does not cover this moment: it runs from 1:09")
    screen.player.choose("R0005.WAV 1")
    assert "sound only" in tile.toolTip()
    screen.player.choose(None)
    assert tile.take is not None, "without a choice the first that covers the moment"


def test_the_frame_guide(open_screen: Any, qtbot: QtBot) -> None:
    screen: Screen = open_screen(true_shoot())
    panel, session = screen.panel, screen.session
    screen.player.choose("Q0041.MP4 1")
    screen.player.seek(40.0)
    for _ in range(5):
        QTest.keyClick(screen, Qt.Key.Key_G)
    assert panel.controls.shapes.currentText() == "16:9"
    screen.shown(qtbot)
    plain = panel.grab().toImage()  # of a shape that takes nothing away
    for _ in range(3):
        QTest.keyClick(screen, Qt.Key.Key_G)
    assert panel.controls.shapes.currentText() == "9:16"
    crop = panel.controls.findChildren(QWidget)
    assert any(getattr(one, "text", str)() == "9:16: 150 × 270 at 165, 0" for one in crop)
    masked = panel.grab().toImage()
    tile = panel.tiles[0]
    left, middle = tile.mapTo(panel, QPoint(40, 200)), tile.mapTo(panel, tile.rect().center())
    assert masked.pixelColor(left).lightness() < 0.6 * plain.pixelColor(left).lightness()
    assert masked.pixelColor(middle) == plain.pixelColor(middle)
    QTest.keyClick(screen, Qt.Key.Key_G, Qt.KeyboardModifier.ShiftModifier)
    assert panel.grab().toImage().pixelColor(left) == plain.pixelColor(left)
    # Moved by keys and by hand; what was moved in one go is one step back.
    keys = Qt.KeyboardModifier.AltModifier | Qt.KeyboardModifier.ShiftModifier
    for _ in range(3):
        QTest.keyClick(screen, Qt.Key.Key_Right, keys)
    found = screen.player.found()
    assert found is not None
    assert found[1].settings.shift_x == pytest.approx(0.06)
    qtbot.mousePress(tile, Qt.MouseButton.LeftButton, pos=tile.rect().center())
    for step in range(1, 30):
        QTest.mouseMove(tile, tile.rect().center() - QPoint(20 * step, 0))
    qtbot.mouseRelease(tile, Qt.MouseButton.LeftButton)
    found = screen.player.found()
    assert found is not None
    assert (found[1].settings.shift_x, found[1].settings.shift_y) == (-1.0, 0.0)
    session.undo()
    assert screen.player.found()[1].settings.shift_x == pytest.approx(0.06)  # type: ignore[index]
    session.undo()
    assert screen.player.found()[1].settings.shift_x == 0.0  # type: ignore[index]


def test_a_large_clip_is_watched_through_a_proxy(
    open_screen: Any, qtbot: QtBot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(watching, "DIRECT_PIXELS", 1000)
    shoot = numbered_shoot(tmp_path, 3)
    before = sorted(path.name for path in tmp_path.iterdir())
    screen: Screen = open_screen(shoot)
    screen.player.choose("t0")
    screen.player.seek(1.0)
    assert "proxy" in screen.panel.proxies.words
    want = int(np.floor(shoot.clips[0].takes[0].clip_time(1.0) * 25)) % 10
    assert number_in(screen.shown(qtbot)[0]) == want, "watched as it is until then"
    own = Path(shoot.clips[0].media.path)
    qtbot.waitUntil(lambda: screen.panel.proxies.path_of(shoot.clips[0]) != own)
    assert number_in(screen.shown(qtbot)[0]) == want
    qtbot.waitUntil(lambda: not screen.panel.proxies.words)
    paths = {screen.panel.proxies.path_of(clip) for clip in shoot.clips}
    assert len(paths) == 3
    assert not any(path.is_relative_to(tmp_path) for path in paths), "in the cache, never beside the clips"
    assert sorted(path.name for path in tmp_path.iterdir() if path.suffix != ".ini") == before


def test_a_clip_that_is_gone_says_so(open_screen: Any, qtbot: QtBot, tmp_path: Path) -> None:
    shoot = numbered_shoot(tmp_path)
    Path(shoot.clips[2].media.path).unlink()
    screen: Screen = open_screen(shoot)
    screen.player.choose("t2")
    qtbot.waitUntil(lambda: "not there" in screen.panel.tiles[0].says, timeout=10_000)


def test_a_sentence_in_a_small_picture_is_cut_at_its_beginning_never_in_the_middle(theme: Theme) -> None:
    metrics = QFontMetrics(theme.font())
    high = metrics.height()
    text = "The file is not there: check that the disk is connected and that nobody renamed it."
    wide = metrics.horizontalAdvance("The file is not there.") * 1.1
    assert fitting(text, metrics, QRectF(0, 0, wide, 12 * high)) == text
    assert fitting(text, metrics, QRectF(0, 0, wide, 2 * high)) == "The file is not there."
    assert fitting(text, metrics, QRectF(0, 0, wide / 3, 1.2 * high)).endswith("…")


def test_what_plays_is_told_on_one_line_and_in_full_when_pointed_at(open_screen: Any, qtbot: QtBot) -> None:
    screen: Screen = open_screen(true_shoot())
    told = screen.bar.note
    screen.player.choose("G0021.MOV 1")
    assert (
        told.toolTip() == "Fiddle hands · G0021, take 1 · not at this moment: it runs from 1:09.3 to 1:21.8"
    )
    found = screen.player.found()
    assert found is not None
    screen.player.seek(found[1].song_start_s - 0.03)
    screen.bar.refresh()
    assert "not at this moment" not in told.toolTip(), "at its start to the tenth that is told"
    screen.player.seek(0.0)
    screen.setFixedWidth(screen.minimumSizeHint().width())
    told.setFixedWidth(200)
    screen.bar.refresh()
    assert told.text().endswith("…")
    assert told.fontMetrics().horizontalAdvance(told.text()) <= told.width()


def test_pictures_stand_in_the_order_of_the_staves() -> None:
    shoot = true_shoot()
    angles = tuple(replace(a, group="Front" if a.name in ("Fiddle", "Roaming") else "") for a in shoot.angles)
    shown = covering_takes(replace(shoot, angles=angles), 5.0)
    names = [shoot.angle(clip.angle_id).name for clip, _ in shown]
    assert names == ["Roaming", "Fiddle", "Accordion", "Drums", "Bass", "Bass", "Safety"]


def test_each_angle_keeps_its_seat_while_takes_come_and_go(open_screen: Any, qtbot: QtBot) -> None:
    screen: Screen = open_screen(true_shoot())
    QTest.keyClick(screen, Qt.Key.Key_W, Qt.KeyboardModifier.ShiftModifier)
    panel = screen.panel
    length_s = TRUTH["song"]["duration_s"]
    where: dict[str, set[int]] = {}
    empty = 0
    for song_s in np.linspace(0.5, length_s - 0.5, 25):
        screen.player.seek(float(song_s))
        seen = [tile for tile in panel.tiles if tile.isVisible()]
        assert len(seen) == len(seats(screen.session.view))
        for number, tile in enumerate(seen):
            if tile.take is not None:
                where.setdefault(tile.take.id, set()).add(number)
            else:
                empty += tile.says == NOTHING
        now = {take.id for _, take in covering_takes(screen.session.view, float(song_s))}
        assert {tile.take.id for tile in seen if tile.take is not None} == now, "all of them, and no others"
    assert len(where) > 5
    assert all(len(numbers) == 1 for numbers in where.values()), where
    assert empty > 10, "angles without a picture keep their seats"


def test_with_more_angles_than_tiles_who_is_seen_stays_where_it_is() -> None:
    def seat(name: str, start_s: float, end_s: float) -> Seat:
        take = Take(f"{name} take", 0.0, end_s - start_s, start_s, 1.0)
        clip = Clip(name, MediaRef(name, 1, name), name, 9.0, Fraction(25), False, 1, 1, takes=(take,))
        return Seat(Angle(name, name), 0, ((clip, take),))

    every = (seat("a", 0, 2), seat("b", 0, 9), seat("c", 0, 9), seat("d", 1, 9), seat("e", 3, 9))

    def shown(song_s: float, before: str, chosen: str | None = None) -> str:
        keys = [(name, 0) for name in before]
        found = seats_shown(every, song_s, keys, 3, None if chosen is None else f"{chosen} take")
        return "".join(one.angle.id for one in found)

    assert shown(0.5, "") == "abc"
    assert shown(1.5, "abc") == "abc", "who comes waits for a seat"
    assert shown(2.5, "abc") == "dbc", "and takes the one that is left"
    assert shown(3.5, "dbc") == "dbc"
    assert shown(3.5, "dbc", "e") == "dbe", "the chosen take is always seen"
    assert shown(0.5, "dbc") == "abc"
    assert seats_shown(every, 3.5, (), 5) == every, "where there is room for all of them"
