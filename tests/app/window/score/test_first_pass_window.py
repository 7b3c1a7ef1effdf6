"""The first pass in Score: its row, locks, swaps, watching, its rules and versions."""

from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QPixmap
from pytestqt.qtbot import QtBot

from app.handoff.layout import timeline_rate
from app.model.document.cut import Lock
from app.model.document.plan import Passage
from app.model.edits import angle_edits, cut_edits
from app.model.first_pass.fixed_bars import shot_at
from app.model.first_pass.result import FirstPass
from app.model.first_pass.rules import DEFAULT, RULES, Kind, json_of_rules, rules_of_json
from app.model.first_pass.solver import solve
from app.model.on_song import on_song
from app.window.frame.main_window import MainWindow
from app.window.playing.watch_panel import NEXT_S
from app.window.score.pass_solving import KeptSolver
from app.window.score.pass_steps import PassSteps
from app.window.score.rule_words import choices_of
from app.window.score.rules_window import RulesWindow
from tests.app.window.answers import Answers
from tests.app.window.made_up import bar_s, make_shoot

KEY = Qt.Key
SHIFT = Qt.KeyboardModifier.ShiftModifier


@pytest.fixture
def steps(qtbot: QtBot, shoot_window: MainWindow) -> PassSteps:
    """Score, with the first pass on."""
    shoot_window.go(4)
    shoot_window.score.catch_up()
    canvas = shoot_window.score.canvas
    canvas.setFocus()
    qtbot.keyClick(canvas, KEY.Key_P)
    made = shoot_window.score.first_pass
    qtbot.waitUntil(lambda: made.solving.cut is not None)
    return made


def cut_of(steps: PassSteps) -> FirstPass:
    assert steps.solving.cut is not None
    return steps.solving.cut


def again(qtbot: QtBot, steps: PassSteps, act: Callable[[], object]) -> FirstPass:
    """Do something, and wait for the first pass that comes of it."""
    before = steps.solving.cut
    act()
    qtbot.waitUntil(lambda: steps.solving.cut is not None and steps.solving.cut is not before)
    return cut_of(steps)


def angle_id(window: MainWindow, name: str) -> str:
    return next(angle.id for angle in window.session.view.angles if angle.name == name)


def choose(window: MainWindow, first: int, last: int, name: str | None) -> None:
    canvas = window.score.canvas
    canvas.choose(first, None if name is None else angle_id(window, name))
    if last != first:
        canvas.choose_at_rest(last, extend=True)


def test_it_is_shown_once_it_was_asked_for_and_is_the_cut_of_the_solver(
    qtbot: QtBot, shoot_window: MainWindow
) -> None:
    shoot_window.go(4)
    shoot_window.score.catch_up()
    canvas, steps = shoot_window.score.canvas, shoot_window.score.first_pass
    assert canvas.score.systems[0].shots_y is None
    assert steps.solving.cut is None
    canvas.setFocus()
    qtbot.keyClick(canvas, KEY.Key_P)
    qtbot.waitUntil(lambda: steps.solving.cut is not None)
    view = shoot_window.session.view
    assert steps.solving.cut == solve(view, rate=timeline_rate(view))
    for system in canvas.score.systems:
        assert system.shots_y is not None
        assert system.bottom_of_shots <= system.staves[0].y
    qtbot.keyClick(canvas, KEY.Key_P)
    assert canvas.score.systems[0].shots_y is None
    assert not steps.solving.busy


