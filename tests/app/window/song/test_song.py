"""Song: what the map shows, how it is driven, what each control does, and that undo takes it back."""

from collections.abc import Callable, Iterator
from dataclasses import replace
from itertools import pairwise

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QKeySequence, QMouseEvent, QWheelEvent
from PySide6.QtWidgets import QApplication, QLineEdit
from pytestqt.qtbot import QtBot

from app.model.document.song import Section, Song, SongMap
from app.model.edits import shoot_edits
from app.model.song_map.map_grid import metres_along
from app.window.frame.main_window import MainWindow
from app.window.parts.buttons import ActionButton
from app.window.session import EVERYTHING
from app.window.song.map_canvas import MapCanvas
from app.window.song.song_again import SLOT
from app.window.song.song_place import SongPlace
from app.window.song.song_table import ALIKE, LETTER, LEVEL, NAME
from tests.app.window.made_up import MadeUpTasks, bar_s, make_shoot

HELD = Qt.KeyboardModifier


@pytest.fixture
def song(qtbot: QtBot, shoot_window: MainWindow) -> SongPlace:
    shoot_window.go(1)
    shoot_window.song.catch_up()
    qtbot.waitUntil(lambda: not shoot_window.jobs.busy("peaks of the map"))
    return shoot_window.song


def the_map(window: MainWindow) -> SongMap:
    song = window.session.view.song
    assert song is not None
    return song.map


def press(qtbot: QtBot, place: SongPlace, keys: str) -> None:
    """Press keys where the map has the keyboard."""
    combination = QKeySequence(keys)[0]
    qtbot.keyClick(place.canvas, combination.key(), combination.keyboardModifiers())
    place.catch_up()


def at(canvas: MapCanvas, song_s: float, y: float = 0.6) -> QPoint:
    return QPoint(round(canvas.scale.x(song_s)), round(canvas.viewport().height() * y))


def test_a_click_goes_there_and_chooses_the_section(
    qtbot: QtBot, song: SongPlace, shoot_window: MainWindow
) -> None:
    where = bar_s(20)
    qtbot.mouseClick(song.canvas.viewport(), Qt.MouseButton.LeftButton, pos=at(song.canvas, where))
    assert shoot_window.player.song_s == pytest.approx(where, abs=0.2)
    assert song.song_cursor.section == 2
    assert song.table.currentRow() == 2
    assert not shoot_window.player.playing


def test_a_double_click_plays_from_there_as_in_the_score(
    qtbot: QtBot, song: SongPlace, shoot_window: MainWindow
) -> None:
    where, player = bar_s(20), shoot_window.player
    qtbot.mouseDClick(song.canvas.viewport(), Qt.MouseButton.LeftButton, pos=at(song.canvas, where))
    assert player.playing
    assert player.song_s == pytest.approx(where, abs=0.3)
    player.pause()


def test_keys_go_by_beats_bars_and_sections(qtbot: QtBot, song: SongPlace, shoot_window: MainWindow) -> None:
    player = shoot_window.player
    player.seek(bar_s(5))
    for keys, expected in (
        ("Right", bar_s(5) + 2 / 3),
        ("Left", bar_s(5)),
        ("Ctrl+Right", bar_s(6)),
        ("Ctrl+Left", bar_s(5)),
        ("PgDown", bar_s(9)),
        ("PgDown", bar_s(17)),
        ("PgUp", bar_s(9)),
        ("Home", 0.0),
    ):
        press(qtbot, song, keys)
        assert player.song_s == pytest.approx(expected), keys
    assert song.song_cursor.section == 1, "Home goes; it does not choose"
    press(qtbot, song, "Ctrl+Right")
    assert song.canvas.accessibleName() == "Map of the song, bar 1, beat 1 · 0:00.5, A"


