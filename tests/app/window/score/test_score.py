"""The score: clicking, keys, pictures, and what the side panel says."""

import threading
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, Qt, QTimer
from pytestqt.qtbot import QtBot

from app.model.coverage.coverage import coverage
from app.model.document.song import LyricLine, SongMap
from app.model.edits.lyric_edits import set_lyrics
from app.model.on_song import on_song
from app.window.frame.main_window import MainWindow
from app.window.score.bar_facts import bar_facts
from app.window.score.panel_text import bar_text
from app.window.score.score_canvas import ScoreCanvas
from app.window.score.score_layout import content
from app.window.score.score_pointer import hit_words
from tests.app.window.answers import Answers
from tests.app.window.made_up import MadeUpTasks, bar_s, make_clip, make_shoot, with_clip


@pytest.fixture
def canvas(shoot_window: MainWindow) -> ScoreCanvas:
    shoot_window.go(4)
    shoot_window.score.catch_up()
    return shoot_window.score.canvas


def point_of(canvas: ScoreCanvas, bar: int, angle: str | None = None) -> QPoint:
    """The middle of a bar on the viewport, scrolled to; on the stave of an angle where one is named."""
    found = canvas.score.find_bar(bar)
    assert found is not None
    system, box = found
    y = system.top + 40.0
    if angle is not None:
        stave = next(s for s in system.staves if s.angle.name == angle)
        y = stave.y + stave.height / 2
    canvas.verticalScrollBar().setValue(round(y - canvas.viewport().height() / 2))
    return QPoint(round((box.x0 + box.x1) / 2), round(y - canvas.verticalScrollBar().value()))


def test_a_window_that_gets_small_keeps_the_chosen_bar_in_view(
    qtbot: QtBot, shoot_window: MainWindow, canvas: ScoreCanvas
) -> None:
    shoot_window.resize(1280, 1400)
    point_of(canvas, 40)
    canvas.choose(bar=40)
    found = canvas.score.find_bar(40) or pytest.fail("no bar 40")
    bar = canvas.verticalScrollBar()
    bar.setValue(round(found[0].bottom + 10 - canvas.viewport().height()))  # the last line in view
    shoot_window.resize(1280, 720)
    system, _ = canvas.score.find_bar(40) or pytest.fail("no bar 40")
    assert bar.value() <= system.top < system.bottom <= bar.value() + canvas.viewport().height()


def test_a_click_chooses_the_bar_under_it(qtbot: QtBot, canvas: ScoreCanvas) -> None:
    for bar in (8, 1, 17, 30, 64):
        at = point_of(canvas, bar)
        qtbot.mouseClick(canvas.viewport(), Qt.MouseButton.LeftButton, pos=at)
        assert canvas.chosen.bar == bar


def test_a_click_on_a_stave_chooses_its_angle_and_tells_of_the_bar(
    qtbot: QtBot, canvas: ScoreCanvas, shoot_window: MainWindow
) -> None:
    qtbot.mouseClick(canvas.viewport(), Qt.MouseButton.LeftButton, pos=point_of(canvas, 20, "Drums"))
    chosen = canvas.chosen.angle_id
    assert chosen is not None
    assert shoot_window.session.view.angle(chosen).name == "Drums"
    text = shoot_window.score.panel.text
    assert "Bar 20" in text
    assert "6 takes from 5 angles show this bar." in text
    assert "Drums: C0005, take 1" in text
    assert "Hands: C0008, take 1 · bars 18–20 · ±0.8 ms · ? in doubt · ends at 0:39.7" in text


def test_a_thin_bar_says_who_is_nearest(canvas: ScoreCanvas, shoot_window: MainWindow) -> None:
    canvas.choose(31)
    text = shoot_window.score.panel.text
    assert "Only the safety shows this bar." in text
    assert "Singer: bars 1–30 · ends at 0:59.1" in text
    assert "Accordion: bars 32–49 · starts at 1:03.1" in text
    assert "Drums: bars 33–59 · starts at 1:04.5" in text
    assert text.index("Accordion") < text.index("Drums"), "the nearest comes first"


