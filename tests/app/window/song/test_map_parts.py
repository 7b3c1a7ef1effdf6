"""What the map is drawn from: which part of the song is in view, and its loudness at every zoom."""

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtCore import QPoint, QRectF
from PySide6.QtGui import QContextMenuEvent, QImage, QPainter
from PySide6.QtWidgets import QApplication, QMenu
from pytestqt.qtbot import QtBot

from app.model.document.song import SongMap
from app.window.frame.main_window import MainWindow
from app.window.song.map_painter import MapPainter
from app.window.song.map_peaks import MapPeaks
from app.window.song.map_scale import CLOSEST_S, MapScale
from tests.app.window.made_up import bar_s


@given(st.floats(1, 900), st.floats(100, 4000), st.floats(0, 1), st.lists(st.floats(-4, 4), max_size=6))
def test_what_lies_under_the_mouse_stays_there(
    duration_s: float, width: float, share: float, steps: list[float]
) -> None:
    scale = MapScale().sized(duration_s, width)
    assert (scale.left_s, scale.right_s) == (0.0, pytest.approx(duration_s))
    x = share * scale.width
    for step in steps:
        before, scale = scale.song_s(x), scale.zoomed(scale.second * 1.5**step, x)
        assert scale.left_s >= 0
        assert scale.right_s <= duration_s * (1 + 1e-9) + 1e-6
        assert scale.right_s - scale.left_s >= min(duration_s, CLOSEST_S) * (1 - 1e-9)
        inside = scale.left_s > 0 and scale.right_s < duration_s - 1e-6
        if inside:
            assert scale.song_s(x) == pytest.approx(before, abs=1e-6)


def test_a_larger_window_shows_the_whole_song_where_it_did() -> None:
    scale = MapScale().sized(100.0, 500.0)
    assert scale.sized(100.0, 900.0).right_s == pytest.approx(100.0)
    close = scale.zoomed(50.0, 250.0)
    assert close.sized(100.0, 900.0).second == 50.0
    assert close.sized(100.0, 900.0).left_s == close.left_s


@given(
    st.lists(st.floats(0, 1), min_size=1, max_size=300),
    st.floats(0, 0.9),
    st.floats(0.05, 1),
    st.integers(1, 80),
)
def test_no_peak_is_lost_at_any_zoom(loud: list[float], start: float, length: float, count: int) -> None:
    peaks = [(-value, value) for value in loud]
    made = MapPeaks(peaks, 10.0)
    whole = made.columns(0.0, 10.0, count)
    assert len(whole) == count
    assert max(high for _, high in whole) == max(loud)
    assert made.most == max(loud)
    part = made.columns(10 * start, 10 * min(1.0, start + length), count)
    assert max((high for _, high in part), default=0.0) <= max(loud)


def test_a_song_that_cannot_be_read_has_no_columns() -> None:
    assert MapPeaks().columns(0.0, 10.0, 5) == []
    assert MapPeaks().most == 0.0


def test_the_right_button_goes_there_and_opens_a_menu(qtbot: QtBot, shoot_window: MainWindow) -> None:
    shoot_window.go(1)
    song = shoot_window.song
    song.catch_up()
    at = QPoint(round(song.canvas.scale.x(bar_s(20))), 100)
    port = song.canvas.viewport()
    asked = QContextMenuEvent(QContextMenuEvent.Reason.Mouse, at, port.mapToGlobal(at))
    QApplication.sendEvent(port, asked)
    menus = [menu for menu in song.findChildren(QMenu) if menu.isVisible()]
    assert len(menus) == 1
    names = [action.text() for action in menus[0].actions() if not action.isSeparator()]
    assert {"Bar Starts Here", "3 Beats per Bar", "Split Here", "Detect Again From Here"} <= set(names)
    assert shoot_window.player.song_s == pytest.approx(bar_s(20), abs=0.2)
    assert song.song_cursor.section == 2
    menus[0].close()


def test_the_beats_of_a_short_bar_do_not_run_into_the_next(shoot_window: MainWindow) -> None:
    """Bars of 1 and 3 beats: what is written over each ends before the next number begins."""
    shoot_window.go(1)
    canvas = shoot_window.song.canvas
    beats = tuple(n / 2 for n in range(41))
    bars = tuple(sorted({*beats[::4], *beats[1::4]}))
    drawn: list[tuple[float, float, str]] = []

    class Noted(QPainter):
        def drawText(self, place: QRectF, flags: object, text: str) -> None:
            wide = self.fontMetrics().horizontalAdvance(text)
            drawn.append((place.left(), place.left() + wide, text))

    image = QImage(2000, 200, QImage.Format.Format_RGB32)
    painter = Noted(image)
    scale = MapScale().sized(20.0, 2000.0)
    MapPainter(painter, shoot_window.theme, scale, canvas.rows).bars(SongMap(beats_s=beats, bars_s=bars), [])
    painter.end()
    texts = [text for *_, text in drawn]
    assert "3 beats" in texts
    assert "1 beats" not in texts
    for (_, end, one), (start, _, text) in pairwise(drawn):
        assert end <= start, (one, text)


def test_the_page_turns_when_the_music_leaves_it(shoot_window: MainWindow) -> None:
    shoot_window.go(1)
    shoot_window.song.catch_up()
    canvas = shoot_window.song.canvas
    canvas.show_position(0.0, follow=False)
    canvas.zoom_by(6, 0.0)
    right = canvas.scale.right_s
    canvas.show_position(right - 0.1, follow=True)
    assert canvas.scale.left_s == 0
    canvas.show_position(right + 0.1, follow=True)
    assert canvas.scale.sees(right + 0.1)
    assert canvas.scale.left_s > 0
    elsewhere = replace(canvas.scale)
    canvas.show_position(right + 0.2, follow=False)
    assert canvas.scale == elsewhere
