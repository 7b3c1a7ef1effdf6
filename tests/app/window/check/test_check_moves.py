"""Moving, pinning and going back in Check: proofs are of the take as it is, and looking decides nothing."""

from dataclasses import replace

import pytest
from PySide6.QtCore import QPoint, Qt
from pytestqt.qtbot import QtBot

from app.model.document.decisions import Decision, Pin
from app.model.edits.pins import frame_s
from app.window.check import check_words
from app.window.check.check_place import CheckPlace
from app.window.frame.main_window import MainWindow
from app.window.session import EVERYTHING
from tests.app.documents import document
from tests.app.window.check.driving import clip_of, hands, key, proved
from tests.app.window.made_up import MadeUpTasks


def test_moments_are_those_of_the_take_as_it_is_now(
    qtbot: QtBot, shoot_window: MainWindow, check: CheckPlace, tasks: MadeUpTasks
) -> None:
    shoot = check.session.view
    old = clip_of(check, "C0001")
    row = next(n for n, e in enumerate(check.queue.entries) if e.clip.id == old.id)
    check.list.setCurrentRow(row)
    proved(qtbot, check)
    shorter = replace(old.takes[0], clip_end_s=22.0, speed=1.1)
    clips = tuple(replace(c, takes=(shorter,)) if c.id == old.id else c for c in shoot.clips)
    check.session.apply("Pin", (document(replace(shoot, clips=clips), own_ids=True), EVERYTHING), "test")
    check.catch_up()
    for take in (shorter, old.takes[0]):
        proved(qtbot, check)
        placed, moments = tasks.proved[-1]
        assert (placed.clip_end_s, placed.speed) == (take.clip_end_s, take.speed)
        assert min(moments) >= take.clip_start_s
        assert max(moments) <= take.clip_end_s + 1e-9
        assert max(moments) > take.clip_end_s - 4.0, "the last moment is the end of it"
        shoot_window.action_table["undo"].trigger()


def test_a_nudge_leaves_no_moment_outside_the_take(qtbot: QtBot, check: CheckPlace) -> None:
    proved(qtbot, check)
    for _ in range(2):
        key(check, Qt.Key.Key_Right)
    assert check.examined.moments[0] >= hands(check).song_start_s


def test_nothing_moves_while_a_place_is_only_looked_at(
    qtbot: QtBot, check: CheckPlace, tasks: MadeUpTasks
) -> None:
    before = check.session.view
    key(check, Qt.Key.Key_2)
    check.page.layout().activate()
    strip = check.page.strip.mapTo(check, QPoint())
    key(check, Qt.Key.Key_Right)
    check.page.layout().activate()
    assert check.page.strip.mapTo(check, QPoint()) == strip, "what is said moves nothing"
    check.page.strip.slid.emit(0.02)
    key(check, Qt.Key.Key_S)
    assert check.session.view == before
    assert not check.proving.settling
    assert check.page.message.text().startswith("This is a preview of place 2. Press Enter to choose it")
    key(check, Qt.Key.Key_Return)
    key(check, Qt.Key.Key_Up)
    key(check, Qt.Key.Key_Right)
    assert hands(check).song_start_s == pytest.approx(98.5 + 0.04), "chosen, it moves"


def test_the_computed_place_is_offered_after_a_move(check: CheckPlace) -> None:
    old = hands(check).song_start_s
    key(check, Qt.Key.Key_Right)
    assert "found automatically" in check.fits[1].accessibleName()
    assert check.page.lag_words.text().endswith("Placed by hand.")
    key(check, Qt.Key.Key_2)
    assert check.page.lag_words.text().startswith("If this is the place, "), "it was not placed there by hand"
    key(check, Qt.Key.Key_Return)
    assert (hands(check).song_start_s, hands(check).decision) == (old, Decision.CONFIRMED)


def test_frames_are_shown_while_they_are_pinned(check: CheckPlace) -> None:
    key(check, Qt.Key.Key_W)
    assert check.page.watching
    check.list.setCurrentRow(check.list.count() - 1)
    assert check.page.pinning
    assert check.page.trio.isVisible()
    assert check.page.trio.clip == clip_of(check, "C0010")
    assert not check.action_table["watch"].isEnabled()
    check.list.setCurrentRow(0)
    assert check.page.watching, "and watched again after that"
    key(check, Qt.Key.Key_N)
    key(check, Qt.Key.Key_Up)
    assert check.page.trio.isVisible(), "nor is another take watched beside a refused one"


def test_pins_that_give_an_odd_speed_are_warned_of(check: CheckPlace) -> None:
    clip = clip_of(check)
    beats = check.view.song_map.beats_s
    one = Pin(1.0, beats[3])
    for speed, odd in ((1.0, False), (0.96, False), (0.741, True)):
        pins = (one, Pin(21.0, beats[3] + 20.0 * speed + frame_s(clip) / 2))
        assert bool(check_words.odd_speed(clip, pins)) is odd
    key(check, Qt.Key.Key_P)
    check.pin_page.show_clip(clip, replace(clip.takes[0], pins=pins), check.session.view.song)
    assert check.pin_page.warning.isVisible()
    assert "is one of them off by a beat?" in check.pin_page.warning.text()


def test_of_a_silent_clip_the_song_and_the_frames_are_shown(
    qtbot: QtBot, check: CheckPlace, tasks: MadeUpTasks
) -> None:
    tasks.silent = True
    check.list.setCurrentRow(2)
    proved(qtbot, check)
    assert check.page.strip.words == "The clip has no sound here."
    assert check.page.lag_words.text().startswith("No sound to compare")
    assert check.page.cells[0].accessibleName().endswith("no sound")
    check.page.strip.grab()
    frame = check.examined.take.clip_time(check.examined.song_s) * 25 if check.examined.take else 0.0
    asked: list[int] = []
    check.page.trio.pictures.frame = lambda clip, number, *_: asked.append(number)  # type: ignore[method-assign]
    check.page.strip.grab()
    assert int(frame + 1e-6) in asked, "with its neighbours"
    assert len(asked) > 2