def test_the_wheel_zooms_where_it_is_and_scrolls(qtbot: QtBot, song: SongPlace) -> None:
    canvas = song.canvas
    whole = canvas.scale.second
    spot = QPointF(300, 80)
    before = canvas.scale.song_s(300)

    def turn(held: Qt.KeyboardModifier, notches: int) -> None:
        event = QWheelEvent(
            spot, canvas.viewport().mapToGlobal(spot), QPoint(), QPoint(0, 120 * notches),
            Qt.MouseButton.NoButton, held, Qt.ScrollPhase.NoScrollPhase, False,
        )  # fmt: skip
        QApplication.sendEvent(canvas.viewport(), event)

    turn(HELD.ControlModifier, 3)
    assert canvas.scale.second == pytest.approx(whole * 1.5**3)
    assert canvas.scale.song_s(300) == pytest.approx(before, abs=0.2)
    left = canvas.scale.left_s
    turn(HELD.NoModifier, -2)
    assert canvas.scale.left_s > left
    press(qtbot, song, "0")
    assert canvas.scale.second == pytest.approx(whole)
    assert canvas.scale.left_s == 0
    press(qtbot, song, "-")
    assert canvas.scale.second == pytest.approx(whole), "no farther than the whole song"
    for _ in range(40):
        press(qtbot, song, "+")
    assert canvas.scale.width / canvas.scale.second == pytest.approx(3.0), "no closer than three seconds"
    assert song.zoom.value() == song.zoom.maximum()


def drag(canvas: MapCanvas, to: QPoint, held: Qt.KeyboardModifier) -> None:
    """Move the mouse with the left button down."""
    port, button = canvas.viewport(), Qt.MouseButton
    spot = QPointF(to)
    kind = QMouseEvent.Type.MouseMove
    moved = QMouseEvent(kind, spot, port.mapToGlobal(spot), button.NoButton, button.LeftButton, held)
    QApplication.sendEvent(port, moved)


@pytest.mark.parametrize(
    ("held", "expected"),
    [
        (HELD.NoModifier, bar_s(19)),
        (HELD.ShiftModifier, bar_s(19) + 2 / 3),
        (HELD.ControlModifier, bar_s(19) + 0.55),
    ],
)
def test_an_edge_is_dragged_to_bars_beats_or_anywhere(
    qtbot: QtBot, song: SongPlace, shoot_window: MainWindow, held: Qt.KeyboardModifier, expected: float
) -> None:
    canvas, port = song.canvas, song.canvas.viewport()
    shoot_window.player.seek(bar_s(18))
    canvas.zoom_by(6)
    qtbot.mousePress(port, Qt.MouseButton.LeftButton, held, at(canvas, bar_s(17)))
    for share in (0.3, 0.6, 1.0):
        there = bar_s(17) + share * (bar_s(19) + 0.55 - bar_s(17))
        drag(canvas, at(canvas, there), held)
    qtbot.mouseRelease(port, Qt.MouseButton.LeftButton, held, at(canvas, bar_s(19) + 0.55))
    sections = the_map(shoot_window).sections
    assert sections[2].start_s == pytest.approx(expected, abs=0.02)
    assert sections[1].end_s == sections[2].start_s
    assert shoot_window.session.undo_label == "Move Section Edge"
    shoot_window.session.undo()
    assert the_map(shoot_window).sections[2].start_s == bar_s(17)


def test_an_edge_that_is_only_clicked_stays(qtbot: QtBot, song: SongPlace, shoot_window: MainWindow) -> None:
    before = the_map(shoot_window)
    qtbot.mouseClick(song.canvas.viewport(), Qt.MouseButton.LeftButton, pos=at(song.canvas, bar_s(17)))
    assert the_map(shoot_window) == before
    assert song.song_cursor.section == 2
    assert shoot_window.player.song_s == bar_s(17)


