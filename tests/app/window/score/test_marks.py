"""Faults and keepers: set by key, seen, changed, and what to cut to instead."""

from dataclasses import replace

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from app.model.document.marks import FaultReason, Mark, MarkKind, MarkState
from app.model.edits import mark_edits
from app.model.on_song import Clip, Take
from app.window.frame.main_window import MainWindow
from app.window.parts.key_list import KeyList
from app.window.parts.text_label import TextLabel
from app.window.score.score_canvas import ScoreCanvas
from app.window.score.score_pointer import hit_words
from tests.app.window.answers import Answers
from tests.app.window.made_up import bar_s
from tests.app.window.score.test_score import point_of

KEY = Qt.Key
SHIFT = Qt.KeyboardModifier.ShiftModifier


@pytest.fixture
def canvas(shoot_window: MainWindow) -> ScoreCanvas:
    shoot_window.go(4)
    shoot_window.score.catch_up()
    shoot_window.score.canvas.setFocus()
    return shoot_window.score.canvas


def take_in(window: MainWindow, file: str, number: int = 0) -> tuple[Clip, Take]:
    clip = next(one for one in window.session.view.clips if one.media.path.endswith(file))
    return clip, clip.takes[number]


def marks(window: MainWindow) -> tuple[Mark, ...]:
    return window.session.shoot.marks


def play_at(window: MainWindow, song_s: float) -> None:
    """The music goes on to a moment, without any clock."""
    window.player.playing = True
    window.player.song_s = song_s
    window.player.moved.emit(song_s)


def rest(window: MainWindow) -> None:
    window.player.playing = False
    window.player.changed.emit()


def with_mark(window: MainWindow, file: str, first: float, last: float, **more: object) -> Mark:
    """Mark a clip from bar to bar."""
    clip, take = take_in(window, file)
    mark = Mark(
        "", clip.id, MarkKind.FAULT, take.clip_time(bar_s(1) + (first - 1) * 2.0),
        take.clip_time(bar_s(1) + (last - 1) * 2.0),
    )  # fmt: skip
    mark = replace(mark, **more)  # type: ignore[arg-type]
    shoot = window.session.shoot
    made = replace(mark, id=f"mark-{len(shoot.marks) + 1}")
    edit = replace(shoot, marks=(*shoot.marks, made)), mark_edits.Change.MARKS
    window.session.apply("Make", edit, "test")
    window.score.catch_up()
    return made


def test_three_faults_are_marked_while_watching_once_through(
    qtbot: QtBot, shoot_window: MainWindow, canvas: ScoreCanvas
) -> None:
    clip, take = take_in(shoot_window, "C0001.mov")
    shoot_window.player.choose(take.id)
    keys = 0
    for start, end, reason in ((11.0, 12.5, KEY.Key_1), (20.25, 24.0, KEY.Key_6), (31.0, 33.0, None)):
        play_at(shoot_window, start)
        qtbot.keyClick(canvas, KEY.Key_X)
        assert "Fault from" in shoot_window.score.marks.text
        play_at(shoot_window, end)
        qtbot.keyClick(canvas, KEY.Key_X)
        keys += 2
        if reason is not None:
            qtbot.keyClick(canvas, reason)
            keys += 1
        assert shoot_window.player.playing, "nothing stops the music"
    rest(shoot_window)
    assert keys == 8
    found = [(m.clip_id, m.clip_start_s, m.clip_end_s, m.reason, m.state) for m in marks(shoot_window)]
    assert found == [
        (clip.id, pytest.approx(take.clip_time(start)), pytest.approx(take.clip_time(end)), reason, "set")
        for start, end, reason in (
            (11.0, 12.5, FaultReason.FOCUS),
            (20.25, 24.0, FaultReason.SOMEONE_IN_SHOT),
            (31.0, 33.0, FaultReason.OTHER),
        )
    ]
    for left in (2, 2, 1, 1, 0):  # a reason is a step of its own
        shoot_window.session.undo()
        assert len(marks(shoot_window)) == left


def test_a_reason_can_be_given_before_the_end_and_a_keeper_has_its_own_key(
    qtbot: QtBot, shoot_window: MainWindow, canvas: ScoreCanvas
) -> None:
    shoot_window.player.choose(take_in(shoot_window, "C0009.mov")[1].id)
    play_at(shoot_window, 40.0)
    qtbot.keyClick(canvas, KEY.Key_X)
    qtbot.keyClick(canvas, KEY.Key_3)
    play_at(shoot_window, 41.0)
    qtbot.keyClick(canvas, KEY.Key_X)
    play_at(shoot_window, 50.0)
    qtbot.keyClick(canvas, KEY.Key_Y)
    assert not shoot_window.score.marks.can_change, "a keeper has no reason of that list"
    play_at(shoot_window, 52.0)
    qtbot.keyClick(canvas, KEY.Key_Y)
    rest(shoot_window)
    assert [(mark.kind, mark.reason) for mark in marks(shoot_window)] == [
        (MarkKind.FAULT, FaultReason.BUMP),
        (MarkKind.KEEPER, FaultReason.OTHER),
    ]


