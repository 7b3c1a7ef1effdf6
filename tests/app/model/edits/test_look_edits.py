"""What pictures tell comes into the shoot as findings, and goes with the file that it was seen in."""

from dataclasses import replace
from pathlib import Path

import pytest

from app.model.document.change import NOTHING, Change
from app.model.document.decisions import Reference
from app.model.document.history import History
from app.model.document.looks import Look, Match, Measure
from app.model.document.marks import FaultReason, MarkKind, MarkState
from app.model.document.media_ref import MediaRef
from app.model.document.shoot import Shoot
from app.model.document.store import from_text, to_text
from app.model.edits import look_edits, mark_edits, shoot_edits
from app.model.faults_seen import seen_faults
from app.model.on_song import on_song, reference_take
from app.model.seen import Proposed, Seen
from tests.app.documents import document
from tests.app.random_shoots import clip, media, shoot, take

ONE, NONE = (1.0, 1.0, 1.0), (0.0, 0.0, 0.0)


def filmed() -> Shoot:
    return document(
        shoot(
            clip(1, take("clip-1-take-1", 0, 8), duration_s=20.0),
            clip(2, take("clip-2-take-1", 0, 8), duration_s=20.0),
        )
    )


def seen(number: int = 1, *proposed: Proposed, **more: object) -> Seen:
    file = media(f"/shoot/clip_{number:02}.mov")
    return Seen(file, (Measure("level", 0.4),), "view-1", 0.9, proposed, **more)  # type: ignore[arg-type]


SOFT, DARK = Proposed("soft", 2.0, 4.0, 0.4), Proposed("under", 6.0, 30.0, 0.2)


def matched(number: int, with_clip: str = "clip-1", end_s: float = 8.0) -> Match:
    return Match(
        f"clip-{number}", 0.0, 8.0, with_clip, 0.0, end_s, ONE, NONE, ONE, 1.0, 0.7, 0.1, 0.0, 0.0, 0.0, 0.0
    )


def test_a_look_takes_the_place_of_the_one_before_and_is_saved() -> None:
    value, change = look_edits.see_clip(filmed(), seen(1, SOFT, DARK))
    assert change == Change.LOOKS | Change.MARKS
    assert value.looks == (Look("clip-1", "00", "view-1", 0.9, (Measure("level", 0.4),)),)
    marks = [(m.by, m.reason, m.clip_start_s, m.clip_end_s, m.measure, m.state) for m in value.marks]
    # A fault does not reach beyond its clip.
    assert marks == [
        ("under", FaultReason.LIGHT, 6.0, 20.0, 0.2, MarkState.PROPOSED),
        ("soft", FaultReason.FOCUS, 2.0, 4.0, 0.4, MarkState.PROPOSED),
    ]
    assert from_text(to_text(value, Path("/shoot")), Path("/shoot")) == value
    view = on_song(value).clip("clip-1")
    assert view.look == value.looks[0]
    assert set(seen_faults(view.marks)) == set(value.marks)
    assert look_edits.see_clip(value, seen(1, SOFT, DARK)) == (value, NOTHING)

    value, _ = look_edits.see_clip(value, seen(2, SOFT))
    value, change = look_edits.see_clip(value, replace(seen(1, SOFT), group=""))
    assert change == Change.LOOKS | Change.MARKS
    assert {(look.clip_id, look.group) for look in value.looks} == {("clip-1", ""), ("clip-2", "view-1")}
    assert sorted((mark.clip_id, mark.by) for mark in value.marks) == [("clip-1", "soft"), ("clip-2", "soft")]


@pytest.mark.parametrize(
    "late",
    [
        replace(seen(), media=MediaRef("/shoot/clip_01.mov", 1000, "other")),
        replace(seen(), media=media("/shoot/gone.mov")),
        seen(trouble="The file cannot be opened."),
    ],
)
def test_what_was_seen_in_another_file_and_trouble_say_nothing(late: Seen) -> None:
    value, _ = look_edits.see_clip(filmed(), seen(1, SOFT))
    assert look_edits.see_clip(value, late) == (value, NOTHING)


