"""Undo and redo against a list of values kept by hand."""

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from app.model.document.change import NOTHING, Change
from app.model.document.history import History
from app.model.document.shoot import Shoot
from app.model.document.verdict import Verdict
from app.model.edits.angle_edits import rename_angle
from app.model.edits.shoot_edits import answer_clip
from app.model.on_song import on_song
from tests.app.documents import answer, document
from tests.app.random_shoots import clip, shoot, take


def test_a_step_goes_back_and_forth() -> None:
    history = History(Shoot("a"))
    history.push("Rename shoot", Shoot("b"), Change.NAME)
    assert (history.undo_label, history.redo_label, history.modified) == ("Rename shoot", None, True)
    assert history.undo() == Change.NAME
    assert (history.shoot.name, history.undo_label, history.modified) == ("a", None, False)
    assert history.undo() == NOTHING
    assert history.redo() == Change.NAME
    assert history.redo() == NOTHING
    assert history.shoot.name == "b"


def test_edits_of_one_drag_are_one_step() -> None:
    history = History(Shoot("a"))
    history.push("Drag", Shoot("b"), Change.NAME, "drag-1")
    history.push("Drag", Shoot("c"), Change.CLIPS, "drag-1")
    assert history.undo() == Change.NAME | Change.CLIPS
    assert history.shoot.name == "a"


def test_another_drag_is_another_step() -> None:
    history = History(Shoot("a"))
    history.push("Drag", Shoot("b"), Change.NAME, "drag-1")
    history.end_merge()
    history.push("Drag", Shoot("c"), Change.NAME, "drag-1")
    history.push("Drag", Shoot("d"), Change.NAME, "drag-2")
    history.undo()
    history.undo()
    assert history.shoot.name == "b"


def test_an_undone_drag_is_not_continued() -> None:
    history = History(Shoot("a"))
    history.push("Drag", Shoot("b"), Change.NAME, "drag-1")
    history.push("Other", Shoot("c"), Change.NAME)
    history.undo()
    history.push("Drag", Shoot("d"), Change.NAME, "drag-1")
    history.undo()
    assert history.shoot.name == "b"


def test_saving_in_a_drag_keeps_what_was_saved_within_reach() -> None:
    history = History(Shoot("a"))
    history.push("Drag", Shoot("b"), Change.NAME, "drag-1")
    history.mark_saved(history.shoot)
    history.push("Drag", Shoot("c"), Change.NAME, "drag-1")
    assert history.modified
    history.undo()
    assert not history.modified


def test_nothing_makes_no_step() -> None:
    history = History(Shoot("a"))
    history.push("Nothing", Shoot("a"), NOTHING)
    assert history.undo_label is None


def test_an_answer_outlives_the_undoing_of_what_came_before_it() -> None:
    history = History(document(shoot(clip(1, verdict=Verdict.WAITING))))
    history.push("Rename angle", *rename_angle(history.shoot, "angle-1", "Singer"))
    found = answer(clip(1, take("", 3, 9)))
    assert Change.TAKES in history.apply_everywhere(lambda value: answer_clip(value, found))
    history.undo()
    assert history.shoot.angles[0].name == "Fiddle"
    assert on_song(history.shoot).clips[0].verdict is Verdict.PLACED
    assert history.redo() == Change.ANGLES
    assert on_song(history.shoot).clips[0].takes[0].song_start_s == 3


@given(st.lists(st.sampled_from(("push", "undo", "redo")), max_size=30))
def test_any_order_of_steps_agrees_with_a_list(orders: list[str]) -> None:
    history = History(Shoot("0"))
    values, at = ["0"], 0
    for n, order in enumerate(orders, 1):
        if order == "push":
            del values[at + 1 :]
            values.append(str(n))
            at += 1
            history.push(str(n), replace(history.shoot, name=str(n)), Change.NAME)
        elif order == "undo":
            at = max(0, at - 1)
            history.undo()
        else:
            at = min(len(values) - 1, at + 1)
            history.redo()
        assert history.shoot.name == values[at]
        assert history.undo_label == (values[at] if at else None)
        assert history.redo_label == (values[at + 1] if at + 1 < len(values) else None)
        assert history.modified == (values[at] != "0")