def test_a_mark_ends_with_its_take_and_with_its_loop_and_can_be_dropped(
    qtbot: QtBot, shoot_window: MainWindow, canvas: ScoreCanvas
) -> None:
    _, take = take_in(shoot_window, "C0005.mov")
    shoot_window.player.choose(take.id)
    play_at(shoot_window, take.song_end_s - 1.0)
    qtbot.keyClick(canvas, KEY.Key_X)
    play_at(shoot_window, take.song_end_s + 0.3)
    assert [mark.clip_end_s for mark in marks(shoot_window)] == [pytest.approx(take.clip_end_s)]
    shoot_window.session.undo()
    shoot_window.player.choose(take.id)
    shoot_window.player.loop = (bar_s(12), bar_s(14))
    play_at(shoot_window, bar_s(13))
    qtbot.keyClick(canvas, KEY.Key_X)
    play_at(shoot_window, bar_s(12) + 0.1)
    assert [mark.clip_end_s for mark in marks(shoot_window)] == [pytest.approx(take.clip_time(bar_s(14)))]
    play_at(shoot_window, bar_s(12) + 0.5)
    qtbot.keyClick(canvas, KEY.Key_X)
    assert shoot_window.score.marks.begun is not None
    qtbot.keyClick(canvas, KEY.Key_Escape)
    assert shoot_window.score.marks.begun is None
    assert len(marks(shoot_window)) == 1
    rest(shoot_window)


def test_at_rest_a_range_of_bars_is_marked_with_one_key(
    qtbot: QtBot, shoot_window: MainWindow, canvas: ScoreCanvas
) -> None:
    clip, take = take_in(shoot_window, "C0003.mov")
    canvas.choose(20, clip.angle_id)
    canvas.choose(22, extend=True)
    qtbot.keyClick(canvas, KEY.Key_X)
    (mark,) = marks(shoot_window)
    assert (mark.clip_id, mark.kind) == (clip.id, MarkKind.FAULT)
    assert (mark.clip_start_s, mark.clip_end_s) == (
        pytest.approx(take.clip_time(bar_s(20))),
        pytest.approx(take.clip_time(bar_s(23))),
    )
    # Where the take does not run nothing is marked, and that is said.
    canvas.choose(29, clip.angle_id)
    canvas.choose(30, extend=True)
    qtbot.keyClick(canvas, KEY.Key_X)
    assert len(marks(shoot_window)) == 1
    assert "does not run here" in shoot_window.score.marks.text


def test_a_fault_is_drawn_by_hatch_and_takes_the_bar_from_the_count(
    qtbot: QtBot, shoot_window: MainWindow, canvas: ScoreCanvas
) -> None:
    plain = canvas.grab().toImage()
    mark = with_mark(shoot_window, "C0001.mov", 3, 5)
    found = canvas.score.find_bar(3)
    assert found is not None
    stave = next(s for s in found[0].staves if s.angle.name == "Singer")
    (box,) = stave.takes[0].marks
    bar_5 = canvas.score.find_bar(5)
    assert bar_5 is not None
    assert (box.mark, box.x0, box.x1) == (mark, pytest.approx(found[1].x0), pytest.approx(bar_5[1].x0))
    assert found[1].coverage.usable_depth == found[1].coverage.depth - 1
    at = QPoint(round((box.x0 + box.x1) / 2), round(stave.y + stave.height / 2))
    hit = canvas.hit(at - QPoint(0, canvas.verticalScrollBar().value()))
    assert hit is not None
    assert hit.mark == mark
    assert "✕ fault" in hit_words(hit)
    changed = canvas.grab().toImage()
    # Ink on it: dark and light pixels lie close together, which no tint of colour gives.
    column = [changed.pixelColor(at.x() + x, at.y() + 8).lightness() for x in range(-20, 20)]
    before = [plain.pixelColor(at.x() + x, at.y() + 8).lightness() for x in range(-20, 20)]
    assert max(column) - min(column) > 100 > 40 > max(before) - min(before)


