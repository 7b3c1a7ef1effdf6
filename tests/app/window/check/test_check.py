"""Check: the queue, looking without deciding, every way to decide, and what is drawn of it."""

from collections.abc import Callable
from dataclasses import replace

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from app.model.check_queue import Shown, queue
from app.model.document.decisions import Action, Decision
from app.model.document.findings import LagPoint, Rival
from app.model.document.shoot import Shoot
from app.model.document.verdict import Verdict
from app.model.edits import shoot_edits
from app.model.on_song import on_song
from app.window.check import check_words
from app.window.check.check_place import CheckPlace
from app.window.frame.main_window import MainWindow
from app.window.parts.text_label import TextLabel
from app.window.session import EVERYTHING
from tests.app.documents import document
from tests.app.window.check.driving import ALT, CTRL, FRAME_S, NONE, SHIFT, clip_of, hands, key, proved
from tests.app.window.made_proofs import MadeFit
from tests.app.window.made_up import MadeUpTasks, bar_s, make_shoot


def test_the_take_in_doubt_stands_first_then_the_rest_and_clips_without_a_take_last(
    check: CheckPlace,
) -> None:
    texts = [check.list.item(row).text() for row in range(check.list.count())]
    assert texts[0] == "C0008\n? 2 likely places · Hands"
    assert texts[-1] == "C0010\n– no take · Roaming"
    assert len(texts) == 12
    assert [fit.text() for fit in check.fits] == [
        "C Chorus, bar 18 · 0:34.500",
        "F Bridge, bar 50 · 1:38.500",
        "E Chorus, bar 38 · 1:14.500",
    ]
    assert check.page.reason.text().startswith("Two places fit")


def test_places_that_fit_as_well_come_first_and_are_those_counted(qtbot: QtBot, check: CheckPlace) -> None:
    """The keys go by what is seen, not by the order in which the engine told the places."""
    shoot = check.session.shoot
    strengths = ((10, 0.9, False), (26, 0.8, True), (34, 0.7, False), (42, 0.6, True))
    rivals = tuple(Rival(bar_s(n), strength, as_well=fits) for n, strength, fits in strengths)
    findings = tuple(
        replace(one, takes=tuple(replace(t, rivals=rivals if t.rivals else ()) for t in one.takes))
        for one in shoot.findings
    )
    check.session.apply("Make", (replace(shoot, findings=findings), EVERYTHING), "test")
    check.catch_up()
    assert [row.text().partition(" · ")[0].rpartition(" ")[2] for row in check.fits] == [
        "18",
        "26",
        "42",
        "10",
        "34",
    ]
    assert check.page.places.heading.text() == "3 likely places"
    assert check.list.item(0).text() == "C0008\n? 3 likely places · Hands"
    qtbot.wait(1)
    between = [label.text() for label in check.page.places.findChildren(TextLabel) if not label.isHidden()]
    assert between == ["3 likely places", "Other places, less likely"]
    key(check, Qt.Key.Key_3)
    assert check.examined.take is not None
    assert check.examined.take.song_start_s == bar_s(42)
    key(check, Qt.Key.Key_Right)
    assert check.page.message.text().startswith("This is a preview of place 3.")
    key(check, Qt.Key.Key_Return)
    assert hands(check).song_start_s == bar_s(42)


def test_the_queue_goes_from_the_least_sure_to_the_surest_in_frames() -> None:
    shoot = on_song(make_shoot())
    clips = []
    for n, clip in enumerate(shoot.clips):
        takes = tuple(replace(take, uncertainty_s=0.001 * (n + 1)) for take in clip.takes)
        clips.append(replace(clip, takes=takes))
    order = queue(replace(shoot, clips=tuple(clips)))
    sure = [e.unsure_frames for e in order if e.take is not None and e.take.verdict is Verdict.PLACED]
    assert sure == sorted(sure, reverse=True)