# Keys, what the undo list calls the step, and what is true after it.
DEEDS: tuple[tuple[str, str, Callable[[SongMap, SongMap], bool]], ...] = (
    ("O", "Bar Starts Here", lambda old, new: new.bars_s[0] == old.beats_s[1]),
    ("Shift+O", "Bars From Here On", lambda old, new: new.bars_s[:9] == old.bars_s[:9] != new.bars_s[9:18]),
    ("H", "Half Tempo", lambda old, new: new.bars_s == old.bars_s[::2]),
    ("D", "Double Tempo", lambda old, new: len(new.bars_s) == 2 * len(old.bars_s)),
    ("Shift+H", "Half Tempo", lambda old, new: new.bars_s[:10] == old.bars_s[:10] and len(new.bars_s) < 40),
    ("Shift+D", "Double Tempo", lambda old, new: new.bars_s[:10] == old.bars_s[:10]),
    ("B", "Shift Half a Beat", lambda old, new: new.beats_s[0] == pytest.approx(old.beats_s[0] + 1 / 3)),
    ("Alt+Left", "Nudge Beats", lambda old, new: new.beats_s[3] == pytest.approx(old.beats_s[3] - 0.005)),
    ("Alt+Right", "Nudge Beats", lambda old, new: new.beats_s[3] == pytest.approx(old.beats_s[3] + 0.005)),
    ("4", "4 Beats per Bar", lambda old, new: metres_along(new)[1] == (10, 4)),
    ("S", "Split Section", lambda old, new: len(new.sections) == 9 and new.sections[2].start_s == bar_s(10)),
    (
        "Shift+S",
        "Split Section",
        lambda old, new: new.sections[2].start_s == pytest.approx(bar_s(10) + 2 / 3),
    ),
    ("J", "Join Sections", lambda old, new: [s.name for s in new.sections[:2]] == ["Intro", "Chorus"]),
    ("Shift+Right", "Move Section Edge", lambda old, new: new.sections[1].start_s == bar_s(10)),
    ("Shift+Left", "Move Section Edge", lambda old, new: new.sections[1].start_s == bar_s(8)),
    ("Ctrl+Shift+Right", "Move Section Edge", lambda old, new: new.sections[1].start_s > bar_s(9) + 0.6),
    ("Alt+Shift+Left", "Move Section Edge", lambda old, new: new.sections[1].start_s == bar_s(9) - 0.005),
)


def test_a_key_corrects_and_undo_names_it_and_takes_it_back(
    qtbot: QtBot, song: SongPlace, shoot_window: MainWindow
) -> None:
    before, clips = the_map(shoot_window), shoot_window.session.view.clips
    for keys, label, true in DEEDS:
        song.song_cursor.choose(0)
        song.song_cursor.step_section(1)  # B, bar 9
        shoot_window.player.seek(bar_s(10) + 0.6)
        press(qtbot, song, keys)
        after = the_map(shoot_window)
        assert shoot_window.session.undo_label == label, keys
        assert true(before, after), keys
        assert shoot_window.session.view.clips == clips, "placements never move with the map"
        shoot_window.session.undo()
        assert the_map(shoot_window) == before, keys
        shoot_window.session.redo()
        assert the_map(shoot_window) == after, keys
        shoot_window.session.undo()


def test_the_place_is_told_by_the_corrected_map(
    qtbot: QtBot, song: SongPlace, shoot_window: MainWindow
) -> None:
    song.song_cursor.go_to(bar_s(9))
    assert song.bar.place.text().startswith("bar 9, beat 1 ")
    press(qtbot, song, "H")
    assert song.bar.place.text().startswith("bar 5, beat 1 ")
    shoot_window.session.undo()
    song.catch_up()
    assert song.bar.place.text().startswith("bar 9, beat 1 ")