def test_b_locks_the_chosen_bars_to_the_chosen_angle_and_shift_b_takes_it_away(
    qtbot: QtBot, shoot_window: MainWindow, steps: PassSteps
) -> None:
    canvas, usual = shoot_window.score.canvas, cut_of(steps)
    choose(shoot_window, 13, 16, "Drums")
    cut = again(qtbot, steps, lambda: qtbot.keyClick(canvas, KEY.Key_B))
    seen = {n: shot_at(cut, bar_s(n) + 0.5) for n in range(13, 17)}
    assert {shot.angle_id for shot in seen.values() if shot} == {angle_id(shoot_window, "Drums")}
    assert all(shot is not None and "locked" in shot.reason for shot in seen.values())
    assert shoot_window.session.undo_label == "Lock Bars"
    assert "Why: locked" in shoot_window.score.side.shot.text
    back = again(qtbot, steps, lambda: qtbot.keyClick(canvas, KEY.Key_B, SHIFT))
    assert shoot_window.session.shoot.cut.locks == ()
    assert back == usual
    assert again(qtbot, steps, shoot_window.session.undo) == cut


def test_while_it_is_watched_b_keeps_what_it_shows(
    qtbot: QtBot, shoot_window: MainWindow, steps: PassSteps
) -> None:
    choose(shoot_window, 20, 21, None)
    steps.watch(True)
    before = cut_of(steps)
    wanted = {n: shot_at(before, bar_s(n)) for n in range(9, 15)}
    choose(shoot_window, 9, 14, None)
    again(qtbot, steps, steps.lock)
    locks = shoot_window.session.shoot.cut.locks
    assert len(locks) > 1, "there is a cut in these bars"
    for n, shot in wanted.items():
        assert shot is not None
        here = [one for one in locks if one.passage.first_bar <= n <= one.passage.last_bar]
        assert [one.angle_id for one in here] == [shot.angle_id]
    shoot_window.session.undo()
    assert shoot_window.session.shoot.cut.locks == (), "one step"


def test_a_lock_that_cannot_be_met_is_told(qtbot: QtBot, shoot_window: MainWindow, steps: PassSteps) -> None:
    said: list[str] = []
    steps.told.connect(said.append)
    choose(shoot_window, 1, 4, "Drums")  # they were filmed from bar 9 on
    again(qtbot, steps, steps.lock)
    assert said == [
        "Bars 1–4 locked to Drums.",
        "Bars 1–4: locked to Drums, which cannot be used in all of it.",
    ]
    assert "! Bars 1–4: locked to Drums" in shoot_window.score.side.shot.text
    choose(shoot_window, 33, 36, "Drums")
    again(qtbot, steps, steps.lock)
    assert len(said) == 3, "what was told is not told again"


def test_q_walks_all_takes_that_can_be_used_there_and_comes_back(
    qtbot: QtBot, shoot_window: MainWindow, steps: PassSteps
) -> None:
    choose(shoot_window, 10, 10, None)
    shot, note = steps.shot, shoot_window.score.side.shot
    assert shot is not None
    every = [shot.take_id, *note.others]
    assert len(every) > 2
    canvas = shoot_window.score.canvas
    for take_id in (*every[1:], every[0]):
        cut = again(qtbot, steps, lambda: qtbot.keyClick(canvas, KEY.Key_Q))
        now = shot_at(cut, bar_s(10))
        assert now is not None
        assert now.take_id == take_id
        assert len(shoot_window.session.shoot.cut.locks) == 1
    shoot_window.session.undo()
    assert shoot_window.session.shoot.cut.locks[0].clip_id != every[0].partition("-take")[0]


def test_of_selected_bars_the_shot_of_the_first_is_told_and_swapped(
    shoot_window: MainWindow, steps: PassSteps
) -> None:
    first = next(one for one in cut_of(steps).shots if one.first_bar > 1)
    choose(shoot_window, first.first_bar, first.last_bar + 1, None)
    assert steps.shot == first
    assert f"bars {first.first_bar}–{first.last_bar}" in shoot_window.score.side.shot.text


def test_a_take_of_the_list_is_swapped_in(qtbot: QtBot, shoot_window: MainWindow, steps: PassSteps) -> None:
    choose(shoot_window, 10, 10, None)
    note = shoot_window.score.side.shot
    wanted = note.others[1]
    cut = again(
        qtbot, steps, lambda: note.list.itemClicked.emit(note.list.item(note.list.setCurrentRow(1) or 1))
    )
    now = shot_at(cut, bar_s(10))
    assert now is not None
    assert now.take_id == wanted


