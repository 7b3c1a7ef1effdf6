"""What the maker is asked to name, and the edit by which it is accepted."""

from dataclasses import replace
from fractions import Fraction

import pytest

from app.model.document.angle import Angle
from app.model.document.change import NOTHING
from app.model.document.clip import ClipRecord
from app.model.document.looks import Look
from app.model.document.media_ref import MediaRef
from app.model.document.shoot import Shoot
from app.model.edits.naming_edits import name_angles
from app.model.naming import Draft, entries, set_ups
from app.model.on_song import Clip, SongView, Take

ANGLES = (
    Angle("angle-1", "Camera A", named=False),
    Angle("angle-2", "Fiddle"),
    Angle("angle-3", "Phone 1", named=False),
)


def clip(number: int, angle: str, created: str | None = None, song_s: float = 0.0) -> Clip:
    """A clip of 200 s with the song from some moment of it on."""
    takes = (Take(f"t{number}", 0.0, 200.0, song_s),)
    media = MediaRef(f"/x/C{number:04d}.MP4", 10, str(number))
    at = None if created is None else f"2026-11-28T{created}"
    return Clip(
        f"clip-{number}", media, angle, duration_s=200.0, frame_rate=Fraction(25), created=at, takes=takes
    )


def view(*clips: Clip) -> SongView:
    return SongView(angles=ANGLES, clips=clips)


def told(shoot: SongView, draft: Draft | None = None) -> list[tuple[str, list[str]]]:
    return [(one.shown_name, [c.id for c in one.clips]) for one in entries(shoot, draft or Draft())]


SHOOT = view(clip(1, "angle-1"), clip(2, "angle-1"), clip(3, "angle-2"), clip(4, "angle-3"))


def test_angles_without_a_name_are_asked_for_and_all_where_each_has_one() -> None:
    assert told(SHOOT) == [("Camera A", ["clip-1", "clip-2"]), ("Phone 1", ["clip-4"])]
    named = replace(SHOOT, angles=tuple(replace(one, named=True) for one in ANGLES))
    assert [name for name, _ in told(named)] == ["Camera A", "Fiddle", "Phone 1"]


def test_what_was_typed_and_dragged_stays_while_clips_come() -> None:
    draft = Draft().named(("angle-1", 0), "Singer").with_moved(["clip-2"], ("angle-3", 0))
    assert told(SHOOT, draft) == [("Singer", ["clip-1"]), ("Phone 1", ["clip-2", "clip-4"])]
    more = replace(SHOOT, clips=(*SHOOT.clips, clip(5, "angle-1")))
    assert told(more, draft) == [("Singer", ["clip-1", "clip-5"]), ("Phone 1", ["clip-2", "clip-4"])]


def test_an_entry_without_clips_is_gone_and_another_can_be_made() -> None:
    draft = Draft()
    draft = draft.with_moved(["clip-4"], draft.added)
    assert told(SHOOT, draft) == [("Camera A", ["clip-1", "clip-2"]), ("New angle", ["clip-4"])]
    draft = draft.with_moved(["clip-1"], draft.added)
    assert [ids for _, ids in told(SHOOT, draft)] == [["clip-2"], ["clip-4"], ["clip-1"]]


def test_takes_of_the_whole_song_after_a_long_rest_may_be_another_set_up() -> None:
    clips = [clip(1, "angle-1", "20:00:00"), clip(2, "angle-1", "20:05:00"), clip(3, "angle-1", "20:30:00")]
    assert [[c.id for c in one] for one in set_ups(clips)] == [["clip-1", "clip-2"], ["clip-3"]]
    shoot = view(*clips)
    first, second = entries(shoot, Draft())
    assert (first.set_up, second.set_up) == (1, 2)
    assert second.shown_name == "Camera A", "left as it is, it stays one angle"
    _, second = entries(shoot, Draft().named(("angle-1", 0), "Singer"))
    assert second.shown_name == "Singer"


def test_a_pick_up_after_a_long_rest_is_no_set_up_of_its_own() -> None:
    clips = [clip(1, "angle-1", "20:00:00"), clip(2, "angle-1", "20:30:00", song_s=200.0)]
    assert len(set_ups(clips)) == 1


def test_pictures_decide_where_they_can_tell() -> None:
    clips = [clip(1, "angle-1", "20:00:00"), clip(2, "angle-1", "20:05:00"), clip(3, "angle-1", "20:30:00")]
    assert len(set_ups(clips, lambda one, other: True)) == 1
    assert len(set_ups(clips, lambda one, other: False)) == 3
    assert len(set_ups([clip(1, "a"), clip(2, "a")], lambda one, other: False)) == 2
    assert len(set_ups([clip(1, "a"), clip(2, "a")], lambda one, other: None)) == 1, (
        "nobody knows their order"
    )


def looking(number: int, angle: str, group: str, sure: float = 0.97, created: str | None = None) -> Clip:
    """A clip that was looked at."""
    made = clip(number, angle, created)
    return replace(made, look=Look(made.id, str(number), group, sure))


def test_a_camera_that_goes_back_to_a_set_up_is_in_it_again() -> None:
    clips = [
        looking(n, "angle-1", group, created=f"20:{n:02}:00")
        for n, group in enumerate(["view-1", "view-2", "view-1"])
    ]
    assert [[c.id for c in one] for one in set_ups(clips)] == [["clip-0", "clip-2"], ["clip-1"]]
    doubtful = [replace(c, look=replace(c.look, sure=0.6)) for c in clips if c.look is not None]
    assert len(set_ups(doubtful)) == 1, "looks that are not sure decide nothing"