def test_every_button_does_what_its_key_does(qtbot: QtBot, song: SongPlace, shoot_window: MainWindow) -> None:
    shoot_window.player.seek(bar_s(10) + 0.6)
    song.song_cursor.step_section(1)
    names = {button.text() for button in song.tools.findChildren(ActionButton)}
    assert {
        "Bar Starts Here",
        "Half Tempo",
        "Double Tempo",
        "Split Here",
        "Join",
        "Detect Again From Here",
    } <= names
    button = next(b for b in song.tools.findChildren(ActionButton) if b.text() == "Double Tempo")
    song.canvas.setFocus()
    qtbot.mouseClick(button, Qt.MouseButton.LeftButton)
    assert shoot_window.session.undo_label == "Double Tempo"
    assert song.canvas.hasFocus(), "the space bar still plays"
    song.tools.metre.activated.emit(3)  # 4 beats a bar
    assert shoot_window.session.undo_label == "4 Beats per Bar"


def test_a_name_and_a_letter_are_typed_in_the_table(
    qtbot: QtBot, song: SongPlace, shoot_window: MainWindow
) -> None:
    song.song_cursor.step_section(1)
    for keys, text, column in (("F2", "Second verse", NAME), ("L", "V2", LETTER)):
        press(qtbot, song, keys)
        field = next(f for f in song.table.findChildren(QLineEdit) if f.hasFocus())
        field.selectAll()
        qtbot.keyClicks(field, text)
        qtbot.keyClick(field, Qt.Key.Key_Return)
        qtbot.waitUntil(lambda: song.table.item(1, column).text() == text)  # type: ignore[union-attr]  # noqa: B023
        song.canvas.setFocus()
    section = the_map(shoot_window).sections[1]
    assert (section.letter, section.name, section.suggested) == ("V2", "Second verse", False)
    assert shoot_window.session.undo_label == "Letter Section"
    press(qtbot, song, "Shift+L")
    assert the_map(shoot_window).sections[1].letter == "B"
    song.table.item(1, LETTER).setText("Chorus")  # type: ignore[union-attr]
    assert "2 characters at most" in song.message
    song.refresh(EVERYTHING)
    assert song.table.item(1, LETTER).text() == "B"  # type: ignore[union-attr]


def test_the_table_tells_guesses_likeness_and_loudness(song: SongPlace, shoot_window: MainWindow) -> None:
    shoot = shoot_window.session.view
    assert shoot.song is not None
    old = shoot.song.map
    families = "ABCBCDCE"
    sections = tuple(replace(s, family=families[n], suggested=n != 1) for n, s in enumerate(old.sections))
    levels = tuple(-30.0 + (n * 0.25 > bar_s(57)) * 12 for n in range(514))
    known = replace(old, sections=sections, levels_db=levels)
    changed = shoot_edits.set_map(shoot_window.session.shoot, known)
    shoot_window.session.apply("x", changed, "test")
    song.catch_up()

    def cell(row: int, column: int) -> str:
        return str(song.table.item(row, column).data(Qt.ItemDataRole.DisplayRole))  # type: ignore[union-attr]

    assert [cell(row, NAME) for row in (0, 1)] == ["Intro (a guess)", "Verse 1"]
    assert song.table.item(0, NAME).data(Qt.ItemDataRole.EditRole) == "Intro"  # type: ignore[union-attr]
    assert [cell(row, ALIKE) for row in (0, 1, 2)] == ["none", "D", "E, G"]
    assert "dB" in cell(0, LEVEL)
    assert cell(7, LEVEL).endswith("loudest")


def test_a_split_and_a_join_are_told(qtbot: QtBot, song: SongPlace, shoot_window: MainWindow) -> None:
    shoot_window.player.seek(bar_s(12))
    press(qtbot, song, "S")
    assert "bar 12" in song.message
    assert song.message.endswith("0:22.50.")
    press(qtbot, song, "J")
    assert song.message == "Joined: B Verse 1 now runs to 0:32.50."


def test_what_cannot_be_done_is_told(qtbot: QtBot, song: SongPlace, shoot_window: MainWindow) -> None:
    song.song_cursor.step_section(-1)
    press(qtbot, song, "J")
    assert "first section starts with the song" in song.message
    assert shoot_window.session.undo_label == "Make"
    shoot_window.player.seek(bar_s(9))
    press(qtbot, song, "S")
    assert "already starts here" in song.message


