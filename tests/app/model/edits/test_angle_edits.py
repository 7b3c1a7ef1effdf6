"""Subjects, groups, hiding, merging and the order of staves."""

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.model.coverage.staves import COLOURS, colour_number, colour_round, stave_blocks, stave_order
from app.model.document.angle import Angle
from app.model.document.change import NOTHING, Change
from app.model.document.media_ref import MediaRef
from app.model.document.shoot import Shoot
from app.model.document.store import from_text, to_text
from app.model.edits import angle_edits, shoot_edits
from tests.app.random_shoots import clip, shoot, take

ANGLES = (
    Angle("angle-1", "Singer"),
    Angle("angle-2", "Fiddle", group="Strings"),
    Angle("angle-3", "Drums"),
    Angle("angle-4", "Cello", group="Strings"),
    Angle("angle-5", "Wide", safety=True),
)


def band() -> Shoot:
    clips = [clip(n, take(f"t{n}", 0, 8), angle=f"angle-{n}") for n in range(1, 6)]
    return shoot(*clips, angles=ANGLES)


def staves(value: Shoot) -> list[str]:
    return [angle.name for angle in stave_order(value.angles)]


def test_a_stave_moves_one_place_as_one_sees_it_and_groups_move_as_one() -> None:
    assert staves(band()) == ["Singer", "Fiddle", "Cello", "Drums", "Wide"]
    inside, change = angle_edits.step_angle(band(), "angle-4", -1)
    assert change == Change.ANGLES
    assert staves(inside) == ["Singer", "Cello", "Fiddle", "Drums", "Wide"]
    edge, _ = angle_edits.step_angle(inside, "angle-4", -1)
    assert staves(edge) == ["Cello", "Fiddle", "Singer", "Drums", "Wide"]
    assert angle_edits.step_angle(edge, "angle-4", -1) == (edge, NOTHING)


def test_a_step_passes_by_what_is_not_shown() -> None:
    shown = {"angle-1", "angle-3", "angle-5"}
    moved, _ = angle_edits.step_angle(band(), "angle-3", -1, shown)
    assert staves(moved)[0] == "Drums"


def test_a_safety_stays_last_and_others_before_it() -> None:
    assert angle_edits.step_angle(band(), "angle-3", 1) == (band(), NOTHING)
    assert angle_edits.step_angle(band(), "angle-5", -1) == (band(), NOTHING)
    placed, _ = angle_edits.place_angle(band(), "angle-5", "angle-1")
    assert staves(placed)[-1] == "Wide"


def test_a_stave_dragged_before_another_stands_there() -> None:
    placed, change = angle_edits.place_angle(band(), "angle-3", "angle-1")
    assert (staves(placed)[0], change) == ("Drums", Change.ANGLES)
    back, _ = angle_edits.place_angle(placed, "angle-3", None)
    assert staves(back) == ["Singer", "Fiddle", "Cello", "Drums", "Wide"]
    assert angle_edits.place_angle(band(), "angle-3", "angle-3") == (band(), NOTHING)


def test_subjects_and_groups_are_tidied_and_a_known_group_keeps_its_spelling() -> None:
    named, _ = angle_edits.set_subjects(band(), "angle-1", ["  the   singer ", "", "The singer"])
    assert named.angle("angle-1").subjects == ("the singer",)
    grouped, change = angle_edits.set_group(band(), ["angle-1", "angle-3"], " strings ")
    assert change == Change.ANGLES
    assert {angle.group for angle in grouped.angles if not angle.safety} == {"Strings"}
    out, _ = angle_edits.set_group(grouped, ["angle-3"], "")
    assert out.angle("angle-3").group == ""


def test_place_and_camera_are_tidied_kept_apart_and_taken_back() -> None:
    placed, change = angle_edits.set_place(band(), "angle-1", " stage   left ")
    assert change == Change.ANGLES
    both, _ = angle_edits.set_camera(placed, "angle-1", "B, 85 mm")
    assert (both.angle("angle-1").place, both.angle("angle-1").camera) == ("stage left", "B, 85 mm")
    assert both.angles[1:] == ANGLES[1:]
    assert angle_edits.set_place(both, "angle-1", "stage left") == (both, NOTHING)
    merged, _ = angle_edits.merge_angles(both, ["angle-1", "angle-3"], "angle-3")
    assert merged.angle("angle-3").camera == "B, 85 mm", "what nobody said of the one that is left"
    back, _ = angle_edits.set_camera(angle_edits.set_place(both, "angle-1", "")[0], "angle-1", " ")
    assert back == band()