def test_arrow_keys_go_from_bar_to_bar_and_angle_to_angle(qtbot: QtBot, canvas: ScoreCanvas) -> None:
    canvas.setFocus()
    key = Qt.Key
    for pressed, bar in (
        (key.Key_Right, 2),
        (key.Key_Left, 1),
        (key.Key_Left, 1),
        (key.Key_End, 64),
        (key.Key_Right, 64),
        (key.Key_PageUp, 53),
        (key.Key_Home, 1),
        (key.Key_PageDown, 9),
    ):
        qtbot.keyClick(canvas, pressed)
        assert canvas.chosen.bar == bar, pressed
    qtbot.keyClick(canvas, key.Key_Down)
    first = canvas.chosen.angle_id
    qtbot.keyClick(canvas, key.Key_Down)
    second = canvas.chosen.angle_id
    qtbot.keyClick(canvas, key.Key_Up)
    assert first is not None
    assert second != first
    assert canvas.chosen.angle_id == first


def test_t_goes_to_the_next_thin_place_and_around(qtbot: QtBot, canvas: ScoreCanvas) -> None:
    canvas.setFocus()
    visited = []
    for _ in range(3):
        qtbot.keyClick(canvas, Qt.Key.Key_T)
        visited.append(canvas.chosen.bar)
    assert visited == [30, 64, 30]
    qtbot.keyClick(canvas, Qt.Key.Key_T, Qt.KeyboardModifier.ShiftModifier)
    assert canvas.chosen.bar == 64


def test_a_chosen_bar_is_brought_into_view(canvas: ScoreCanvas) -> None:
    for bar in (1, 20, 45, 64, 1):
        canvas.choose(bar)
        system, _ = canvas.score.find_bar(bar) or pytest.fail("no such bar")
        top = canvas.verticalScrollBar().value()
        assert top <= system.top
        assert system.bottom <= top + canvas.viewport().height()


def test_s_keeps_the_chosen_angle_as_safety_and_undo_takes_it_back(
    qtbot: QtBot, canvas: ScoreCanvas, shoot_window: MainWindow
) -> None:
    roaming = next(a.id for a in shoot_window.session.view.angles if a.name == "Roaming")
    canvas.choose(10, roaming)
    canvas.setFocus()
    qtbot.keyClick(canvas, Qt.Key.Key_S)
    assert shoot_window.session.view.angle(roaming).safety
    assert shoot_window.session.undo_label == "Mark as Safety"
    shoot_window.session.undo()
    assert not shoot_window.session.view.angle(roaming).safety


def test_f2_renames_the_chosen_angle(
    qtbot: QtBot, canvas: ScoreCanvas, shoot_window: MainWindow, answers: Answers
) -> None:
    drums = next(a.id for a in shoot_window.session.view.angles if a.name == "Drums")
    canvas.choose(10, drums)
    canvas.setFocus()
    answers.text = "Kit"
    qtbot.keyClick(canvas, Qt.Key.Key_F2)
    assert shoot_window.session.view.angle(drums).name == "Kit"


def test_alt_arrow_moves_the_stave(qtbot: QtBot, canvas: ScoreCanvas, shoot_window: MainWindow) -> None:
    drums = next(a.id for a in shoot_window.session.view.angles if a.name == "Drums")
    canvas.choose(10, drums)
    canvas.setFocus()
    qtbot.keyClick(canvas, Qt.Key.Key_Up, Qt.KeyboardModifier.AltModifier)
    assert [a.name for a in shoot_window.session.view.angles][:3] == ["Singer", "Drums", "Accordion"]


def test_a_click_in_the_overview_scrolls_there(
    qtbot: QtBot, canvas: ScoreCanvas, shoot_window: MainWindow
) -> None:
    strip = shoot_window.score.overview
    duration = bar_s(65)
    x = round(bar_s(55) / duration * strip.width())
    qtbot.mouseClick(strip, Qt.MouseButton.LeftButton, pos=QPoint(x, 30))
    assert canvas.chosen.bar in (54, 55)
    system, _ = canvas.score.find_bar(55) or pytest.fail("no bar 55")
    top = canvas.verticalScrollBar().value()
    assert top <= system.top < top + canvas.viewport().height()


