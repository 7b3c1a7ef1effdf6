"""The plan on the score: rows of needs, words in the margin, what is still missing, and filters."""

from itertools import pairwise

import pytest
from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from app.model.coverage.coverage import coverage
from app.model.coverage.need_bars import missing_remarks, subject_bars
from app.model.coverage.needs import NeedState
from app.model.document.change import Change
from app.model.document.plan import Need, Passage
from app.model.document.song import FIRST_SONG
from app.model.edits import deciding, planning
from app.model.on_song import on_song
from app.window.frame.main_window import MainWindow
from app.window.score.score_canvas import ScoreCanvas
from app.window.score.score_layout import content, lay_out
from app.window.score.score_metrics import Metrics
from tests.app.window.answers import Answers
from tests.app.window.made_up import make_clip, make_shoot, with_clip
from tests.app.window.score.test_marks import take_in, with_mark

KEY = Qt.Key
SHIFT = Qt.KeyboardModifier.ShiftModifier


@pytest.fixture
def canvas(shoot_window: MainWindow) -> ScoreCanvas:
    shoot_window.go(4)
    shoot_window.score.catch_up()
    shoot_window.score.canvas.setFocus()
    return shoot_window.score.canvas


def ask(window: MainWindow, subject: str, first: int, last: int, **more: int) -> None:
    need = Need("", FIRST_SONG, Passage(first_bar=first, last_bar=last), subject, **more)
    window.session.apply("Ask", planning.add_need(window.session.shoot, need), "test")
    window.score.catch_up()


def rows(canvas: ScoreCanvas, bar: int) -> dict[str, list[tuple[str, int]]]:
    """For each row of needs on the line of a bar, its runs: how they stand and how many bars they have."""
    found = canvas.score.find_bar(bar)
    assert found is not None
    system, box = found
    wide = box.x1 - box.x0
    return {
        row.bars.subject: [
            (run.state.value, round((run.x1 - run.x0) / wide)) for run in system.need_runs(row)
        ]
        for row in system.need_rows
    }


def test_the_rows_tell_bar_by_bar_what_is_met_partly_met_and_missing(
    qtbot: QtBot, shoot_window: MainWindow, canvas: ScoreCanvas
) -> None:
    assert rows(canvas, 9) == {}, "no plan, no rows"
    ask(shoot_window, "drums", 9, 12)
    ask(shoot_window, "accordion", 25, 32)  # one take shows most of bar 27, the next begins in bar 32
    ask(shoot_window, "any angle", 25, 32, least_angles=4)
    assert rows(canvas, 9)["drums"] == [("met", 4)]
    assert rows(canvas, 30)["accordion"] == [("met", 3), ("unmet", 5)]
    assert rows(canvas, 30)["any angle"] == [("met", 1), ("partly", 7)]
    assert "accordion" not in rows(canvas, 9), "a line has only the rows of what is asked for in it"
    found = canvas.score.find_bar(30)
    assert found is not None
    assert found[0].remarks[1:] == [
        "accordion missing in bars 28–32",
        "more angles needed in bars 26–32",
    ]
    assert all(row.y + row.height <= found[0].staves[0].y for row in found[0].need_rows)
    qtbot.keyClick(canvas, KEY.Key_N)
    assert rows(canvas, 9) == rows(canvas, 30) == {}
    found = canvas.score.find_bar(30)
    assert found is not None
    assert len(found[0].remarks) == 3, "the margin still says it"


@pytest.mark.parametrize("width", [480, 1100, 2400])
@pytest.mark.parametrize("flows", [False, True])
def test_rows_of_needs_overlap_nothing(width: float, flows: bool) -> None:
    shoot = make_shoot()
    for n, subject in enumerate(("drums", "voice", "hands", "accordion")):
        need = Need("", FIRST_SONG, Passage(first_bar=1 + 8 * n, last_bar=40), subject)
        shoot, _ = planning.add_need(shoot, need)
    view = on_song(shoot)
    needs = subject_bars(view)
    metrics = Metrics(16.0, width, needs=len(needs), flows=flows)
    for system in lay_out(content(view, coverage(view), needs), width, metrics).systems:
        y = system.top + metrics.heading + metrics.depths
        for row in system.need_rows:
            assert row.y >= y
            y = row.y + row.height
            runs = system.need_runs(row)
            assert all(one.x1 <= other.x0 for one, other in pairwise(runs))
        assert all(stave.y >= y for stave in system.staves)


def test_the_whole_song_still_fits_on_one_screen_with_its_needs(
    qtbot: QtBot, shoot_window: MainWindow, canvas: ScoreCanvas
) -> None:
    for subject in ("drums", "accordion", "voice", "hands", "safety"):
        ask(shoot_window, subject, 1, 64)
    qtbot.keyClick(canvas, KEY.Key_0)
    assert canvas.score.systems[-1].bottom <= canvas.viewport().height()
    assert len(canvas.score.systems[0].need_rows) == 5


def test_t_stops_at_thin_places_and_at_missing_needs(
    qtbot: QtBot, shoot_window: MainWindow, canvas: ScoreCanvas
) -> None:
    thin = {place.first_bar for one in coverage(shoot_window.session.view) for place in one.thin}
    ask(shoot_window, "drums", 5, 10)  # not before bar 9; a new section begins there
    ask(shoot_window, "hands", 41, 42)
    stops = []
    for _ in range(len(thin) + 2):
        qtbot.keyClick(canvas, KEY.Key_T)
        stops.append(canvas.chosen.bar)
    assert stops == sorted({*thin, 5, 41})
    canvas.choose(5)
    assert "Drums missing." in shoot_window.score.panel.text
    canvas.choose(10, extend=True)
    assert "Drums missing in bars 5–8." in shoot_window.score.panel.text


