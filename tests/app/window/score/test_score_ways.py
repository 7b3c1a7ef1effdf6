"""Ways about the score: zoom, ranges of bars, playing along it, and the list of the angles."""

from dataclasses import replace

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from app.model.coverage.coverage import coverage
from app.model.document.angle import Angle
from app.model.document.verdict import Verdict
from app.model.edits import shoot_edits
from app.window.frame.main_window import MainWindow
from app.window.score.score_canvas import ScoreCanvas
from app.window.session import EVERYTHING
from tests.app.documents import document
from tests.app.window.answers import Answers
from tests.app.window.made_up import bar_s
from tests.app.window.score.test_score import point_of

KEY, SHIFT = Qt.Key, Qt.KeyboardModifier.ShiftModifier


@pytest.fixture
def canvas(shoot_window: MainWindow) -> ScoreCanvas:
    shoot_window.go(4)
    shoot_window.score.catch_up()
    shoot_window.score.canvas.setFocus()
    return shoot_window.score.canvas


def angle_of(window: MainWindow, name: str) -> Angle:
    return next(angle for angle in window.session.view.angles if angle.name == name)


def test_the_whole_song_fits_on_one_screen_and_back(qtbot: QtBot, canvas: ScoreCanvas) -> None:
    usual = canvas.score.height
    assert usual > canvas.viewport().height()
    qtbot.keyClick(canvas, KEY.Key_0)
    assert canvas.step == canvas.zoom.lowest < 0
    assert canvas.score.systems[-1].bottom <= canvas.viewport().height()
    assert canvas.verticalScrollBar().maximum() == 0
    numbers = [bar.coverage.bar.number for system in canvas.score.systems for bar in system.bars]
    assert numbers == list(range(1, 65)), "every bar is there, at any size"
    qtbot.keyClick(canvas, KEY.Key_0)
    assert (canvas.step, canvas.score.height) == (0, usual)


def test_at_the_closest_a_few_bars_fill_the_width(qtbot: QtBot, canvas: ScoreCanvas) -> None:
    wide = [canvas.metrics.narrowest_bar]
    for _ in range(canvas.zoom.highest + 2):
        qtbot.keyClick(canvas, KEY.Key_Plus)
        wide.append(canvas.metrics.narrowest_bar)
    assert canvas.step == canvas.zoom.highest
    assert wide[1:-2] == sorted(set(wide[1:-2])), "each step is wider than the one before"
    assert max(len(system.bars) for system in canvas.score.systems) <= 6


@pytest.mark.parametrize("bar", [10, 33, 50])
def test_zoom_keeps_the_bar_under_the_mouse(canvas: ScoreCanvas, bar: int) -> None:
    at = point_of(canvas, bar)
    canvas.zoom_to(2, at)
    found = canvas.score.find_bar(bar)
    assert found is not None
    system, _ = found
    y = at.y() + canvas.verticalScrollBar().value()
    assert system.top <= y <= system.bottom


def test_shift_and_an_arrow_choose_a_range_that_the_panel_tells_of(
    qtbot: QtBot, canvas: ScoreCanvas, shoot_window: MainWindow
) -> None:
    canvas.choose(29, angle_of(shoot_window, "Singer").id)
    for _ in range(2):
        qtbot.keyClick(canvas, KEY.Key_Right, SHIFT)
    assert canvas.chosen.span == (29, 31)
    assert shoot_window.score.panel.moment.text().startswith("Singer · C0001, take 1 at"), "where it plays"
    text = shoot_window.score.panel.text
    assert "Bars 29–31" in text
    assert "1 to 2 takes per bar. Bars 30–31: safety only." in text
    qtbot.keyClick(canvas, KEY.Key_Escape)
    assert canvas.chosen.span is None


def test_a_drag_over_bars_chooses_them(qtbot: QtBot, canvas: ScoreCanvas) -> None:
    start = point_of(canvas, 17, "Singer")
    found = canvas.score.find_bar(18)
    assert found is not None
    end = QPoint(round((found[1].x0 + found[1].x1) / 2), start.y())
    assert found[0].top == canvas.score.find_bar(17)[0].top  # type: ignore[index]
    view = canvas.viewport()
    QTest.mousePress(view, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier, start)
    for share in (0.4, 0.7, 1.0):
        at = start + (end - start) * share
        QTest.mouseMove(view, at)
        qtbot.mouseMove(view, at)
    QTest.mouseRelease(view, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier, end)
    assert canvas.chosen.span == (17, 18)