def test_what_a_person_said_of_a_fault_stays_whatever_is_seen_again() -> None:
    value, _ = look_edits.see_clip(filmed(), seen(1, SOFT, DARK, Proposed("bump", 1.0, 1.4, 0.8)))
    dark, soft, bump = value.marks
    value, _ = mark_edits.accept_marks(value, [soft.id])
    # A person may know better why, or where.
    value, _ = mark_edits.change_mark(value, replace(value.marks[1], reason=FaultReason.PERFORMANCE))
    value, _ = mark_edits.dismiss_marks(value, [bump.id])
    kept = value.marks[1:]
    value, _ = mark_edits.add_mark(value, "clip-1", MarkKind.FAULT, 10.0, 11.0, FaultReason.BUMP)
    own = value.marks[-1]
    again = seen(1, SOFT, Proposed("bump", 1.1, 1.4, 0.7), Proposed("bump", 10.2, 10.9, 0.7))
    value, change = look_edits.see_clip(value, again)
    assert change == Change.MARKS
    assert value.marks == (*kept, own)
    assert dark not in value.marks


def test_a_proposal_has_one_id_in_every_step_and_no_undo_takes_it_away() -> None:
    history = History(filmed())
    value, change = mark_edits.add_mark(history.shoot, "clip-1", MarkKind.KEEPER, 12.0, 14.0)
    history.push("Mark Keeper", value, change)
    history.apply_everywhere(lambda one: look_edits.see_clip(one, seen(1, SOFT)))
    [proposed] = seen_faults(history.shoot.marks)
    value, change = mark_edits.accept_marks(history.shoot, [proposed.id])
    history.push("Accept", value, change)
    history.undo()
    assert seen_faults(history.shoot.marks) == (proposed,)
    history.undo()
    assert history.shoot.marks == (proposed,)
    assert history.shoot.looks
    history.redo()
    history.redo()
    assert replace(proposed, state=MarkState.SET) in history.shoot.marks


def test_looks_go_with_their_clip_and_with_their_file() -> None:
    value, _ = look_edits.see_clip(filmed(), seen(1, SOFT, DARK))
    value, _ = look_edits.see_clip(value, seen(2, SOFT))
    value, _ = look_edits.set_reference(value, Reference("clip-1", 0.0, 8.0))
    value, _ = look_edits.match_takes(value, [matched(2)])
    accepted = value.marks[0]
    value, _ = mark_edits.accept_marks(value, [accepted.id])

    moved = {"/shoot/clip_01.mov": media("/elsewhere/clip_01.mov")}
    there, change = shoot_edits.relink(value, moved)
    assert change == Change.CLIPS
    assert (there.looks, there.matches, there.marks) == (value.looks, value.matches, value.marks)

    other = {"/shoot/clip_01.mov": MediaRef("/elsewhere/clip_01.mov", 1000, "ff")}
    there, change = shoot_edits.relink(value, other)
    assert change == Change.CLIPS | Change.LOOKS | Change.MARKS
    assert [look.clip_id for look in there.looks] == ["clip-2"]
    assert there.matches == ()
    assert [(mark.clip_id, mark.state) for mark in there.marks] == [
        ("clip-1", MarkState.SET),
        ("clip-2", MarkState.PROPOSED),
    ]
    # A disk that is away tells nothing of the file.
    away, _ = shoot_edits.relink(value, {"/shoot/clip_01.mov": MediaRef("/shoot/clip_01.mov", 0, "")})
    assert away.looks == value.looks

    left, change = shoot_edits.remove_clips(value, ["clip-1"])
    assert change & Change.LOOKS
    assert [look.clip_id for look in left.looks] == ["clip-2"]
    assert (left.matches, left.decisions.reference) == ((), None)


def test_takes_are_matched_with_the_reference_as_it_is_now() -> None:
    value, change = look_edits.set_reference(filmed(), Reference("clip-1", 0.0, 8.0))
    assert change == Change.LOOKS
    reference = reference_take(on_song(value))
    assert reference is not None
    assert reference.id == "clip-1-take-1"
    value, change = look_edits.match_takes(value, [matched(2), matched(9), matched(2, "clip-2")])
    assert change == Change.LOOKS
    assert value.matches == (matched(2),)
    assert on_song(value).clip("clip-2").takes[0].match == matched(2)
    assert on_song(value).clip("clip-1").takes[0].match is None
    # The same take with its ends a little elsewhere is the same reference; another one is not.
    same, _ = look_edits.set_reference(value, Reference("clip-1", 0.5, 8.2))
    assert same.matches == value.matches
    other, _ = look_edits.set_reference(value, Reference("clip-2", 0.0, 8.0))
    assert other.matches == ()
    assert look_edits.set_reference(other, None)[0].decisions.reference is None
    with pytest.raises(KeyError):
        look_edits.set_reference(value, Reference("nobody", 0.0, 8.0))
