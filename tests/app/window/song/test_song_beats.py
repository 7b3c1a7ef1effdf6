"""Single beats corrected in Song, and what is said where a correction changes nothing."""

from collections.abc import Callable
from dataclasses import replace

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QKeySequence, QMouseEvent
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from app.model.document.song import SongMap
from app.model.edits import shoot_edits
from app.window.frame.main_window import MainWindow
from app.window.song.song_place import SongPlace
from tests.app.window.made_up import bar_s

BEAT_S = 2 / 3


@pytest.fixture
def song(shoot_window: MainWindow) -> SongPlace:
    shoot_window.go(1)
    shoot_window.song.catch_up()
    return shoot_window.song


@pytest.fixture
def press(qtbot: QtBot, song: SongPlace) -> Callable[[str], None]:
    """Press keys where the map has the keyboard."""

    def press_keys(keys: str) -> None:
        combination = QKeySequence(keys)[0]
        qtbot.keyClick(song.canvas, combination.key(), combination.keyboardModifiers())
        song.catch_up()

    return press_keys


def the_map(song: SongPlace) -> SongMap:
    return song.song_cursor.song_map


def take(song: SongPlace, song_map: SongMap) -> None:
    song.session.apply("x", shoot_edits.set_map(song.session.shoot, song_map), "test")
    song.catch_up()


def test_home_and_o_lay_beats_to_the_start_of_the_song(song: SongPlace, press: Callable[[str], None]) -> None:
    before = the_map(song)
    late = replace(before, beats_s=before.beats_s[6:], bars_s=before.bars_s[2:])
    take(song, late)
    press("Home")
    assert song.bar.place.text() == "lead-in · 0:00.0"
    press("O")
    assert the_map(song).bars_s[0] == 0.0
    assert song.message == (
        "Bar 1 now starts here, at 0:00.00. 7 beats added before the first one found. "
        "Bar lines you have not fixed moved along."
    )
    press("O")
    assert song.message == "Nothing changed: bar 1 already starts here and is fixed (◆)."
    song.session.undo()
    assert the_map(song) == late


def test_past_the_last_beat_bars_reach_the_end(song: SongPlace, press: Callable[[str], None]) -> None:
    before = the_map(song)
    take(song, replace(before, beats_s=before.beats_s[:-12], bars_s=before.bars_s[:-4]))
    song.song_cursor.go_to(before.bars_s[-4])
    press("O")
    assert the_map(song).bars_s == pytest.approx(before.bars_s)
    assert song.message.startswith(
        "Bar 61 now starts here, at 2:00.50. 12 beats added after the last one found"
    )


@pytest.mark.parametrize(
    ("keys", "said"),
    [
        ("Shift+L", "the letters are already in order"),
        ("Alt+Shift+Left", "can go no further"),
    ],
)
def test_what_changes_nothing_says_so(
    song: SongPlace, press: Callable[[str], None], keys: str, said: str
) -> None:
    press("PgDown")
    if keys.startswith("Alt"):
        song.steps.move_edge(1, 0.0)
    before, label = the_map(song), song.session.undo_label
    press(keys)
    assert song.message.startswith("Nothing changed")
    assert said in song.message
    assert the_map(song) == before
    assert song.session.undo_label == label


def test_a_bar_that_starts_there_already_is_only_fixed(song: SongPlace, press: Callable[[str], None]) -> None:
    song.song_cursor.go_to(bar_s(5))
    press("O")
    assert song.message == "Bar 5 already started here. It is now fixed (◆)."
    press("Shift+O")
    assert song.message == "Nothing changed: bar 5 already starts here and is fixed (◆)."


def test_the_bar_that_is_told_is_the_one_that_moved(song: SongPlace, press: Callable[[str], None]) -> None:
    song.song_cursor.go_to(bar_s(5) - 0.3)
    press("O")
    assert song.message.startswith("Bar 5 already started here")
    assert song.song_cursor.song_s == bar_s(5), "one stands where the bar starts"