def test_enter_plays_from_the_bar_with_the_angle_there(
    qtbot: QtBot, canvas: ScoreCanvas, shoot_window: MainWindow
) -> None:
    wanted: list[tuple[float | None, str | None]] = []
    shoot_window.player.play = lambda song_s=None, take_id=None: wanted.append((song_s, take_id))  # type: ignore[method-assign]
    canvas.choose(40, angle_of(shoot_window, "Accordion").id)
    qtbot.keyClick(canvas, KEY.Key_Return)
    take = next(
        take.id
        for clip in shoot_window.session.view.clips
        if clip.media.path.endswith("C0004.mov")
        for take in clip.takes
    )
    assert wanted == [(bar_s(40), take)]


def take_of(window: MainWindow, file: str, number: int = 0) -> str:
    clips = window.session.view.clips
    return next(clip.takes[number].id for clip in clips if clip.media.path.endswith(file))


def test_space_plays_what_was_chosen_last_be_it_while_something_played(
    qtbot: QtBot, canvas: ScoreCanvas, shoot_window: MainWindow
) -> None:
    player = shoot_window.player
    canvas.choose(40, angle_of(shoot_window, "Accordion").id)
    assert (player.song_s, player.take_id) == (bar_s(40), take_of(shoot_window, "C0004.mov"))
    assert "Accordion · C0004, take 1" in shoot_window.score.play_bar.note.text()
    qtbot.keyClick(canvas, KEY.Key_Space)
    assert player.playing
    canvas.choose(20, angle_of(shoot_window, "Drums").id)
    assert player.take_id == take_of(shoot_window, "C0006.mov"), "heard at once, where the music is"
    assert player.position() < bar_s(42)
    qtbot.keyClick(canvas, KEY.Key_Space)
    assert not player.playing
    assert (player.song_s, player.take_id) == (bar_s(20), take_of(shoot_window, "C0005.mov"))
    # What was listened to elsewhere in between is not what is played here.
    shoot_window.go(3)
    player.choose(take_of(shoot_window, "C0009.mov"))
    player.seek(3.0)
    shoot_window.go(4)
    assert (player.song_s, player.take_id) == (bar_s(20), take_of(shoot_window, "C0005.mov"))


def test_the_take_under_another_is_heard_and_shown_when_it_is_pressed(
    qtbot: QtBot, canvas: ScoreCanvas, shoot_window: MainWindow
) -> None:
    at, player = point_of(canvas, 20, "Singer"), shoot_window.player
    under = take_of(shoot_window, "C0002.mov")
    system, _ = canvas.score.find_bar(20) or pytest.fail("no bar 20")
    box = next(t for s in system.staves for t in s.takes if t.take.id == under)
    at.setY(round(box.y + box.height / 2 - canvas.verticalScrollBar().value()))
    qtbot.mouseDClick(canvas.viewport(), Qt.MouseButton.LeftButton, pos=at)
    assert player.playing
    assert player.take_id == canvas.heard_id == under
    assert "C0002, take 1 at" in shoot_window.score.panel.moment.text()
    qtbot.keyClick(canvas, KEY.Key_K)
    assert player.take_id == canvas.heard_id == take_of(shoot_window, "C0001.mov")
    player.pause()
    # A picture that is pressed is chosen in the score as well, and one stays where one is.
    player.seek(bar_s(21) + 0.5)
    player.choose(take_of(shoot_window, "C0007.mov"))
    assert canvas.chosen.angle_id == angle_of(shoot_window, "Roaming").id
    assert player.song_s == bar_s(21) + 0.5


def test_music_that_runs_past_a_take_goes_on_with_the_angle_s_next(
    canvas: ScoreCanvas, shoot_window: MainWindow
) -> None:
    player = shoot_window.player
    canvas.choose(27, angle_of(shoot_window, "Accordion").id)
    player.playing = True
    for bar, file in ((27.5, "C0003.mov"), (30, "C0004.mov"), (40, "C0004.mov"), (10, "C0003.mov")):
        player.song_s = bar_s(1) + (bar - 1) * 2.0
        player.moved.emit(player.song_s)
        assert player.take_id == canvas.heard_id == take_of(shoot_window, file), bar
    assert canvas.chosen.bar == 27
    player.playing = False


def test_a_click_in_the_overview_takes_the_music_along(
    qtbot: QtBot, canvas: ScoreCanvas, shoot_window: MainWindow
) -> None:
    strip, player = shoot_window.score.overview, shoot_window.player
    canvas.choose(10)
    player.playing = True
    at = QPoint(round(bar_s(55) / bar_s(65) * strip.width()) + 2, 30)
    qtbot.mouseClick(strip, Qt.MouseButton.LeftButton, pos=at)
    assert player.song_s == bar_s(canvas.chosen.bar or 0) > bar_s(50)
    player.song_s += 3.0
    player.playing = False
    player.changed.emit()
    assert player.song_s > bar_s(canvas.chosen.bar or 0), "a pause stays where it is"


