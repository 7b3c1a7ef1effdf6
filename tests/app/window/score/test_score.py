"""The score: what lies where, clicking, keys, and what the side panel says."""

import threading
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtCore import QPoint, Qt, QTimer
from PySide6.QtGui import QColor, QPainter, QPixmap
from pytestqt.qtbot import QtBot

from app.model.coverage.coverage import coverage
from app.model.document.angle import Angle
from app.model.document.shoot import Shoot
from app.model.document.song import LyricLine, SongMap
from app.model.edits import shoot_edits
from app.model.edits.lyric_edits import set_lyrics
from app.model.on_song import SongView, on_song
from app.window.frame.main_window import MainWindow
from app.window.parts.theme import Theme
from app.window.score.bar_facts import bar_facts
from app.window.score.panel_text import bar_text
from app.window.score.score_boxes import ScoreLayout, Stave
from app.window.score.score_canvas import ScoreCanvas
from app.window.score.score_layout import content, lay_out
from app.window.score.score_metrics import Metrics
from app.window.score.score_painter import ScorePainter
from app.window.score.score_palette import ScorePalette
from app.window.score.score_pointer import hit_words
from tests.app.window.answers import Answers
from tests.app.window.made_up import MadeUpTasks, bar_s, make_clip, make_shoot, make_song, with_clip

WIDTHS = [480, 900, 1600, 3000]


def layout(width: float) -> ScoreLayout:
    shoot = on_song(make_shoot())
    return lay_out(content(shoot, coverage(shoot)), width, Metrics(16.0))


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


@pytest.mark.parametrize("width", WIDTHS)
def test_every_bar_is_there_once_in_order_and_within_the_width(width: float) -> None:
    score = layout(width)
    numbers = [bar.coverage.bar.number for system in score.systems for bar in system.bars]
    assert numbers == list(range(1, 65))
    for system in score.systems:
        for left, right in zip(system.bars, system.bars[1:], strict=False):
            assert left.x1 == pytest.approx(right.x0)
        assert system.x1 <= width
        assert system.bars[-1].x1 == pytest.approx(system.x1)


@pytest.mark.parametrize("width", WIDTHS)
def test_bars_keep_room_for_their_figures(width: float) -> None:
    narrowest = Metrics(16.0).narrowest_bar
    assert all(bar.x1 - bar.x0 >= narrowest for s in layout(width).systems for bar in s.bars)


@pytest.mark.parametrize("width", WIDTHS)
def test_nothing_overlaps(width: float) -> None:
    score = layout(width)
    below = right = 0.0
    for system in score.systems:
        assert system.top >= below if system.leads else system.x0 > right
        below, right = system.bottom if system.leads else below, system.x1
        y = system.top
        for stave in system.staves:
            assert stave.y >= y
            y = stave.y + stave.height
            assert all(t.y >= stave.y and t.y + t.height <= y + 0.01 for t in stave.takes)
        assert y <= system.bottom
    assert score.height >= max(system.bottom for system in score.systems)


@pytest.mark.parametrize("width", [1100, 1900, 2400])
@pytest.mark.parametrize("bar", [3.4, 5.0, 9.0])
def test_lines_use_the_width_of_the_paper(width: float, bar: float) -> None:
    """At any size in which sections do not flow: on wide paper some share a line, others are stretched."""
    shoot = on_song(make_shoot())
    metrics = Metrics(16.0, width, bar=bar * 16.0)
    systems = lay_out(content(shoot, coverage(shoot)), width, metrics).systems
    ends: dict[float, float] = {}
    for system in systems:
        ends[system.top] = system.x1
    assert min(list(ends.values())[:-1]) >= 0.97 * (width - metrics.margin)
    roomy = 16 * 1.5 * metrics.narrowest_bar + metrics.beside
    shared = systems[0].top == next(one for one in systems if one.section.letter == "B").top
    assert shared == (roomy <= width - 2 * metrics.margin - metrics.label), "two sections of eight bars each"