def test_taking_the_rest_again_keeps_what_was_fixed(
    qtbot: QtBot, song: SongPlace, shoot_window: MainWindow, tasks: MadeUpTasks
) -> None:
    before = the_map(shoot_window)
    shoot_window.player.seek(bar_s(40))
    press(qtbot, song, "O")
    step = 0.7
    beats = tuple(bar_s(20) + n * step for n in range(100))
    tasks.found_again = SongMap(60 / step, beats, beats[::3], (Section("A", "All", 0.0, 128.5),))
    shoot_window.player.seek(bar_s(20) + 0.1)
    press(qtbot, song, "G")
    qtbot.waitUntil(lambda: shoot_window.session.undo_label == "Detect Again")
    known, from_s = tasks.mapped_again[0]
    assert from_s == bar_s(20)
    assert known.downbeats_s == (bar_s(40),)
    after = the_map(shoot_window)
    assert [b for b in after.beats_s if b <= bar_s(20)] == [b for b in before.beats_s if b <= bar_s(20)]
    assert bar_s(40) in after.bars_s
    assert after.downbeats_s == (bar_s(40),)
    assert "bar 20 on" in song.message


def test_looking_again_can_be_stopped(
    qtbot: QtBot, song: SongPlace, shoot_window: MainWindow, tasks: MadeUpTasks
) -> None:
    before = the_map(shoot_window)

    def hold(stop: Callable[[], bool]) -> None:
        while not stop():
            pass

    tasks.before_answer = hold
    press(qtbot, song, "G")
    qtbot.waitUntil(lambda: any("Detecting again" in one.words for one in shoot_window.running.doing))
    press(qtbot, song, "Escape")
    qtbot.waitUntil(lambda: not shoot_window.jobs.busy(SLOT))
    assert the_map(shoot_window) == before
    assert shoot_window.running.doing == ()


@pytest.fixture
def tapping(
    song: SongPlace, shoot_window: MainWindow, monkeypatch: pytest.MonkeyPatch
) -> Iterator[Callable[[float], None]]:
    """Tap at a moment of the song, which plays."""
    player = shoot_window.player
    monkeypatch.setattr(player, "playing", True)

    def tap(song_s: float) -> None:
        monkeypatch.setattr(player, "position", lambda: song_s)
        song.action_table["tap"].trigger()
        song.catch_up()

    yield tap
    monkeypatch.setattr(player, "playing", False)


def test_taps_lay_beats_and_are_one_step(
    qtbot: QtBot,
    song: SongPlace,
    shoot_window: MainWindow,
    tasks: MadeUpTasks,
    tapping: Callable[[float], None],
) -> None:
    before = the_map(shoot_window)
    for n in range(6):
        tapping(40.0 + n * 0.5)
    assert shoot_window.session.undo_label == "Tap Tempo"
    after = the_map(shoot_window)
    late = [beat for beat in after.beats_s if beat > 45]
    assert [b - a for a, b in pairwise(late)] == pytest.approx([0.5] * (len(late) - 1))
    assert "120.0 bpm from 6 taps" in song.message
    tasks.found_again = after
    song.taps.end()
    qtbot.waitUntil(lambda: bool(tasks.mapped_again))
    qtbot.waitUntil(lambda: not shoot_window.running.doing)
    assert tasks.mapped_again[0][0].tempo_by_hand, "the engine is told the pace that was tapped"
    shoot_window.session.undo()
    assert the_map(shoot_window) == before, "taps, and what was found by them, are one step"


def test_taps_can_be_forgotten(song: SongPlace, tapping: Callable[[float], None]) -> None:
    tapping(40.0)
    tapping(40.5)
    song.action_table["cancel"].trigger()
    assert song.taps.count == 0
    assert song.message == "Taps discarded."