def test_pictures_arrive_while_the_window_stays_alive(
    qtbot: QtBot, shoot_window: MainWindow, tasks: MadeUpTasks
) -> None:
    """Each picture waits for a tick of the window's 10 ms timer: on its thread it would wait in vain."""
    ticked = threading.Event()
    met: list[bool] = []

    def wait_for_a_tick() -> None:
        ticked.clear()
        met.append(ticked.wait(5))

    tasks.before_picture = wait_for_a_tick
    timer = QTimer()
    timer.setInterval(10)
    timer.timeout.connect(ticked.set)
    timer.start()
    shoot_window.go(4)
    qtbot.waitUntil(lambda: len(met) >= 5, timeout=20_000)
    timer.stop()
    tasks.before_picture = lambda: None
    assert all(met)


def test_pictures_are_kept_in_the_cache_folder(
    qtbot: QtBot, canvas: ScoreCanvas, tasks: MadeUpTasks, tmp_path: Path
) -> None:
    qtbot.waitUntil(lambda: tasks.pictures_taken >= 10, timeout=20_000)
    qtbot.waitUntil(lambda: len(list((tmp_path / "pictures").glob("*.jpg"))) >= 10)


def test_without_bars_what_is_told_is_of_all_of_a_section_where_others_show_parts() -> None:
    made = on_song(make_shoot())
    assert made.song is not None
    bare = replace(made, song=replace(made.song, map=SongMap()))
    facts = bar_facts(bare, coverage(bare), 1)
    assert facts is not None
    assert facts.partly
    assert facts.sentence.endswith("all of this section.")


def test_an_angle_of_sound_alone_has_a_stave_and_does_not_count() -> None:
    bare = on_song(make_shoot())
    sound = replace(make_clip("Recorder/R1.wav", ((5, 30, False),)), frame_rate=None)
    made = on_song(with_clip(make_shoot(), sound))
    shown = content(made, coverage(made))
    assert [part.angle.name for part in shown.parts if part.sound_only] == ["Recorder"]
    depths = [[bar.depth for s in coverage(one) for bar in s.bars] for one in (bare, made)]
    assert depths[0] == depths[1]
    facts = bar_facts(made, coverage(made), 10)
    assert facts is not None
    assert "Recorder: R1, take 1 · bars 5–29 · ±0.8 ms · placed" in bar_text(facts).plain
    assert "Sound only, not counted" in [heading for heading, _ in bar_text(facts).groups]


def test_thin_words_that_were_cut_are_told_where_one_points(canvas: ScoreCanvas) -> None:
    system, bar = canvas.score.find_bar(31) or pytest.fail("no bar 31")
    canvas.scroll_to(bar.coverage.bar.start_s)
    hit = canvas.hit(QPoint(round(bar.x0 + 2), round(system.top + 4 - canvas.verticalScrollBar().value())))
    assert hit is not None
    about = hit_words(hit)
    assert about.startswith("D Verse 2 · bar 31")
    assert about.endswith("bars 30–32: safety only")


def test_the_line_that_is_sung_stands_with_its_bar() -> None:
    made = on_song(make_shoot())
    assert made.song is not None
    line = LyricLine("home again", bar_s(10) + 0.1)
    sung = replace(made, song=replace(made.song, lyrics=(line,)))
    here, there = (bar_facts(sung, coverage(sung), number) for number in (10, 11))
    assert here is not None
    assert there is not None
    assert here.place.endswith(" · “home again”")
    assert "home" not in there.place


def test_a_score_with_lyrics_is_painted(canvas: ScoreCanvas, shoot_window: MainWindow) -> None:
    blank = canvas.viewport().grab().toImage()
    lines = [LyricLine("home again", bar_s(2)), LyricLine("a line that is far too long " * 9, bar_s(3))]
    shoot_window.session.apply("Lyrics", set_lyrics(shoot_window.session.shoot, lines), "test")
    shoot_window.score.catch_up()
    assert canvas.metrics.lyrics > 0
    assert canvas.viewport().grab().toImage() != blank
