"""What lies where in the score, and what is written beside it."""

from dataclasses import replace
from typing import Any

import pytest
from PySide6.QtGui import QColor, QPainter, QPixmap

from app.model.coverage.coverage import coverage
from app.model.document.angle import Angle
from app.model.document.shoot import Shoot
from app.model.document.song import LyricLine, SongMap
from app.model.edits import shoot_edits
from app.model.on_song import SongView, on_song
from app.window.parts.theme import Theme
from app.window.score.score_boxes import ScoreLayout, Stave
from app.window.score.score_layout import content, lay_out
from app.window.score.score_metrics import Metrics
from app.window.score.score_painter import ScorePainter
from app.window.score.score_palette import ScorePalette
from tests.app.window.made_up import bar_s, make_clip, make_shoot, make_song, with_clip

WIDTHS = [480, 900, 1600, 3000]


def layout(width: float) -> ScoreLayout:
    shoot = on_song(make_shoot())
    return lay_out(content(shoot, coverage(shoot)), width, Metrics(16.0))


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