def test_the_margin_says_which_figures_are_bars_and_which_are_takes(theme: Theme) -> None:
    """Numbers stand in a row above the figures, and each row is named before the first bar of the line."""
    drawn: list[tuple[str, float, float]] = []
    palette = ScorePalette(theme, 1.0)
    plain = palette.draw

    def noting(p: QPainter, place: tuple[float, float, float, float], text: str, *a: Any, **b: Any) -> float:
        drawn.append((text, place[0], place[1]))
        return plain(p, place, text, *a, **b)

    palette.draw = noting  # type: ignore[method-assign]
    shoot = on_song(make_shoot())
    assert shoot.song is not None
    metrics = Metrics(16.0, 900)
    system = lay_out(content(shoot, coverage(shoot)), 900, metrics).systems[0]
    picture = QPixmap(900, 500)
    p = QPainter(picture)
    ScorePainter(p, palette, metrics, None, shoot.song.map).line([replace(system, make_staves=lambda _: ())])  # type: ignore[arg-type]
    p.end()
    row = {text: (x, y) for text, x, y in drawn if text in ("bar", "takes")}
    assert row["bar"][1] < row["takes"][1]
    assert row["bar"][0] == row["takes"][0] < system.x0
    numbers = [text for text, _, y in drawn if y == row["bar"][1] and text != "bar"]
    figures = [text for text, _, y in drawn if y == row["takes"][1] and text != "takes"]
    assert numbers == [str(box.coverage.bar.number) for box in system.bars]
    assert figures == [str(box.coverage.depth) for box in system.bars]


def test_the_safety_is_the_last_stave_of_each_system() -> None:
    for system in layout(900).systems:
        assert [s.angle.safety for s in system.staves] == [False] * (len(system.staves) - 1) + [True]


def test_a_take_begins_where_it_begins_not_at_the_bar_line() -> None:
    score = layout(1600)
    system, bar = score.find_bar(32) or pytest.fail("no bar 32")
    stave = next(s for s in system.staves if s.angle.name == "Accordion")
    box = next(t for t in stave.takes if t.begins)
    # The take begins 0.3 bars after bar 32 does (see made_up).
    assert (box.x0 - bar.x0) / (bar.x1 - bar.x0) == pytest.approx(0.3, abs=0.01)
    assert system.song_s(box.x0) == pytest.approx(bar_s(32) + 0.6)


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


def test_rests_are_the_bars_without_anything() -> None:
    system, _ = layout(1600).find_bar(25) or pytest.fail("no bar 25")
    accordion = next(s for s in system.staves if s.angle.name == "Accordion")
    rests = [
        bar.coverage.bar.number
        for bar in system.bars
        if any(abs(x0 - bar.x0) < 0.01 for x0, _ in accordion.rests)
    ]
    assert rests == [28, 29, 30, 31]


def test_takes_of_one_angle_over_the_same_bars_lie_below_each_other() -> None:
    system, _ = layout(1600).find_bar(20) or pytest.fail("no bar 20")
    singer = next(s for s in system.staves if s.angle.name == "Singer")
    assert len(singer.takes) == 2
    first, second = sorted(singer.takes, key=lambda t: t.y)
    assert not first.slim
    assert second.slim
    assert second.y >= first.y + first.height


@pytest.mark.parametrize("bar", [1, 8, 17, 30, 64])
def test_a_click_chooses_the_bar_under_it(qtbot: QtBot, canvas: ScoreCanvas, bar: int) -> None:
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


@pytest.mark.parametrize("bar", [1, 20, 45, 64])
def test_a_chosen_bar_is_brought_into_view(canvas: ScoreCanvas, bar: int) -> None:
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


def test_a_song_without_bars_is_laid_out_by_its_sections() -> None:
    shoot = on_song(make_shoot())
    assert shoot.song is not None
    bare = replace(shoot, song=replace(shoot.song, map=replace(shoot.song.map, bars_s=(), beats_s=())))
    score = lay_out(content(bare, coverage(bare)), 1000, Metrics(16.0, 1000))
    assert [len(system.bars) for system in score.systems] == [1] * 8
    assert {round(system.x1) for system in score.systems} == {round(1000 - Metrics(16.0, 1000).margin)}


def test_a_lone_bar_is_not_stretched_and_shares_a_line_where_there_is_room() -> None:
    shoot = on_song(make_shoot())
    assert shoot.song is not None
    last = shoot.song.map.sections[-1]
    sections = (
        *shoot.song.map.sections[:-1],
        replace(last, end_s=bar_s(64)),
        replace(last, letter="I", name="End", start_s=bar_s(64)),
    )
    song = replace(shoot.song, map=replace(shoot.song.map, sections=sections))
    changed = replace(shoot, song=song)
    for width in WIDTHS:
        metrics = Metrics(16.0, width)
        *_, before, alone = lay_out(content(changed, coverage(changed)), width, metrics).systems
        assert [len(before.bars), len(alone.bars)] == [3, 1]
        shared = before.top == alone.top
        assert shared == (4 * metrics.narrowest_bar + 2 * metrics.margin + metrics.label < width)
        assert alone.leads == (not shared)
        wide = [bar.x1 - bar.x0 for system in (before, alone) for bar in system.bars]
        assert max(wide) <= 2.5 * min(wide)