def test_a_need_with_fewer_bars_than_its_passage_asks_for_no_more_once_it_is_met(
    shoot_window: MainWindow, canvas: ScoreCanvas
) -> None:
    ask(shoot_window, "accordion", 25, 32, least_bars=2)
    (one,) = subject_bars(shoot_window.session.view)
    assert one.states == dict.fromkeys((25, 26, 27), NeedState.MET)
    assert missing_remarks([one], 25, 32) == ()


def test_usable_only_cuts_faults_out_and_says_how_to_leave(
    qtbot: QtBot, shoot_window: MainWindow, canvas: ScoreCanvas
) -> None:
    with_mark(shoot_window, "C0001.mov", 3, 5)
    filters = shoot_window.score.filters
    assert filters.isHidden()
    qtbot.keyClick(canvas, KEY.Key_U)
    singer = next(s for s in canvas.score.systems[0].staves if s.angle.name == "Singer")
    bars = {n: box for n in (1, 3, 5) if (box := canvas.score.places[n][1])}
    assert [(t.x0, t.x1) for t in singer.takes[:2]] == [
        (pytest.approx(bars[1].x0), pytest.approx(bars[3].x0)),
        (pytest.approx(bars[5].x0), pytest.approx(singer.takes[1].x1)),
    ]
    assert len(singer.rests) == 2
    assert not filters.isHidden()
    assert "usable parts only" in filters.note.text()
    assert "Shift+U" in shoot_window.score.action_table["everything"].toolTip()
    qtbot.keyClick(canvas, KEY.Key_U, SHIFT)
    assert filters.isHidden()
    assert not canvas.shown.filtered


def test_confirmed_only_and_one_subject_leave_out_the_rest(
    qtbot: QtBot, shoot_window: MainWindow, canvas: ScoreCanvas, answers: Answers
) -> None:
    qtbot.keyClick(canvas, KEY.Key_C)
    assert canvas.parts == (), "nobody confirmed anything yet"
    _, take = take_in(shoot_window, "C0006.mov")
    edit = deciding.confirm_take(shoot_window.session.shoot, take.id, "2026-01-01T00:00:00Z")
    shoot_window.session.apply("Confirm", edit, "test")
    shoot_window.score.catch_up()
    assert [(part.angle.name, len(part.takes)) for part in canvas.parts] == [("Drums", 1)]
    qtbot.keyClick(canvas, KEY.Key_C)
    answers.one = 3
    qtbot.keyClick(canvas, KEY.Key_O)
    subject = answers.offered[3]
    assert answers.offered[0] == "All subjects"
    assert [part.angle.name for part in canvas.parts] == [subject]
    assert f"{subject} only" in shoot_window.score.filters.note.text()
    answers.one = 0
    qtbot.keyClick(canvas, KEY.Key_O)
    assert len(canvas.parts) == 6


def test_what_is_still_missing_is_listed_and_follows_a_clip_that_arrives(
    qtbot: QtBot, shoot_window: MainWindow, canvas: ScoreCanvas
) -> None:
    ask(shoot_window, "Hands", 41, 44)
    side = shoot_window.score.side
    qtbot.keyClick(canvas, KEY.Key_L)
    assert side.lists_missing
    listed = side.missing.list
    assert listed.hasFocus()
    wanted = [one for one in side.missing.passes if "Hands" in one.subjects]
    assert [(one.first_bar, one.last_bar) for one in wanted] == [(41, 44)]
    listed.setCurrentRow(side.missing.passes.index(wanted[0]))
    qtbot.keyClick(listed, KEY.Key_Return)
    assert canvas.chosen.span == (41, 44)
    # A pick-up arrives out of a watched folder, and is placed.
    shoot = with_clip(shoot_window.session.shoot, make_clip("Hands/C0020.mov", ((40, 46, False),)))
    shoot_window.session.find_out(lambda old: (shoot, Change.CLIPS | Change.TAKES), "work")
    qtbot.waitUntil(lambda: not any("Hands" in one.subjects for one in side.missing.passes))
    qtbot.keyClick(canvas, KEY.Key_L)
    assert not side.lists_missing


def test_what_is_still_missing_opens_in_large_type_from_the_score_too(
    qtbot: QtBot, shoot_window: MainWindow
) -> None:
    ask(shoot_window, "hands", 1, 64)
    score, large = shoot_window.score, shoot_window.plan.large
    shoot_window.go(shoot_window.places.index(score))
    qtbot.keyClick(score.canvas, Qt.Key.Key_L, Qt.KeyboardModifier.ShiftModifier)
    window = large.window
    assert window is not None
    assert window.isVisible()
    assert any("hands" in label.text().casefold() for label in window.labels)
    shoot_window.plan.read_aloud()
    assert large.window is window, "one window, whoever opens it"
    ask(shoot_window, "trombone", 1, 64)
    assert any("rombone" in label.text() for label in window.labels)
    window.close()
    qtbot.waitUntil(lambda: large.window is None)
