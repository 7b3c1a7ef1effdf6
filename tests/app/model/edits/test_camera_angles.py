"""Angles made of cameras: one each, revised as files are read, never where a person had a hand in it."""

from dataclasses import replace
from fractions import Fraction
from pathlib import PurePath

from hypothesis import given
from hypothesis import strategies as st

from app.model.answers import Answer
from app.model.document.change import NOTHING, Change
from app.model.document.clip import FileFacts
from app.model.document.history import History
from app.model.document.media_ref import MediaRef
from app.model.document.shoot import Shoot
from app.model.document.verdict import Verdict
from app.model.edits import angle_edits, shoot_edits
from app.model.edits.arrivals import arrive
from tests.app.random_shoots import waltz

ROOT = "/evening/Harbour waltz"
CARDS = (
    "A001/A001C001.MOV", "A001/A001C002.MOV", "A002/A002C001.MOV", "B001/B001C001.MOV", "B001/B001C002.MOV",
    "DCIM/100/P1000007.MP4", "DCIM/101/P1010001.MP4", "phones/IMG_0041.MOV", "phones/VID_20261128_201500.mp4",
)  # fmt: skip
CAMERAS = {
    "Camera A": set(CARDS[:3]),
    "Camera B": set(CARDS[3:5]),
    "Camera 1": set(CARDS[5:7]),
    "Phone 1": {CARDS[7]},
    "Phone 2": {CARDS[8]},
}
FACTS = FileFacts(duration_s=200.0, frame_rate=Fraction(25), width=1920, height=1080, make="Orla", model="K2")


def file(name: str) -> MediaRef:
    return MediaRef(f"{ROOT}/{name}", 10, name)


def added(*names: str, to: Shoot | None = None) -> Shoot:
    start = Shoot(songs=(waltz(),)) if to is None else to
    return shoot_edits.add_clips(start, [file(name) for name in names], [ROOT])[0]


def answer(name: str, facts: FileFacts) -> Answer:
    return Answer(media=file(name), verdict=Verdict.NO_SONG, facts=facts)


def read(shoot: Shoot, name: str, facts: FileFacts = FACTS) -> Shoot:
    found = answer(name, facts)
    return shoot_edits.answer_clip(shoot, found)[0]


def angles(shoot: Shoot) -> dict[str, set[str]]:
    """The clips of each angle, by its name."""
    found: dict[str, set[str]] = {angle.name: set() for angle in shoot.angles}
    for clip in shoot.clips:
        found[shoot.angle(clip.angle_id).name].add(PurePath(clip.media.path).relative_to(ROOT).as_posix())
    return found


def test_a_folder_of_cards_gives_an_angle_for_each_camera_without_a_name() -> None:
    shoot = added(*CARDS)
    assert angles(shoot) == CAMERAS
    assert not any(angle.named for angle in shoot.angles)


def test_a_flat_folder_does_so_too() -> None:
    shoot = added("C0001.MP4", "C0002.MP4", "IMG_0007.MOV", "GX010003.MP4")
    assert list(map(len, angles(shoot).values())) == [2, 1, 1]


def test_words_below_the_dropped_folder_still_name_angles() -> None:
    shoot = added("Singer/C0001.MP4", "fiddle_02.mov", "C0001.MP4")
    assert [(angle.name, angle.named) for angle in shoot.angles] == [
        ("Singer", True), ("Fiddle", True), ("Camera 1", False),
    ]  # fmt: skip


def test_what_files_tell_parts_cameras_afterwards() -> None:
    shoot = added("C0001.MP4", "C0002.MP4", "C0003.MP4")
    assert list(angles(shoot)) == ["Camera 1"]
    shoot = read(shoot, "C0001.MP4")
    assert len(shoot.angles) == 1
    other = replace(FACTS, model="K3")
    shoot = read(shoot, "C0002.MP4", other)
    assert angles(shoot) == {"Camera 1": {"C0001.MP4", "C0003.MP4"}, "Camera 2": {"C0002.MP4"}}
    shoot = read(shoot, "C0003.MP4", other)
    assert angles(shoot) == {"Camera 1": {"C0001.MP4"}, "Camera 2": {"C0002.MP4", "C0003.MP4"}}


def test_finding_out_is_no_step_and_stays_when_a_step_is_undone() -> None:
    history = History(added("C0001.MP4", "C0002.MP4"))
    history.push("Add", added("D0001.MP4", to=history.shoot), Change.CLIPS)
    found = [answer(f"C000{n}.MP4", replace(FACTS, model=f"K{n}")) for n in (1, 2)]
    for one in found:
        history.apply_everywhere(lambda shoot, one=one: shoot_edits.answer_clip(shoot, one))  # type: ignore[misc]
    after = history.shoot
    history.undo()
    before = history.shoot
    assert len(before.angles) == 2
    assert {c.id: c.angle_id for c in before.clips}.items() <= {c.id: c.angle_id for c in after.clips}.items()