def test_confirming_a_doubt_goes_on_to_the_next_and_can_be_undone(
    shoot_window: MainWindow, check: CheckPlace
) -> None:
    before = check.session.view
    key(check, Qt.Key.Key_Return)
    take = hands(check)
    assert take.decision is Decision.CONFIRMED
    assert take.decided is not None
    assert take.decided.action is Action.CONFIRMED
    assert check.examined.entry is not None
    assert check.examined.entry.key != take.id
    shoot_window.action_table["undo"].trigger()
    check.catch_up()
    assert check.session.view == before


def test_a_rival_is_looked_at_chosen_confirmed_and_taken_back(
    qtbot: QtBot, shoot_window: MainWindow, check: CheckPlace, tasks: MadeUpTasks
) -> None:
    before = check.session.view
    proved(qtbot, check)
    key(check, Qt.Key.Key_2)
    assert check.fits[1].isChecked(), "at once: Enter may follow"
    proved(qtbot, check)
    assert check.session.view == before, "looking decides nothing"
    assert tasks.proved[-1][0].song_start_s == pytest.approx(98.5), "the proofs are those of the rival"
    assert check.action_table["confirm"].text() == "Choose This Place"
    assert shoot_window.player.found() is not None
    found = shoot_window.player.found()
    assert found is not None
    assert found[1].song_start_s == pytest.approx(98.5), "and it is heard there"
    key(check, Qt.Key.Key_Return)
    take = hands(check)
    assert (take.decision, take.song_start_s) == (Decision.BY_HAND, pytest.approx(98.5))
    assert take.decided is not None
    assert take.decided.action is Action.CHOSE_RIVAL
    shoot_window.action_table["undo"].trigger()
    check.catch_up()
    assert check.session.view == before


def test_escape_leaves_a_place_that_was_looked_at(check: CheckPlace) -> None:
    key(check, Qt.Key.Key_3)
    assert check.fits[2].isChecked()
    key(check, Qt.Key.Key_Escape)
    assert check.fits[0].isChecked()
    assert check.examined.preview is None


@pytest.mark.parametrize(
    ("which", "modifier", "by_s"),
    [
        (Qt.Key.Key_Right, NONE, FRAME_S),
        (Qt.Key.Key_Left, NONE, -FRAME_S),
        (Qt.Key.Key_Right, SHIFT, FRAME_S / 4),
        (Qt.Key.Key_Left, SHIFT, -FRAME_S / 4),
        (Qt.Key.Key_Right, ALT, 0.001),
        (Qt.Key.Key_Left, ALT, -0.001),
    ],
)
def test_arrow_keys_move_the_take(
    check: CheckPlace, which: Qt.Key, modifier: Qt.KeyboardModifier, by_s: float
) -> None:
    start = hands(check).song_start_s
    key(check, which, modifier)
    assert hands(check).song_start_s == pytest.approx(start + by_s, abs=1e-9)
    decided = hands(check).decided
    assert decided is not None
    assert decided.action is Action.MOVED


def test_moves_in_quick_succession_are_one_step(shoot_window: MainWindow, check: CheckPlace) -> None:
    before = check.session.view
    for _ in range(5):
        key(check, Qt.Key.Key_Right)
    shoot_window.action_table["undo"].trigger()
    assert check.session.view == before


def test_a_moved_take_is_looked_at_at_the_same_moment(qtbot: QtBot, check: CheckPlace) -> None:
    proved(qtbot, check)
    moment = check.examined.song_s
    frame = check.page.trio.frame
    assert check.page.strip.words.startswith("The take is 4.0 ms late")
    key(check, Qt.Key.Key_Right)
    assert check.examined.song_s == moment
    assert check.page.trio.frame == frame - 1
    assert check.page.strip.words.startswith("The take is 44.0 ms late"), (
        "at once, before it is measured again"
    )