def test_a_pause_tells_of_the_bar_it_stopped_in(canvas: ScoreCanvas, shoot_window: MainWindow) -> None:
    player, panel = shoot_window.player, shoot_window.score.panel
    canvas.choose(10)
    player.play()
    player.seek(bar_s(20) + 0.5)
    assert canvas.chosen.bar == 10
    player.pause()
    assert canvas.chosen.bar == 20
    assert panel.text.startswith("Bar 20")
    assert player.song_s == bar_s(20) + 0.5, "where it was paused, it goes on"
    # A bar chosen while it played is where one wants to be; a range that holds the moment stays chosen.
    player.play()
    canvas.choose(5)
    player.pause()
    assert (canvas.chosen.bar, player.song_s) == (5, bar_s(5))
    canvas.choose(9)
    canvas.choose(12, extend=True)
    player.play()
    player.seek(bar_s(11))
    player.pause()
    assert canvas.chosen.span == (9, 12)


def test_a_click_on_a_control_leaves_the_keyboard_with_the_score(
    qtbot: QtBot, canvas: ScoreCanvas, shoot_window: MainWindow
) -> None:
    score, player = shoot_window.score, shoot_window.player
    for control in (score.play_bar.volume, score.zoom_row.slider):
        qtbot.mouseClick(control, Qt.MouseButton.LeftButton)
    assert canvas.hasFocus()
    score.play_bar.volume.setFocus()
    qtbot.keyClick(score.play_bar.volume, KEY.Key_Space)
    assert player.playing, "a slider has no use for the space bar"
    player.pause()


def test_shift_r_loops_the_range_and_again_plays_on(
    qtbot: QtBot, canvas: ScoreCanvas, shoot_window: MainWindow
) -> None:
    canvas.choose(9)
    canvas.choose(12, extend=True)
    qtbot.keyClick(canvas, KEY.Key_R, SHIFT)
    assert shoot_window.player.loop == (bar_s(9), bar_s(13))
    assert shoot_window.player.playing
    assert bar_s(9) <= shoot_window.player.song_s < bar_s(13)
    qtbot.keyClick(canvas, KEY.Key_R, SHIFT)
    assert shoot_window.player.loop is None


def test_a_looped_range_is_named_and_escape_ends_it_with_its_loop(
    qtbot: QtBot, canvas: ScoreCanvas, shoot_window: MainWindow
) -> None:
    player, box = shoot_window.player, shoot_window.score.play_bar.loop
    canvas.choose(12)
    canvas.choose(15, extend=True)
    qtbot.keyClick(canvas, KEY.Key_R, SHIFT)
    assert box.currentText() == "Loop bars 12–15"
    player.pause()
    qtbot.keyClick(canvas, KEY.Key_Escape)
    assert (canvas.chosen.span, player.loop) == (None, None)
    assert [box.itemText(n) for n in range(box.count())] == ["No loop", "Loop bar", "Loop section"]
    named = []
    for _ in range(3):
        qtbot.keyClick(canvas, KEY.Key_R)
        named.append(box.currentText())
    assert named == ["Loop bar 15", "Loop section B", "No loop"]


def test_the_view_follows_the_music_it_shows(canvas: ScoreCanvas) -> None:
    canvas.choose(1)
    canvas.show_position(bar_s(2), follow=True)
    assert canvas.verticalScrollBar().value() == 0
    canvas.show_position(bar_s(60), follow=True)
    system, _ = canvas.score.find_bar(60) or pytest.fail("no bar 60")
    top = canvas.verticalScrollBar().value()
    assert top <= system.top < top + canvas.viewport().height()
    canvas.verticalScrollBar().setValue(0)
    canvas.show_position(bar_s(61), follow=True)
    assert canvas.verticalScrollBar().value() == 0, "who looks elsewhere is left there"