def test_the_pictures_follow_the_cuts_with_the_sound_of_the_song(
    qtbot: QtBot, shoot_window: MainWindow, steps: PassSteps
) -> None:
    score, player = shoot_window.score, shoot_window.player
    qtbot.keyClick(score.canvas, KEY.Key_W)
    assert player.alone
    cut = cut_of(steps)
    assert len({shot.angle_id for shot in cut.shots}) > 1
    for shot in cut.shots:
        for moment in (shot.song_start_s + 0.001, shot.song_end_s - 0.001):
            player.seek(moment)
            take = score.watch.tiles[0].take
            assert take is not None
            assert take.id == shot.take_id
    qtbot.keyClick(score.canvas, KEY.Key_P, SHIFT)
    assert not player.alone
    qtbot.keyClick(score.canvas, KEY.Key_P, SHIFT)
    assert player.alone
    shoot_window.go(2)
    assert not player.alone, "elsewhere it plays as always"
    shoot_window.go(1)
    assert player.alone, "the song's place hears the song alone"
    steps.solving.changed.emit()
    assert player.alone
    shoot_window.go(4)
    choose(shoot_window, 3, 3, "Accordion")
    assert not steps.watched, "another angle that is chosen is watched"
    assert not player.alone


def test_the_picture_after_a_cut_is_asked_for_before_the_cut(
    qtbot: QtBot, shoot_window: MainWindow, steps: PassSteps
) -> None:
    watch = shoot_window.score.watch
    before, after = cut_of(steps).shots[1:3]
    assert watch._comes_next(after.song_start_s - NEXT_S - 0.1, set()) == []
    (request,) = watch._comes_next(after.song_start_s - 0.5, {before.take_id})
    found = shoot_window.player.found(after.take_id)
    assert found is not None
    assert (request.key, request.clip_s) == (after.take_id, found[1].clip_time(after.song_start_s))
    assert watch._comes_next(after.song_start_s - 0.5, {after.take_id}) == [], "it is seen already"


def test_a_press_on_its_row_watches_it_and_the_mouse_is_told_the_reason(
    qtbot: QtBot, shoot_window: MainWindow, steps: PassSteps
) -> None:
    canvas = shoot_window.score.canvas
    steps.toggle_watched()
    assert not steps.watched
    found = canvas.score.find_bar(3)
    assert found is not None
    system, box = found
    assert system.shots_y is not None
    at = QPoint(round(box.x0) + 4, round(system.shots_y) + 4 - canvas.verticalScrollBar().value())
    qtbot.mouseClick(canvas.viewport(), Qt.MouseButton.LeftButton, pos=at)
    assert steps.watched
    assert canvas.chosen.bar == 3
    hit, shot = canvas.hit(at), steps.shot
    assert hit is not None
    assert hit.shots
    assert shot is not None
    assert shot.reason in steps.shown.told(shot)


def test_late_answers_are_dropped_and_a_changed_shoot_is_cut_again(
    qtbot: QtBot, shoot_window: MainWindow, steps: PassSteps
) -> None:
    session = shoot_window.session
    for name in ("Roaming", "Accordion", "Drums"):
        shoot, _ = angle_edits.mark_safety(session.shoot, angle_id(shoot_window, name), True)
        session.apply("Safety", (shoot, ~type(_)(0)), "test")
        shoot_window.score.catch_up()
    qtbot.waitUntil(lambda: not steps.solving.busy)
    assert steps.solving.of is session.view
    assert cut_of(steps) == solve(session.view, rate=timeline_rate(session.view))