@pytest.mark.parametrize("width", WIDTHS)
def test_a_take_keeps_its_line_in_all_systems(width: float) -> None:
    """The second is the longer one in some systems, and in the last it stands alone."""
    document_, _ = shoot_edits.set_song(Shoot(), make_song())
    for clip in (make_clip("Wide/1.mov", ((1, 50, False),)), make_clip("Wide/2.mov", ((20, 64, False),))):
        document_ = with_clip(document_, clip)
    made = on_song(document_)
    seen: dict[str, set[int]] = {}
    for system in lay_out(content(made, coverage(made)), width, Metrics(16.0)).systems:
        (stave,) = system.staves
        boxes = {t.clip.media.path[-5]: t for t in stave.takes}
        if len(boxes) == 2:
            assert boxes["2"].y >= boxes["1"].y + boxes["1"].height
        for name, box in boxes.items():
            seen.setdefault(name, set()).add(system.bars[0].coverage.bar.number)
            assert stave.y <= box.y
            assert box.y + box.height <= stave.y + stave.height
            assert box.slim == (name == "2" and "1" in boxes), "what stands alone gets the pictures"
    assert len(seen["1"]) > 1 < len(seen["2"])


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


def test_a_shoot_without_song_has_no_systems() -> None:
    empty = SongView()
    assert lay_out(content(empty, coverage(empty)), 1000, Metrics(16.0)).systems == ()


def test_words_stand_where_they_belong_on_a_screen_of_one_and_a_half_pixels(theme: Theme) -> None:
    """Angle names after hatched rests: at their places there is ink, on the paper beside them none."""
    ink = ScorePalette(theme, 1.5)
    picture = QPixmap(150, 90)
    picture.setDevicePixelRatio(1.5)
    picture.fill(theme.colour("paper"))
    p = QPainter(picture)
    painter = ScorePainter(p, ink, Metrics(16.0), None, SongMap())  # type: ignore[arg-type]
    painter.rests(Stave(Angle("a", "Singer"), 0, 0.0, 20.0, (), ((60.0, 95.0),)))
    ink.draw(p, (20, 40, 0, 16), "M", 1.0, QColor("black"))
    p.end()
    shown = picture.toImage()
    dark = [
        (x / 1.5, y / 1.5)
        for x in range(150)
        for y in range(36, 90)
        if shown.pixelColor(x, y).lightness() < 60
    ]
    assert dark
    assert all(20 <= x < 36 and 40 <= y < 56 for x, y in dark)


def test_low_staves_keep_the_names_of_their_angles_in_smaller_letters(theme: Theme) -> None:
    """The whole song on a small screen with large text: colour alone would not tell the angles."""
    low = Metrics(21.0, 640.0, take=8.0, name=120.0, flows=True)
    assert low.names
    assert 0.4 < low.name_size < 0.7
    assert low.label < Metrics(21.0, 640.0, name=120.0).label
    assert not Metrics(21.0, 640.0, take=3.0).names


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


def test_lyrics_have_a_row_above_the_staves_each_line_at_its_bar() -> None:
    made = on_song(make_shoot())
    assert made.song is not None
    lines = (LyricLine("home again", bar_s(10) + 0.1), LyricLine("at six", bar_s(12)))
    sung = replace(made, song=replace(made.song, lyrics=lines))
    bare, with_words = Metrics(16.0), Metrics(16.0, sung=True)
    without = lay_out(content(made, coverage(made)), 1000, bare)
    laid = lay_out(content(sung, coverage(sung)), 1000, with_words)
    places = [
        (box.coverage.bar.number, text)
        for system in laid.systems
        for x, text in system.lyrics
        for box in system.bars
        if box.x0 == x
    ]
    assert places == [(10, "home again"), (12, "at six")]
    assert not any(system.lyrics for system in without.systems)
    low, high = (one.systems[0].staves[0].y - one.systems[0].top for one in (laid, without))
    assert low - high == with_words.lyrics > bare.lyrics == 0
    assert replace(with_words, flows=True).lyrics == 0, "a small score has none"


def test_a_score_with_lyrics_is_painted(canvas: ScoreCanvas, shoot_window: MainWindow) -> None:
    blank = canvas.viewport().grab().toImage()
    lines = [LyricLine("home again", bar_s(2)), LyricLine("a line that is far too long " * 9, bar_s(3))]
    shoot_window.session.apply("Lyrics", set_lyrics(shoot_window.session.shoot, lines), "test")
    shoot_window.score.catch_up()
    assert canvas.metrics.lyrics > 0
    assert canvas.viewport().grab().toImage() != blank