def test_proposed_marks_are_drawn_and_dismissed_ones_are_not(
    qtbot: QtBot, shoot_window: MainWindow, canvas: ScoreCanvas
) -> None:
    proposed = with_mark(
        shoot_window, "C0001.mov", 3, 5, state=MarkState.PROPOSED, by="check", reason=FaultReason.FOCUS
    )
    with_mark(shoot_window, "C0001.mov", 6, 7, state=MarkState.DISMISSED, by="check")
    boxes = [box for s in canvas.score.systems[0].staves for take in s.takes for box in take.marks]
    assert [box.mark for box in boxes] == [proposed]
    qtbot.keyClick(canvas, KEY.Key_J)
    assert shoot_window.score.marks.chosen == proposed
    assert "not counted" in shoot_window.score.marks.text
    qtbot.keyClick(canvas, KEY.Key_Return)
    assert marks(shoot_window)[0].state is MarkState.SET
    shoot_window.session.undo()
    qtbot.keyClick(canvas, KEY.Key_Delete)
    assert marks(shoot_window)[0].state is MarkState.DISMISSED, "kept, so that it is not proposed again"


def test_a_mark_is_chosen_by_click_given_words_and_removed(
    qtbot: QtBot, shoot_window: MainWindow, canvas: ScoreCanvas, answers: Answers
) -> None:
    with_mark(shoot_window, "C0001.mov", 3, 5)
    QTest.mouseClick(canvas.viewport(), Qt.MouseButton.LeftButton, pos=point_of(canvas, 3, "Singer"))
    assert shoot_window.score.marks.chosen is not None
    qtbot.keyClick(canvas, KEY.Key_4)
    answers.text = "  a lamp   fell "
    qtbot.keyClick(canvas, KEY.Key_Return)
    assert not shoot_window.player.playing, "Enter is for the mark, not for playing"
    assert (marks(shoot_window)[0].reason, marks(shoot_window)[0].words) == (FaultReason.LIGHT, "a lamp fell")
    assert "light: a lamp fell" in shoot_window.score.marks.text
    qtbot.keyClick(canvas, KEY.Key_Delete)
    assert marks(shoot_window) == ()
    shoot_window.session.undo()
    assert len(marks(shoot_window)) == 1
    # Who goes elsewhere leaves the mark: the keys are those of the score again.
    QTest.mouseClick(canvas.viewport(), Qt.MouseButton.LeftButton, pos=point_of(canvas, 3, "Singer"))
    qtbot.keyClick(canvas, KEY.Key_Right)
    assert shoot_window.score.marks.chosen is None
    qtbot.keyClick(canvas, KEY.Key_Delete)
    assert len(marks(shoot_window)) == 1


def test_one_key_walks_the_marks_in_the_song_s_order(
    qtbot: QtBot, shoot_window: MainWindow, canvas: ScoreCanvas
) -> None:
    qtbot.keyClick(canvas, KEY.Key_J)
    assert "Nothing is marked yet" in shoot_window.score.marks.text
    late = with_mark(shoot_window, "C0006.mov", 40, 41)
    early = with_mark(shoot_window, "C0009.mov", 4, 6)
    seen = []
    for _ in range(3):
        qtbot.keyClick(canvas, KEY.Key_J)
        assert shoot_window.score.marks.chosen is not None
        seen.append((shoot_window.score.marks.chosen.id, canvas.chosen.bar))
    assert seen == [(early.id, 4), (late.id, 40), (early.id, 4)]
    qtbot.keyClick(canvas, KEY.Key_J, SHIFT)
    assert shoot_window.score.marks.chosen == late


def test_marks_are_set_from_the_window_of_the_pictures(
    qtbot: QtBot, shoot_window: MainWindow, canvas: ScoreCanvas
) -> None:
    score = shoot_window.score
    shoot_window.player.choose(take_in(shoot_window, "C0001.mov")[1].id)
    score.watch_slot.toggle_full()
    outside = score.watch_slot.outside
    assert outside is not None
    play_at(shoot_window, 11.0)
    qtbot.keyClick(outside, KEY.Key_X)
    note = score._notes[1]
    assert note.isVisibleTo(outside), "what is being marked is told over the pictures"
    assert "X ends it" in note.label.text()
    assert "Esc" not in note.label.text(), "it leaves the full screen"
    play_at(shoot_window, 12.0)
    qtbot.keyClick(outside, KEY.Key_X)
    qtbot.keyClick(outside, KEY.Key_2)
    assert [mark.reason for mark in marks(shoot_window)] == [FaultReason.FRAMING]
    rest(shoot_window)
    score.watch_slot.toggle_full()