def test_a_beat_is_added_moved_and_removed_by_key(song: SongPlace, press: Callable[[str], None]) -> None:
    before = the_map(song)
    song.song_cursor.go_to(bar_s(5) + 0.3)
    press("A")
    assert song.message == "Added a beat at 0:08.800."
    assert len(the_map(song).beats_s) == len(before.beats_s) + 1
    press("A")
    assert "already" in song.message
    for _ in range(3):
        press(".")
    assert song.song_cursor.song_s == pytest.approx(bar_s(5) + 0.315)
    assert song.message == "Moved this beat to 0:08.815."
    assert song.session.undo_label == "Move Beat"
    song.song_cursor.go_to(bar_s(5) + 0.25)
    press("M")
    assert bar_s(5) + 0.25 in the_map(song).beats_s
    press("Del")
    assert song.message == "Removed the beat at 0:08.750."
    assert the_map(song).beats_s == before.beats_s
    song.session.undo()
    song.session.undo()
    assert bar_s(5) + 0.315 in [pytest.approx(beat) for beat in the_map(song).beats_s]
    song.session.undo()
    assert bar_s(5) + 0.3 in the_map(song).beats_s, "steps of 5 ms in a row are one"
    song.session.undo()
    assert the_map(song) == before


def test_delete_in_the_table_leaves_the_beats(qtbot: QtBot, song: SongPlace) -> None:
    before = the_map(song)
    song.song_cursor.go_to(bar_s(5))
    song.table.setFocus()
    for key in (Qt.Key.Key_Delete, Qt.Key.Key_Backspace):
        qtbot.keyClick(song.table, key)
    assert the_map(song) == before


def test_a_bar_line_that_is_moved_or_removed_is_told(song: SongPlace, press: Callable[[str], None]) -> None:
    song.song_cursor.go_to(bar_s(5))
    press(",")
    assert song.message == "Bar 5 now starts at 0:08.495 and is fixed (◆)."
    press("Del")
    assert song.message == "Removed the beat at 0:08.495 and its bar line."
    assert len(the_map(song).bars_s) == 63


def test_a_beat_is_dragged_by_its_tick(qtbot: QtBot, song: SongPlace) -> None:
    canvas, port = song.canvas, song.canvas.viewport()
    song.song_cursor.go_to(bar_s(5))
    canvas.zoom_by(7)
    beat_s = bar_s(5) + BEAT_S
    row = round((canvas.rows.bars + canvas.rows.wave) / 2)

    def at(song_s: float) -> QPoint:
        return QPoint(round(canvas.scale.x(song_s)), row)

    def drag(song_s: float) -> None:
        qtbot.mousePress(port, Qt.MouseButton.LeftButton, pos=at(beat_s))
        for to in (beat_s + (song_s - beat_s) / 2, song_s):
            spot, buttons = QPointF(at(to)), Qt.MouseButton
            kind, held = QMouseEvent.Type.MouseMove, Qt.KeyboardModifier.NoModifier
            moved = QMouseEvent(
                kind, spot, port.mapToGlobal(spot), buttons.NoButton, buttons.LeftButton, held
            )
            QApplication.sendEvent(port, moved)
        qtbot.mouseRelease(port, Qt.MouseButton.LeftButton, pos=at(song_s))
        song.catch_up()

    before = the_map(song)
    qtbot.mouseClick(port, Qt.MouseButton.LeftButton, pos=at(beat_s))
    assert song.song_cursor.song_s == beat_s
    assert the_map(song) == before, "a click only goes there"
    drag(beat_s + 0.2)
    (new,) = set(the_map(song).beats_s) - set(before.beats_s)
    assert new == pytest.approx(beat_s + 0.2, abs=2 / canvas.scale.second)
    assert song.session.undo_label == "Move Beat"
    song.session.undo()
    song.catch_up()
    drag(beat_s + 5)
    (new,) = set(the_map(song).beats_s) - set(before.beats_s)
    assert beat_s < new < beat_s + BEAT_S, "no beat passes the next"
    canvas.zoom_whole()
    assert canvas.beat_at(canvas.scale.x(beat_s), row) is None, "too close to tell which is meant"