def test_clicks_follow_the_map_and_only_here(
    qtbot: QtBot, song: SongPlace, shoot_window: MainWindow, monkeypatch: pytest.MonkeyPatch
) -> None:
    heard: list[tuple[tuple[float, ...], list[bool]]] = []
    monkeypatch.setattr(
        shoot_window.player,
        "set_clicks",
        lambda moments, accents: heard.append((tuple(moments), list(accents))),
    )
    press(qtbot, song, "D")
    moments, accents = heard[-1]
    assert moments == the_map(shoot_window).beats_s
    assert [m for m, accent in zip(moments, accents, strict=True) if accent] == list(
        the_map(shoot_window).bars_s
    )
    press(qtbot, song, "C")
    assert heard[-1] == ((), [])
    assert shoot_window.player.recall("player/clicks", "") == "off"
    press(qtbot, song, "C")
    assert heard[-1][0]
    assert shoot_window.player.alone
    hear = shoot_window.play_keys.action_table["hear"]
    assert not hear.isEnabled()
    shoot_window.go(4)
    assert hear.isEnabled()
    assert heard[-1] == ((), [])
    assert not shoot_window.player.alone


def test_a_song_without_beats_says_what_to_do(song: SongPlace, shoot_window: MainWindow) -> None:
    shoot_window.session.apply("x", shoot_edits.set_map(shoot_window.session.shoot, SongMap()), "test")
    song.catch_up()
    song.canvas.grab()
    assert "no bars found" in song.text
    assert not song.clicks.isEnabled()
    assert not song.action_table["bar"].isEnabled()
    assert song.action_table["tap"].isEnabled()
    song.action_table["cancel"].trigger()
    assert song.message == "No beats found. Play the song and tap T on every beat."


def test_the_map_paints_whatever_the_size(qtbot: QtBot, song: SongPlace, shoot_window: MainWindow) -> None:
    for width, height in ((1280, 720), (2560, 1440), (3840, 2160)):
        shoot_window.resize(width, height)
        for steps in (0, 4, 12):
            song.canvas.zoom_whole()
            song.canvas.zoom_by(steps)
            image = song.canvas.viewport().grab().toImage()
            colours = {image.pixelColor(x, image.height() // 2).name() for x in range(0, image.width(), 3)}
            assert len(colours) > 1, "something is drawn"


def test_every_key_of_song_is_on_the_page_of_keys(song: SongPlace) -> None:
    told = " ".join(line.keys for line in song.key_lines())
    names = {"PgUp": "Page ↑", "PgDown": "↓", "Left": "←", "Right": "→", "-": "−", "Escape": "Esc"}
    for action in song.actions():
        key = action.shortcut().toString()
        last = key.split("+")[-1] if key != "+" else "+"
        shown = names.get(last, last)
        if last.isdecimal() and last not in "027":
            continue  # 2 … 7
        assert shown in told, key


def test_a_shoot_without_a_song_shows_how_to_choose_one(song: SongPlace, shoot_window: MainWindow) -> None:
    shoot_window.session.new()
    song.catch_up()
    assert song.empty.isVisible()
    shoot_window.session.apply("Make", (make_shoot(), EVERYTHING), "test")
    song.catch_up()
    assert not song.empty.isVisible()
    assert isinstance(shoot_window.session.view.song, Song)


def test_space_plays_after_a_button_was_clicked(
    qtbot: QtBot, song: SongPlace, shoot_window: MainWindow
) -> None:
    button = next(one for one in song.findChildren(ActionButton) if one.text() == "Half Tempo")
    qtbot.mouseClick(button, Qt.MouseButton.LeftButton)
    halved = the_map(shoot_window)
    button.setFocus(Qt.FocusReason.TabFocusReason)
    qtbot.keyClick(button, Qt.Key.Key_Space)
    assert the_map(shoot_window) == halved, "half of it once, not twice"
    assert shoot_window.player.playing