def test_h_hides_the_angle_and_its_way_back_is_told(
    qtbot: QtBot, canvas: ScoreCanvas, shoot_window: MainWindow
) -> None:
    drums = angle_of(shoot_window, "Drums").id
    canvas.choose(10, drums)
    qtbot.keyClick(canvas, KEY.Key_H)
    shoot_window.score.catch_up()
    assert "Drums" not in [part.angle.name for part in canvas.parts]
    assert "1 angle hidden" in shoot_window.score.zoom_row.summary.text()
    depth = next(
        bar.depth for s in coverage(shoot_window.session.view) for bar in s.bars if bar.bar.number == 10
    )
    qtbot.keyClick(canvas, KEY.Key_H, SHIFT)
    shoot_window.score.catch_up()
    assert "Drums" in [part.angle.name for part in canvas.parts]
    again = next(
        bar.depth for s in coverage(shoot_window.session.view) for bar in s.bars if bar.bar.number == 10
    )
    assert depth == again, "hidden angles count all the same"


def test_angles_are_listed_named_and_grouped_by_keys_alone(
    qtbot: QtBot, canvas: ScoreCanvas, shoot_window: MainWindow
) -> None:
    score = shoot_window.score
    canvas.choose(10, angle_of(shoot_window, "Singer").id)
    qtbot.keyClick(canvas, KEY.Key_A)
    assert score.angles.isVisible()
    panel = score.angles
    assert panel.selected_id() == angle_of(shoot_window, "Singer").id
    panel.name.setFocus()
    panel.name.selectAll()
    qtbot.keyClicks(panel.name, "Voice")
    qtbot.keyClick(panel.name, KEY.Key_Return)
    assert angle_of(shoot_window, "Voice").name == "Voice"
    score.catch_up()
    edit = panel.group.lineEdit()
    assert edit is not None
    edit.setFocus()
    qtbot.keyClicks(edit, "Front")
    qtbot.keyClick(edit, KEY.Key_Return)
    assert angle_of(shoot_window, "Voice").group == "Front"
    score.catch_up()
    for combo, said in ((panel.place, "Stage left"), (panel.camera, "B, 85 mm")):
        edit = combo.lineEdit()
        assert edit is not None
        edit.setFocus()
        qtbot.keyClicks(edit, said)
        qtbot.keyClick(edit, KEY.Key_Return)
        score.catch_up()
    panel.rank.setFocus()
    qtbot.keyClick(panel.rank, KEY.Key_Down)
    score.catch_up()
    voice = angle_of(shoot_window, "Voice")
    assert (voice.place, voice.camera, voice.rank) == ("Stage left", "B, 85 mm", 1)
    assert "rank 1 · in Front · Stage left · B, 85 mm" in panel.list.currentItem().text()
    for label in ("Set Rank", "Set Camera", "Set Place"):
        assert shoot_window.session.undo_label == label
        shoot_window.session.undo()
    voice = angle_of(shoot_window, "Voice")
    assert (voice.place, voice.camera, voice.rank) == ("", "", 0)
    score.catch_up()
    assert (panel.place.currentText(), panel.rank.currentIndex()) == ("", 0)
    panel.list.setFocus()
    qtbot.keyClick(panel.list, KEY.Key_A)
    assert not score.angles.isVisible()


def test_two_chosen_angles_are_merged_into_the_one_that_is_named(
    qtbot: QtBot, canvas: ScoreCanvas, shoot_window: MainWindow, answers: Answers
) -> None:
    score = shoot_window.score
    qtbot.keyClick(canvas, KEY.Key_A)
    panel = score.angles
    panel.list.clearSelection()
    panel.list.setCurrentRow(0)
    panel.list.item(1).setSelected(True)
    names = [shoot_window.session.view.angle(one).name for one in panel.selected()]
    assert len(names) == 2
    answers.one = 1
    qtbot.keyClick(panel.list, KEY.Key_M)
    left = [angle.name for angle in shoot_window.session.view.angles]
    assert names[1] in left
    assert names[0] not in left
    assert shoot_window.session.undo_label == "Merge Angles"


@pytest.mark.parametrize("answer", [None, 0, 1])
def test_the_name_of_another_angle_is_asked_about_before_anything_is_merged(
    qtbot: QtBot, canvas: ScoreCanvas, shoot_window: MainWindow, answers: Answers, answer: int | None
) -> None:
    session, panel = shoot_window.session, shoot_window.score.angles
    before, drums = session.view, angle_of(shoot_window, "Drums")
    canvas.choose(10, drums.id)
    qtbot.keyClick(canvas, KEY.Key_A)
    answers.one, answers.text = answer, "Kit"
    panel.name.setFocus()
    panel.name.setText("singer ")
    qtbot.keyClick(panel.name, KEY.Key_Return)
    assert answers.asked[0] == (
        "There is already an angle Singer, with 3 takes. Merge Drums, with 3 takes, into it?"
    )
    left = [angle.name for angle in session.view.angles]
    if answer is None:
        assert session.view == before
        assert panel.name.text() == "Drums", "what was typed does not stay as if it were the name"
    elif answer == 1:
        assert "Drums" not in left
        assert canvas.chosen.angle_id == angle_of(shoot_window, "Singer").id
        session.undo()
        assert session.view == before
    else:
        assert {"Kit", "Singer"} <= set(left)
        assert "Drums" not in left


