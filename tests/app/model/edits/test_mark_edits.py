"""Marks: stretches that are spoilt or to be used, set by a person or proposed by a check."""

from dataclasses import replace
from pathlib import Path

import pytest

from app.model.document.change import NOTHING, Change
from app.model.document.marks import FaultReason, Mark, MarkKind, MarkState
from app.model.document.shoot import Shoot
from app.model.document.store import from_text, to_text
from app.model.edits import mark_edits
from tests.app.documents import document
from tests.app.random_shoots import clip, shoot, take

HERE = Path("/shoot")


def filmed() -> Shoot:
    return document(
        shoot(clip(1, take("t1", 0, 8), duration_s=20.0), clip(2, take("t2", 0, 8), duration_s=20.0))
    )


def soft(start_s: float, end_s: float) -> Mark:
    """What a check of the focus proposes."""
    return Mark("", "clip-1", MarkKind.FAULT, start_s, end_s, FaultReason.FOCUS)


def test_a_mark_lies_within_its_clip_whichever_end_comes_first() -> None:
    value, change = mark_edits.add_mark(filmed(), "clip-1", MarkKind.KEEPER, 30.0, -1.0, words=" the smile ")
    [mark] = value.marks
    assert change == Change.MARKS
    assert (mark.clip_start_s, mark.clip_end_s, mark.words) == (0.0, 20.0, "the smile")
    for from_s, to_s in ((3.0, 3.0), (20.0, 25.0), (-4.0, 0.0)):
        with pytest.raises(ValueError, match="outside the clip"):
            mark_edits.add_mark(filmed(), "clip-1", MarkKind.KEEPER, from_s, to_s)
    with pytest.raises(KeyError):
        mark_edits.add_mark(filmed(), "nobody", MarkKind.KEEPER, 0.0, 1.0)


def test_a_mark_is_changed_removed_and_saved() -> None:
    value, _ = mark_edits.add_mark(filmed(), "clip-2", MarkKind.FAULT, 1.0, 2.0, FaultReason.BUMP)
    longer = replace(value.marks[0], clip_end_s=4.0)
    value, _ = mark_edits.change_mark(value, longer)
    assert value.marks == (longer,)
    assert from_text(to_text(value, HERE), HERE).marks == (longer,)
    assert mark_edits.change_mark(value, longer) == (value, NOTHING)
    for late in (replace(longer, clip_end_s=21.0), replace(longer, clip_start_s=5.0)):
        with pytest.raises(ValueError, match="outside the clip"):
            mark_edits.change_mark(value, late)
    assert mark_edits.remove_marks(value, [longer.id])[0].marks == ()
    with pytest.raises(KeyError):
        mark_edits.remove_marks(value, ["mark-9"])


def test_a_check_proposes_again_without_touching_what_people_decided() -> None:
    value, _ = mark_edits.add_mark(filmed(), "clip-1", MarkKind.KEEPER, 1.0, 2.0)
    value, _ = mark_edits.propose_marks(value, "focus", [soft(1, 3), soft(5, 7), soft(9, 12)])
    by_person, first, second, _ = value.marks
    assert [mark.state for mark in value.marks[1:]] == [MarkState.PROPOSED] * 3
    value, _ = mark_edits.accept_marks(value, [first.id])
    value, _ = mark_edits.dismiss_marks(value, [second.id])

    again, _ = mark_edits.propose_marks(value, "focus", [soft(1.2, 3), soft(5, 7.4), soft(14, 16)])
    assert again.marks[:3] == (
        by_person,
        replace(first, state=MarkState.SET),
        replace(second, state=MarkState.DISMISSED),
    )
    [new] = again.marks[3:]
    assert (new.clip_start_s, new.clip_end_s, new.by) == (14, 16, "focus")
    assert new.id not in {mark.id for mark in value.marks}

    same, change = mark_edits.propose_marks(again, "focus", [soft(14, 16)])
    assert (same, change) == (again, NOTHING)
    none, _ = mark_edits.propose_marks(again, "sharpness of another kind", [])
    assert none.marks == again.marks