def test_the_side_panel_tells_where_to_cut_away(
    qtbot: QtBot, shoot_window: MainWindow, canvas: ScoreCanvas
) -> None:
    side = shoot_window.score.side
    assert side.cut_aways.isHidden()
    with_mark(shoot_window, "C0001.mov", 10, 12)
    with_mark(shoot_window, "C0007.mov", 10, 11, kind=MarkKind.KEEPER)
    QTest.mouseClick(canvas.viewport(), Qt.MouseButton.LeftButton, pos=point_of(canvas, 10, "Singer"))
    texts = [side.cut_aways.list.item(n).text() for n in range(side.cut_aways.list.count())]
    assert [text.partition("\n")[0] for text in texts] == ["Roaming", "Accordion", "Drums", "Safety"]
    assert "★ keeper" in texts[0]
    assert "safety · all of it" in texts[-1]
    played: list[tuple[float | None, str | None]] = []
    shoot_window.player.play = lambda song_s=None, take_id=None: played.append((song_s, take_id))  # type: ignore[method-assign]
    qtbot.keyClick(canvas, KEY.Key_F)
    assert side.cut_aways.list.hasFocus()
    qtbot.keyClick(side.cut_aways.list, KEY.Key_Down)
    qtbot.keyClick(side.cut_aways.list, KEY.Key_Return)
    assert played == [(pytest.approx(bar_s(10)), take_in(shoot_window, "C0003.mov")[1].id)]
    canvas.choose(30)
    assert side.cut_aways.isHidden()
    # Bars of a take that has a fault there tell it too, without a click on the mark.
    canvas.choose(11, take_in(shoot_window, "C0001.mov")[0].angle_id)
    assert not side.cut_aways.isHidden()
    canvas.choose(11, take_in(shoot_window, "C0003.mov")[0].angle_id)
    assert side.cut_aways.isHidden()


def test_a_cut_away_stops_a_second_after_the_fault(
    qtbot: QtBot, shoot_window: MainWindow, canvas: ScoreCanvas
) -> None:
    with_mark(shoot_window, "C0001.mov", 10, 12)
    QTest.mouseClick(canvas.viewport(), Qt.MouseButton.LeftButton, pos=point_of(canvas, 10, "Singer"))
    side, player = shoot_window.score.side, shoot_window.player
    side.cut_aways.list.setFocus()
    qtbot.keyClick(side.cut_aways.list, KEY.Key_Return)
    assert player._until_s == pytest.approx(bar_s(12) + 1.0)
    player._until_s = player.song_s  # its clock need not run so far
    qtbot.waitUntil(lambda: not player.playing)
    player.play(bar_s(10))
    assert player._until_s is None, "what is played otherwise goes on"
    rest(shoot_window)


def test_the_hint_of_a_mark_goes_with_the_take_and_with_time(
    shoot_window: MainWindow, canvas: ScoreCanvas
) -> None:
    marks_here = shoot_window.score.marks
    mark = with_mark(shoot_window, "C0001.mov", 10, 12)
    shoot_window.player.choose(take_in(shoot_window, "C0001.mov")[1].id)
    marks_here.choose(mark.id)
    assert "Delete removes it" in marks_here.text
    play_at(shoot_window, bar_s(11))
    shoot_window.player.choose(take_in(shoot_window, "C0003.mov")[1].id)
    assert marks_here.text == ""
    assert marks_here.chosen == mark, "the mark itself stays chosen"
    rest(shoot_window)
    marks_here.choose(mark.id)
    assert marks_here.text
    marks_here._hint.stop()
    marks_here._hint.timeout.emit()
    assert marks_here.text == ""
    assert shoot_window.score._notes[0].isHidden()


def test_the_panel_tells_of_the_bar_that_plays(shoot_window: MainWindow, canvas: ScoreCanvas) -> None:
    canvas.choose(3)
    score = shoot_window.score
    assert score.panel.text.startswith("Bar 3")
    play_at(shoot_window, bar_s(20) + 0.5)
    assert score.panel.text.startswith("Bar 20")
    told: list[object] = []
    show = score.panel.show_bar
    score.panel.show_bar = lambda *given: (told.append(given), show(*given))  # type: ignore[method-assign,assignment]
    shoot_window.player.moved.emit(bar_s(20) + 0.7)
    assert not told, "once a bar"
    shoot_window.player.moved.emit(bar_s(21) + 0.1)
    assert len(told) == 1
    assert score.panel.text.startswith("Bar 21")
    rest(shoot_window)
    shoot_window.player.moved.emit(shoot_window.player.song_s)
    assert score.panel.text.startswith(f"Bar {canvas.chosen.bar}\n")


def test_who_watches_sees_the_keys_for_marks_first(shoot_window: MainWindow, canvas: ScoreCanvas) -> None:
    score = shoot_window.score

    def keys() -> list[str]:
        QApplication.processEvents()
        (listed,) = (one for one in score.panel.findChildren(KeyList) if not one.isHidden())
        return [label.text() for label in listed.findChildren(TextLabel)][::2]

    marking = ["X", "Y", "1–7", "J Shift+J"]
    assert keys()[-4:] == marking
    score.side.toggle_watching()
    assert keys()[:4] == marking
    score.side.toggle_watching()
    assert keys()[-4:] == marking