def test_the_kept_solver_gives_what_a_new_one_gives() -> None:
    shoot, kept = make_shoot(), KeptSolver()
    angles = [angle.id for angle in shoot.angles]
    for n in range(6):
        shoot, _ = cut_edits.fix_bars(shoot, on_song(shoot).song.id, 4 * n + 1, 4 * n + 6, angles[n % 4])  # type: ignore[union-attr]
        view = on_song(shoot)
        assert kept.solve(view, None, lambda: False) == solve(
            view, locks=view.cut.locks, rate=timeline_rate(view)
        )
    assert kept.solve(on_song(shoot), None, lambda: True) is None, "what is not wanted is not worked out"


def test_a_cut_that_is_not_wanted_any_more_is_broken_off_halfway_and_the_next_is_whole() -> None:
    shoot, kept = make_shoot(), KeptSolver()
    song_id, angles = shoot.songs[0].id, [angle.id for angle in shoot.angles]
    asked = 0

    def counted() -> bool:
        nonlocal asked
        asked += 1
        return False

    def after(count: int) -> Callable[[], bool]:
        left = iter(range(count))
        return lambda: next(left, None) is None

    kept.solve(on_song(shoot), None, counted)
    assert asked > 10
    for n, stop_at in enumerate((0, 1, 2)):
        shoot, _ = cut_edits.fix_bars(shoot, song_id, 5 * n + 1, 5 * n + 4, angles[n % 4])
        view = on_song(shoot)
        assert kept.solve(view, None, after(stop_at)) is None
        expected = solve(view, locks=view.cut.locks, rate=timeline_rate(view))
        assert kept.solve(view, None, lambda: False) == expected


def test_bars_that_are_locked_again_leave_their_older_lock() -> None:
    shoot = make_shoot()
    one, other = (angle.id for angle in shoot.angles[:2])
    song_id = shoot.songs[0].id
    shoot, _ = cut_edits.fix_bars(shoot, song_id, 1, 12, one)
    shoot, _ = cut_edits.fix_bars(shoot, song_id, 5, 8, other)
    spans = [(lock.passage.first_bar, lock.passage.last_bar, lock.angle_id) for lock in shoot.cut.locks]
    assert spans == [(1, 4, one), (9, 12, one), (5, 8, other)]
    assert len({lock.id for lock in shoot.cut.locks}) == 3
    same, change = cut_edits.fix_bars(shoot, song_id, 5, 8, other)
    assert same is shoot
    assert not change
    shoot, _ = cut_edits.fix_bars(shoot, song_id, 1, 12, other)
    assert [lock.passage for lock in shoot.cut.locks] == [Passage(first_bar=1, last_bar=12)]


def rules_window(window: MainWindow, qtbot: QtBot) -> RulesWindow:
    qtbot.keyClick(
        window.score.canvas,
        KEY.Key_P,
        Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.ShiftModifier,
    )
    return window.score.findChildren(RulesWindow)[-1]


def test_the_first_change_of_a_rule_makes_a_version_and_is_cut_at_once(
    qtbot: QtBot, shoot_window: MainWindow, steps: PassSteps
) -> None:
    made = rules_window(shoot_window, qtbot)
    field = made.fields["pace"]
    at = field.findData("slow")  # type: ignore[union-attr]
    slow = again(qtbot, steps, lambda: (field.setCurrentIndex(at), field.activated.emit(at)))  # type: ignore[union-attr]
    (version,) = shoot_window.session.shoot.cut.versions
    assert [(one.name, one.value) for one in version.settings] == [("pace", "slow")]
    assert made.versions.currentText() == version.name == slow.name == "Version 1"
    made.section.setCurrentIndex(made.section.findData("C"))
    made.section.activated.emit(0)
    at = made.section_pace.findData("1-2")
    made.section_pace.setCurrentIndex(at)
    made.section_pace.activated.emit(at)
    assert ("pace C", "1-2") in {
        (one.name, one.value) for one in shoot_window.session.shoot.cut.versions[0].settings
    }
    assert made.section.currentText().endswith("(has its own)")
    made.buttons["Reset to Defaults"].click()
    assert shoot_window.session.shoot.cut.versions[0].settings == ()
    shoot_window.session.undo()
    assert len(shoot_window.session.shoot.cut.versions[0].settings) == 2
    made.close()