def test_how_sure_looks_are_is_that_of_the_least_sure_clip() -> None:
    shoot = view(looking(1, "angle-1", "view-1"), looking(2, "angle-1", "view-1", 0.85), clip(4, "angle-3"))
    assert [(one.sure, one.like) for one in entries(shoot, Draft())] == [(0.85, ""), (0.0, "")]


def test_two_cameras_that_look_alike_are_proposed_as_one_angle() -> None:
    shoot = view(
        looking(1, "angle-1", "view-1", created="20:00:00"),
        looking(2, "angle-3", "view-1", 0.95, created="21:00:00"),
    )
    first, second = entries(shoot, Draft().named(("angle-1", 0), "Singer"))
    assert (second.like, second.sure, second.shown_name) == ("Singer", 0.95, "Singer")
    assert first.like == ""
    assert entries(shoot, Draft().named(("angle-3", 0), "Drums"))[1].shown_name == "Drums"
    less = view(*(looking(n, a, "view-1", 0.85) for n, a in ((1, "angle-1"), (2, "angle-3"))))
    assert [one.like for one in entries(less, Draft())] == ["", ""]


def test_cameras_that_ran_together_or_are_of_another_make_are_two() -> None:
    one = looking(1, "angle-1", "view-1", created="20:00:00")
    together = looking(2, "angle-3", "view-1", created="20:01:00")
    assert entries(view(one, together), Draft())[1].like == ""
    other_make = replace(looking(2, "angle-3", "view-1", created="21:00:00"), model="K5")
    assert entries(view(one, other_make), Draft())[1].like == ""


def test_an_angle_may_look_like_one_that_has_a_name_and_named_ones_are_left_alone() -> None:
    shoot = view(looking(1, "angle-2", "view-1"), looking(2, "angle-3", "view-1"))
    (only,) = entries(shoot, Draft())
    assert (only.key, only.like, only.shown_name) == (("angle-3", 0), "Fiddle", "Fiddle")
    named = replace(shoot, angles=tuple(replace(one, named=True) for one in ANGLES))
    assert [(one.shown_name, one.like) for one in entries(named, Draft())] == [
        ("Fiddle", ""),
        ("Phone 1", ""),
    ]


def document(view: SongView) -> Shoot:
    return Shoot(angles=view.angles, clips=tuple(ClipRecord(c.id, c.media, c.angle_id) for c in view.clips))


def named(shoot: Shoot) -> dict[str, tuple[str, bool, set[str]]]:
    return {
        angle.name: (angle.id, angle.safety, {c.id for c in shoot.clips if c.angle_id == angle.id})
        for angle in shoot.angles
    }


def test_names_are_taken_over_as_written_and_angles_keep_their_ids() -> None:
    shoot, _ = name_angles(
        document(SHOOT), [("McKay  close", ["clip-1", "clip-2"]), ("Safety wide", ["clip-4"])]
    )
    assert named(shoot) == {
        "McKay close": ("angle-1", False, {"clip-1", "clip-2"}),
        "Fiddle": ("angle-2", False, {"clip-3"}),
        "Safety wide": ("angle-3", True, {"clip-4"}),
    }
    assert all(angle.named for angle in shoot.angles)


def test_the_same_name_twice_or_that_of_another_angle_makes_one() -> None:
    both = [("Singer", ["clip-1", "clip-2"]), ("singer", ["clip-4"])]
    assert named(name_angles(document(SHOOT), both)[0])["Singer"][2] == {"clip-1", "clip-2", "clip-4"}
    other = [("fiddle", ["clip-1"]), ("Singer", ["clip-2", "clip-4"])]
    shoot, _ = name_angles(document(SHOOT), other)
    assert named(shoot)["fiddle"] == ("angle-2", False, {"clip-1", "clip-3"})


def test_names_may_change_places() -> None:
    shoot, _ = name_angles(document(SHOOT), [("Phone 1", ["clip-1", "clip-2"]), ("Camera A", ["clip-4"])])
    assert {name: clips for name, (_, _, clips) in named(shoot).items()} == {
        "Phone 1": {"clip-1", "clip-2"}, "Camera A": {"clip-4"}, "Fiddle": {"clip-3"},
    }  # fmt: skip


def test_a_part_of_an_angle_may_get_a_name_of_its_own() -> None:
    shoot, _ = name_angles(document(SHOOT), [("Drums", ["clip-2"])])
    assert named(shoot)["Camera A"][2] == {"clip-1"}
    assert named(shoot)["Drums"][2] == {"clip-2"}
    assert not shoot.angle("angle-1").named


def test_accepting_made_up_names_names_them_and_accepting_again_changes_nothing() -> None:
    wanted = [("Camera A", ["clip-1", "clip-2"]), ("Phone 1", ["clip-4"])]
    shoot, _ = name_angles(document(SHOOT), wanted)
    assert all(angle.named for angle in shoot.angles)
    assert name_angles(shoot, wanted) == (shoot, NOTHING)


def test_no_name_is_refused() -> None:
    with pytest.raises(ValueError, match="needs a name"):
        name_angles(document(SHOOT), [(" ", ["clip-1"])])