def test_a_thin_bar_is_no_alarm_while_clips_are_still_to_be_placed(shoot_window: MainWindow) -> None:
    shoot_window.go(4)
    score = shoot_window.score
    score.catch_up()
    shoot = shoot_window.session.view
    score.canvas.choose_at_rest(next(place for part in coverage(shoot) for place in part.thin).first_bar)
    sentence = score.panel.sentence
    assert any(clip.verdict is Verdict.WAITING for clip in shoot.clips)
    assert sentence.property("role") == "ink"
    heard = tuple(
        replace(clip, verdict=Verdict.NO_SONG) if clip.verdict is Verdict.WAITING else clip
        for clip in shoot.clips
    )
    shoot_window.session.apply("Hear", (document(replace(shoot, clips=heard)), EVERYTHING), "test")
    score.catch_up()
    assert sentence.property("role") == "warm", "now that all are heard, it wants attention"


def test_the_loop_is_that_of_the_chosen_bars_where_some_are_chosen(
    qtbot: QtBot, canvas: ScoreCanvas, shoot_window: MainWindow
) -> None:
    canvas.choose_at_rest(9)
    for _ in range(3):
        qtbot.keyClick(canvas, KEY.Key_Right, Qt.KeyboardModifier.ShiftModifier)
    qtbot.keyClick(canvas, KEY.Key_R)
    assert shoot_window.player.loop == (pytest.approx(bar_s(9)), pytest.approx(bar_s(13)))
    qtbot.keyClick(canvas, KEY.Key_R)
    assert shoot_window.player.loop is None
    canvas.choose_at_rest(9)
    qtbot.keyClick(canvas, KEY.Key_R)
    assert shoot_window.player.loop == (pytest.approx(bar_s(9)), pytest.approx(bar_s(10)))


def test_where_the_song_has_no_bars_size_is_told_in_sections(
    canvas: ScoreCanvas, shoot_window: MainWindow
) -> None:
    row, session = shoot_window.score.zoom_row, shoot_window.session
    assert row.size_label.text().endswith("bars")
    song = session.view.song
    assert song is not None
    bare = shoot_edits.set_map(session.shoot, replace(song.map, bars_s=(), beats_s=()))
    session.apply("No Bars", bare, "test")
    shoot_window.score.catch_up()
    assert "section" in row.size_label.text()


def test_a_click_goes_to_the_bar_space_plays_and_a_double_click_plays_from_there(
    qtbot: QtBot, canvas: ScoreCanvas, shoot_window: MainWindow
) -> None:
    player, view, left = shoot_window.player, canvas.viewport(), Qt.MouseButton.LeftButton
    qtbot.mouseClick(view, left, pos=point_of(canvas, 20, "Singer"))
    assert not player.playing
    assert (canvas.chosen.bar, player.song_s) == (20, bar_s(20))
    qtbot.keyClick(canvas, KEY.Key_Space)
    assert player.playing
    qtbot.mouseClick(view, left, pos=point_of(canvas, 24, "Drums"))
    assert player.playing, "a click takes the music along"
    assert player.song_s == bar_s(24)
    assert player.take_id == take_of(shoot_window, "C0005.mov", 1)
    player.pause()
    wanted: list[tuple[float | None, str | None]] = []
    shoot_window.player.play = lambda *given: wanted.append(given)  # type: ignore[method-assign]
    at = point_of(canvas, 40, "Accordion")
    qtbot.mouseClick(view, left, pos=at)
    assert wanted == []
    qtbot.mouseDClick(view, left, pos=at)
    assert wanted == [(bar_s(40), take_of(shoot_window, "C0004.mov"))]


def test_a_click_before_the_bars_chooses_an_angle_and_leaves_the_music_where_it_is(
    qtbot: QtBot, canvas: ScoreCanvas, shoot_window: MainWindow
) -> None:
    player = shoot_window.player
    at = point_of(canvas, 1, "Drums")
    player.play(bar_s(1) + 0.7)
    qtbot.mouseClick(canvas.viewport(), Qt.MouseButton.LeftButton, pos=QPoint(30, at.y()))
    assert canvas.chosen.angle_id == angle_of(shoot_window, "Drums").id
    assert player.position() >= bar_s(1) + 0.7
    player.pause()