def test_versions_are_added_named_and_removed(
    qtbot: QtBot, shoot_window: MainWindow, steps: PassSteps, answers: Answers
) -> None:
    made = rules_window(shoot_window, qtbot)

    def names() -> list[tuple[str, int]]:
        return [(one.name, one.seed) for one in shoot_window.session.shoot.cut.versions]

    assert not made.buttons["Remove"].isEnabled()
    made.buttons["Another Version"].click()
    assert names() == [("Version 1", 0), ("Version 2", 1)]
    assert made.versions.currentText() == "Version 2"
    qtbot.waitUntil(lambda: cut_of(steps).name == "Version 2")
    answers.text = "Fast"
    made.buttons["New…"].click()
    answers.text = "version 1"
    made.buttons["Rename…"].click()
    assert "already" in made.said.text()
    made.seed.setValue(7)
    assert names() == [("Version 1", 0), ("Version 2", 1), ("Fast", 7)]
    made.versions.setCurrentIndex(0)
    made.versions.activated.emit(0)
    assert made.seed.value() == 0
    made.buttons["Remove"].click()
    assert names() == [("Version 2", 1), ("Fast", 7)]
    made.close()


def test_rules_go_to_a_file_and_come_from_one(
    qtbot: QtBot, shoot_window: MainWindow, steps: PassSteps, answers: Answers, tmp_path: Path
) -> None:
    made = rules_window(shoot_window, qtbot)
    answers.rules = tmp_path / "rules.json"
    made.buttons["Export…"].click()
    assert rules_of_json(answers.rules.read_text()) == rules_of_json(json_of_rules(DEFAULT))
    answers.rules.write_text('{"view": "never", "again bars": 3}')
    made.buttons["Import…"].click()
    assert made.fields["view"].currentText() == "Never"  # type: ignore[union-attr]
    assert made.fields["again bars"].value() == 3  # type: ignore[union-attr]
    answers.rules.write_text('{"vew": "never"}')
    made.buttons["Import…"].click()
    assert "There is no rule 'vew'" in made.said.text()
    answers.rules = tmp_path / "clip.mov"
    made.buttons["Export…"].click()
    assert "Nothing was exported" in made.said.text()
    assert not answers.rules.exists()
    made.close()


@pytest.mark.parametrize(
    "rule", [rule for rule in RULES if rule.kind is not Kind.COUNT], ids=lambda r: r.name
)
def test_every_choice_of_every_rule_can_be_read(rule) -> None:  # type: ignore[no-untyped-def]
    values = [value for value, _ in choices_of(rule, rule.default)]
    assert rule.default in values
    for value in values:
        rules_of_json(f'{{"{rule.name}": "{value}"}}')


def test_the_row_is_painted_at_every_size(qtbot: QtBot, shoot_window: MainWindow, steps: PassSteps) -> None:
    shoot, _ = cut_edits.add_lock(
        shoot_window.session.shoot,
        shoot_window.session.view.song.id,
        Passage(first_bar=1, last_bar=4),
        angle_id(shoot_window, "Drums"),
    )  # type: ignore[union-attr]
    again(qtbot, steps, lambda: shoot_window.session.apply("Lock", (shoot, _), "test"))
    canvas = shoot_window.score.canvas
    assert isinstance(shoot_window.session.shoot.cut.locks[0], Lock)
    for step in (canvas.zoom.lowest, 0, canvas.zoom.highest):
        canvas.zoom_to(step)
        system = canvas.score.systems[0]
        assert system.shots_y is not None
        on = QPixmap(canvas.viewport().size())
        canvas.viewport().render(on)
        image = on.toImage()
        y = round(system.shots_y + 4) - canvas.verticalScrollBar().value()
        colours = {image.pixelColor(x, y).name() for x in range(round(system.x0), round(system.x1))}
        assert len(colours) > 1, "shots are seen"