def test_hiding_leaves_the_clips_alone() -> None:
    hidden, change = angle_edits.hide_angles(band(), ["angle-1", "angle-2"], True)
    assert change == Change.ANGLES
    assert [angle.hidden for angle in hidden.angles] == [True, True, False, False, False]
    assert hidden.clips == band().clips
    assert angle_edits.hide_angles(hidden, ["angle-1"], True) == (hidden, NOTHING)


def test_merged_angles_give_their_clips_and_what_was_said_of_them() -> None:
    value = replace(band(), angles=(replace(ANGLES[0], subjects=("singer",)), *ANGLES[1:]))
    merged, change = angle_edits.merge_angles(value, ["angle-1", "angle-2", "angle-3"], "angle-3")
    assert change == Change.ANGLES | Change.CLIPS
    assert [angle.id for angle in merged.angles] == ["angle-3", "angle-4", "angle-5"]
    assert [one.angle_id for one in merged.clips[:3]] == ["angle-3"] * 3
    assert (merged.angle("angle-3").subjects, merged.angle("angle-3").group) == (("singer",), "Strings")
    assert angle_edits.merge_angles(value, ["angle-3"], "angle-3") == (value, NOTHING)


@pytest.mark.parametrize(
    "edit",
    [
        lambda s: angle_edits.step_angle(s, "no", 1),
        lambda s: angle_edits.place_angle(s, "angle-1", "no"),
        lambda s: angle_edits.set_subjects(s, "no", ["x"]),
        lambda s: angle_edits.set_group(s, ["no"], "x"),
        lambda s: angle_edits.set_place(s, "no", "x"),
        lambda s: angle_edits.set_camera(s, "no", "x"),
        lambda s: angle_edits.hide_angles(s, ["no"], True),
        lambda s: angle_edits.merge_angles(s, ["no"], "angle-1"),
    ],
)
def test_an_unknown_angle_is_told(edit: object) -> None:
    with pytest.raises(KeyError):
        edit(band())  # type: ignore[operator]


flags = st.lists(st.tuples(st.booleans(), st.sampled_from(("", "x", "y"))), min_size=1, max_size=6)


@given(flags, st.data())
def test_steps_keep_all_angles_groups_together_and_safeties_last(
    made: list[tuple[bool, str]], data: st.DataObject
) -> None:
    angles = tuple(
        Angle(f"angle-{n}", f"A{n}", safety, group=group) for n, (safety, group) in enumerate(made)
    )
    value = Shoot(angles=angles)
    for _ in range(4):
        angle = data.draw(st.sampled_from(value.angles))
        value, _ = angle_edits.step_angle(value, angle.id, data.draw(st.sampled_from((-1, 1))))
    order = stave_order(value.angles)
    assert sorted(a.id for a in order) == sorted(a.id for a in angles)
    assert [a.safety for a in order] == sorted(a.safety for a in order)
    blocks = [(block[0].safety, block[0].group) for block in stave_blocks(value.angles) if block[0].group]
    assert len(blocks) == len(set(blocks)), "a group stands together"


@given(st.sets(st.integers(1, 40)))
def test_colour_and_round_together_are_an_angle_s_own(made: set[int]) -> None:
    told = {(colour_number(f"angle-{n}") % COLOURS, colour_round(f"angle-{n}")) for n in made}
    assert len(told) == len(made)


def test_a_colour_stays_whatever_comes_moves_or_goes() -> None:
    """Through a new clip, another order, hiding, a mark as safety, saving and loading."""
    names = ("Singer", "Drums", "Bass", "Fiddle", "Hands", "Roaming", "Wide", "Keys", "Crowd")
    value = Shoot()
    for name in names:
        value, _ = shoot_edits.add_clips(value, [MediaRef(f"/shoot/{name}/1.mov", 1, name)])
    before = {angle.name: colour_number(angle.id) for angle in value.angles}
    assert sorted(before.values()) == list(range(len(names)))
    value, _ = shoot_edits.add_clips(value, [MediaRef("/shoot/Accordion/1.mov", 1, "new")])
    by_name = {angle.name: angle.id for angle in value.angles}
    value, _ = angle_edits.place_angle(value, by_name["Crowd"], by_name["Singer"])
    value, _ = angle_edits.hide_angles(value, [by_name["Drums"]], True)
    value, _ = angle_edits.mark_safety(value, by_name["Wide"], True)
    value, _ = angle_edits.merge_angles(value, [by_name["Bass"]], by_name["Keys"])
    value = from_text(to_text(value, Path("/shoot")), Path("/shoot"))
    after = {angle.name: colour_number(angle.id) for angle in value.angles}
    assert after.pop("Accordion") not in before.values()
    assert after == {name: number for name, number in before.items() if name != "Bass"}