def test_the_take_is_slid_by_the_mouse(qtbot: QtBot, check: CheckPlace) -> None:
    strip = check.page.strip
    proved(qtbot, check)
    start = hands(check).song_start_s
    middle = QPoint(strip.width() // 2, strip.height() // 3)
    by_s = 40 / (strip.width() - 2) * 0.3
    qtbot.mousePress(strip, Qt.MouseButton.LeftButton, pos=middle)
    qtbot.mouseMove(strip, middle + QPoint(40, 0))
    assert hands(check).song_start_s == start, "while it is held nothing is decided"
    late = check.page.lag_words.text().removeprefix("! The take is up to ").partition(" ms")[0]
    assert f"The take is {late} ms late" in check.page.strip.words, "and all say the same"
    qtbot.mouseRelease(strip, Qt.MouseButton.LeftButton, pos=middle + QPoint(40, 0))
    assert hands(check).song_start_s == pytest.approx(start + by_s, abs=0.0005)


def test_settling_takes_the_fit_and_says_where_there_is_none(
    qtbot: QtBot, check: CheckPlace, tasks: MadeUpTasks
) -> None:
    key(check, Qt.Key.Key_S)
    qtbot.waitUntil(lambda: check.page.message.text().startswith("No fit within half a second"))
    start = hands(check).song_start_s
    tasks.fit = MadeFit(start + 0.0123)
    key(check, Qt.Key.Key_S)
    qtbot.waitUntil(lambda: hands(check).song_start_s != start)
    take = hands(check)
    assert (take.song_start_s, take.uncertainty_s) == (start + 0.0123, 0.0005)
    assert take.decided is not None
    assert take.decided.action is Action.SETTLED
    assert check.page.message.text() == "Snapped 12.3 ms later in the song, ±0.5 ms."


def test_a_fit_that_comes_too_late_is_dropped(qtbot: QtBot, check: CheckPlace, tasks: MadeUpTasks) -> None:
    tasks.fit = MadeFit(1.0)
    check.commands.settle()
    key(check, Qt.Key.Key_Down)
    qtbot.waitUntil(lambda: not check.proving.settling)
    assert hands(check).song_start_s != 1.0


def test_work_under_way_is_stopped_by_escape(qtbot: QtBot, check: CheckPlace, tasks: MadeUpTasks) -> None:
    proved(qtbot, check)
    stopped: list[bool] = []

    def wait(stop: Callable[[], bool]) -> None:
        while not stop():
            QTest.qSleep(5)
        stopped.append(True)

    tasks.before_proofs = wait
    key(check, Qt.Key.Key_S)
    assert check.proving.settling
    key(check, Qt.Key.Key_Escape)
    qtbot.waitUntil(lambda: bool(stopped))
    assert not check.proving.settling


def test_not_this_song(check: CheckPlace) -> None:
    key(check, Qt.Key.Key_N)
    clip = clip_of(check)
    assert (clip.verdict, clip.takes) == (Verdict.NO_SONG, ())
    assert clip.decided is not None


def test_bars_and_moments_are_stepped_through(check: CheckPlace) -> None:
    bars = [bar_s(n) for n in range(18, 22)]
    assert check.examined.song_s in bars
    key(check, Qt.Key.Key_PageUp)
    key(check, Qt.Key.Key_PageUp)
    assert check.examined.song_s == pytest.approx(bar_s(18))
    key(check, Qt.Key.Key_Right, CTRL)
    assert check.examined.song_s == pytest.approx(bar_s(19))
    key(check, Qt.Key.Key_Left, CTRL)
    key(check, Qt.Key.Key_Left, CTRL)
    assert check.examined.song_s == pytest.approx(bar_s(18)), "the take has no bar before that"


def test_a_click_into_the_lag_goes_to_the_nearest_bar(qtbot: QtBot, check: CheckPlace) -> None:
    check.list.setCurrentRow(3)
    lag = check.page.lag
    qtbot.mouseClick(lag, Qt.MouseButton.LeftButton, pos=QPoint(lag.width() // 3, lag.height() // 2))
    assert check.examined.bar_s in check.view.song_map.bars_s


def test_a_silent_clip_is_placed_by_two_pins(
    qtbot: QtBot, check: CheckPlace, shoot_window: MainWindow
) -> None:
    shoot = check.session.view
    clips = tuple(replace(c, duration_s=40.0) if "C0010" in c.media.path else c for c in shoot.clips)
    check.session.apply("Make", (document(replace(shoot, clips=clips), own_ids=True), EVERYTHING), "test")
    check.catch_up()
    check.list.setCurrentRow(check.list.count() - 1)
    assert check.page.pinning
    for _ in range(3):
        key(check, Qt.Key.Key_Right)
    key(check, Qt.Key.Key_Right, CTRL)
    beats = check.view.song_map.beats_s
    assert (check.pin_page.frame, check.pin_page.song_s) == (3, beats[1])
    assert shoot_window.player.song_s == beats[1], "the space bar plays from the beat that is to be pinned"
    key(check, Qt.Key.Key_Return)
    take = clip_of(check, "C0010").takes[0]
    assert take.song_time(3 * FRAME_S) == pytest.approx(beats[1])
    assert take.decided is not None
    assert take.decided.action is Action.PINNED
    assert check.page.pinning, "the second pin comes next"
    key(check, Qt.Key.Key_Return)
    for _ in range(10):
        key(check, Qt.Key.Key_Right, SHIFT)
    for _ in range(6):
        key(check, Qt.Key.Key_PageDown)
    key(check, Qt.Key.Key_Return)
    take = clip_of(check, "C0010").takes[0]
    assert len(take.pins) == 2
    assert take.speed == pytest.approx((check.pin_page.song_s - beats[1]) / 10, abs=1e-6)
    assert "speed" in check.pin_page.pinned.text()


def test_pins_that_cannot_be_are_told(check: CheckPlace) -> None:
    key(check, Qt.Key.Key_P)
    assert check.page.pinning
    key(check, Qt.Key.Key_Return)
    key(check, Qt.Key.Key_Right)
    key(check, Qt.Key.Key_Right)
    key(check, Qt.Key.Key_Return)
    assert "less than a second apart" in check.page.message.text()


def test_a_stretch_is_marked_as_a_take_of_its_own(shoot_window: MainWindow, check: CheckPlace) -> None:
    row = next(n for n, e in enumerate(check.queue.entries) if "C0001" in e.clip.media.path)
    check.list.setCurrentRow(row)
    before = check.session.view
    old = clip_of(check, "C0001").takes[0]
    check.examining.look_at_moment(1)
    from_s = old.clip_time(check.examined.song_s)
    key(check, Qt.Key.Key_M)
    assert check.action_table["mark"].text() == "End Take Here"
    key(check, Qt.Key.Key_PageDown)
    to_s = old.clip_time(check.examined.song_s)
    key(check, Qt.Key.Key_M)
    takes = clip_of(check, "C0001").takes
    assert [(t.clip_start_s, t.clip_end_s) for t in takes] == [
        (old.clip_start_s, from_s),
        (from_s, to_s),
        (to_s, old.clip_end_s),
    ]
    assert check.examined.take == takes[1]
    shoot_window.action_table["undo"].trigger()
    assert check.session.view == before


def test_the_filter_lists_kinds_of_takes(check: CheckPlace) -> None:
    counts = {}
    for shown in Shown:
        counts[shown] = check.list.count()
        assert check.queue.shown is shown
        key(check, Qt.Key.Key_F)
    assert counts == {
        Shown.ALL: 12,
        Shown.DOUBT: 1,
        Shown.UNDECIDED: 11,
        Shown.DECIDED: 0,
        Shown.WITHOUT: 1,
    }
    assert check.queue.shown is Shown.ALL


def test_trouble_with_a_file_is_a_sentence_in_the_strip(
    qtbot: QtBot, check: CheckPlace, tasks: MadeUpTasks
) -> None:
    def fail(stop: Callable[[], bool]) -> None:
        raise OSError(5, "Input/output error", "/shoot/C0001.mov")

    proved(qtbot, check)  # what was asked before the trouble is answered
    tasks.before_proofs = fail
    check.list.setCurrentRow(2)
    qtbot.waitUntil(lambda: "Input/output error" in check.page.strip.words)


def test_where_no_lag_can_be_made_out_it_is_said(qtbot: QtBot, check: CheckPlace, tasks: MadeUpTasks) -> None:
    tasks.late_s = None
    check.list.setCurrentRow(2)
    proved(qtbot, check)
    assert check.page.strip.words == "The lag cannot be measured here."
    assert check.page.lag_words.text() == "! Song and take do not agree at any of these moments."
    assert check.page.agreement.text() == "", "and nothing that would contradict it"


def test_only_the_newest_wish_is_looked_at(qtbot: QtBot, check: CheckPlace, tasks: MadeUpTasks) -> None:
    proved(qtbot, check)
    asked = len(tasks.proved)
    for _ in range(6):
        key(check, Qt.Key.Key_Right)
    proved(qtbot, check)
    assert len(tasks.proved) - asked < 6
    assert tasks.proved[-1][0].song_start_s == pytest.approx(hands(check).song_start_s)


def test_drift_is_told_in_words_and_drawn(qtbot: QtBot, check: CheckPlace) -> None:
    shoot = check.session.view
    drifting = replace(clip_of(check, "C0001").takes[0], speed=1 - 40e-6, lags=(LagPoint(10.0, 0.001, 9.0),))
    clip = replace(clip_of(check, "C0001"), takes=(drifting,))
    clips = tuple(clip if c.id == clip.id else c for c in shoot.clips)
    check.session.apply("Make", (document(replace(shoot, clips=clips), own_ids=True), EVERYTHING), "test")
    check.catch_up()
    length = drifting.clip_end_s - drifting.clip_start_s
    by_end = 40e-6 * length * 25
    assert check_words.drift_frames(clip, drifting) == pytest.approx(by_end)
    assert check_words.news(clip, drifting, ())[0].startswith("In sync to the end (drift 0.06 frame).")
    faster = replace(drifting, speed=1 + 400e-6)
    assert check_words.news(clip, faster, ())[0] == "! Drifts 0.6 frame early by the end."
    row = next(n for n, e in enumerate(check.queue.entries) if e.clip.id == clip.id)
    check.list.setCurrentRow(row)
    assert check.page.lag_words.text().startswith("In sync to the end")
    assert not check.page.lag.grab().isNull()


def test_leaving_the_place_stops_the_work(qtbot: QtBot, shoot_window: MainWindow, check: CheckPlace) -> None:
    key(check, Qt.Key.Key_2)
    shoot_window.go(0)
    assert not check.proving.waiting
    assert not shoot_window.jobs.busy("check")


def test_an_empty_shoot_says_what_to_do(window: MainWindow) -> None:
    window.go(3)
    window.check.catch_up()
    assert not window.check.page.isVisible()
    for which in (Qt.Key.Key_Return, Qt.Key.Key_N, Qt.Key.Key_Right, Qt.Key.Key_M, Qt.Key.Key_P):
        QTest.keyClick(window.check, which)
    assert window.session.shoot == Shoot()


def test_until_a_person_picks_one_the_first_is_looked_at(window: MainWindow) -> None:
    whole = make_shoot()
    hands_ = next(clip.id for clip in whole.clips if "C0008" in clip.media.path)
    some, _ = shoot_edits.remove_clips(whole, [hands_])
    window.go(3)
    window.session.apply("Make", (some, EVERYTHING), "test")
    window.check.catch_up()
    window.session.apply("Make", (whole, EVERYTHING), "test")
    window.check.catch_up()
    assert window.check.examined.take == hands(window.check), "the doubt came first"
    window.check.list.setCurrentRow(3)
    chosen = window.check.examined.take
    window.session.apply("Make", (some, EVERYTHING), "test")
    window.check.catch_up()
    assert window.check.examined.take == chosen