def test_nothing_is_taken_from_an_angle_that_a_person_named() -> None:
    shoot = added("C0001.MP4", "C0002.MP4", "C0003.MP4")
    shoot, _ = angle_edits.rename_angle(shoot, shoot.angles[0].id, "Singer")
    shoot = read(read(shoot, "C0001.MP4"), "C0002.MP4", replace(FACTS, model="K3"))
    assert angles(shoot) == {"Singer": {"C0001.MP4", "C0002.MP4", "C0003.MP4"}}


def test_a_clip_that_a_person_put_somewhere_stays_there() -> None:
    shoot = added("C0001.MP4", "C0002.MP4", "GX010003.MP4")
    shoot, _ = angle_edits.assign_angle(shoot, ["clip-1"], "Camera 2")
    for name in ("C0001.MP4", "C0002.MP4", "GX010003.MP4"):
        shoot = read(shoot, name)
    assert angles(shoot) == {"Camera 1": {"C0002.MP4"}, "Camera 2": {"C0001.MP4", "GX010003.MP4"}}
    merged, _ = angle_edits.merge_angles(shoot, [angle.id for angle in shoot.angles], shoot.angles[0].id)
    assert read(merged, "C0002.MP4", replace(FACTS, model="K9")).angles == merged.angles


def test_a_later_clip_of_a_camera_that_a_person_named_goes_there() -> None:
    shoot = added("A001/A001C001.MOV", "IMG_0041.MOV", "C0001.MP4", "C0002.MP4")
    for angle, name in zip(shoot.angles, ("Singer", "Wide", "Drums"), strict=True):
        shoot, _ = angle_edits.rename_angle(shoot, angle.id, name)
    shoot, _ = angle_edits.assign_angle(shoot, ["clip-4"], "Bass")
    shoot = added("A002/A002C001.MOV", "IMG_0042.MOV", "1/IMG_0043.MOV", "C0003.MP4", to=shoot)
    assert angles(shoot) == {
        "Singer": {"A001/A001C001.MOV", "A002/A002C001.MOV"},
        "Wide": {"IMG_0041.MOV", "IMG_0042.MOV"},
        "Drums": {"C0001.MP4"},
        "Bass": {"C0002.MP4"},
        "Phone 1": {"1/IMG_0043.MOV"},
        "Camera 1": {"C0003.MP4"},
    }, "which of two angles a clip is of, and whose phone another folder is, nobody can tell"


def test_words_that_named_an_angle_draw_no_other_clip_to_it() -> None:
    shoot = read(added("Singer/C0001.MP4"), "Singer/C0001.MP4")
    shoot = read(added("C0002.MP4", to=shoot), "C0002.MP4")
    assert angles(shoot) == {"Singer": {"Singer/C0001.MP4"}, "Camera 1": {"C0002.MP4"}}


def test_a_made_up_name_never_is_that_of_another_angle() -> None:
    shoot = added("Camera 1/C0001.MP4", "GX010001.MP4")
    assert list(angles(shoot)) == ["Camera 1", "Camera 2"]


def test_clips_of_a_watched_folder_are_grouped_without_its_name() -> None:
    history = History(Shoot(songs=(waltz(),)))
    history.push("Add", added("IMG_0001.MOV", to=history.shoot), Change.CLIPS)
    for name in CARDS[:5]:
        history.rewrite(lambda values, at, name=name: arrive(values, at, [file(name)], PurePath(ROOT)))  # type: ignore[misc]
    assert angles(history.shoot) == {"Phone 1": {"IMG_0001.MOV"}, **dict(list(CAMERAS.items())[:2])}
    history.undo()
    assert angles(history.shoot) == dict(list(CAMERAS.items())[:2])


@given(st.permutations(CARDS))
def test_angles_do_not_depend_on_the_order_in_which_clips_come(order: list[str]) -> None:
    shoot = Shoot(songs=(waltz(),))
    before: dict[str, str] = {}
    for name in order:
        shoot = added(name, to=shoot)
        now = {clip.id: clip.angle_id for clip in shoot.clips}
        assert before.items() <= now.items(), "a clip that came moved another"
        before = now
    assert sorted(map(sorted, angles(shoot).values())) == sorted(map(sorted, CAMERAS.values()))
    assert {"Camera A", "Camera B", "Camera 1", "Phone 1", "Phone 2"} == set(angles(shoot))


@given(st.permutations(CARDS), st.lists(st.sampled_from(["K2", "K3"]), min_size=9, max_size=9))
def test_reading_a_file_moves_no_clip_that_was_read_before(order: list[str], models: list[str]) -> None:
    shoot = added(*CARDS)
    done: set[str] = set()
    for name, model in zip(order, models, strict=True):
        before = {clip.media.path: clip.angle_id for clip in shoot.clips}
        kept = {angle.id: angle.name for angle in shoot.angles}
        shoot = read(shoot, name, replace(FACTS, model=model))
        moved = {clip.media.path for clip in shoot.clips if clip.angle_id != before[clip.media.path]}
        assert not moved & done
        done.add(f"{ROOT}/{name}")
        assert all(kept.get(angle.id, angle.name) == angle.name for angle in shoot.angles)
    again = shoot_edits.answer_clip(shoot, answer(CARDS[0], shoot.clips[0].facts))
    assert again == (shoot, NOTHING)
