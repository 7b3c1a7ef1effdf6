"""Clips grouped by camera: by what cards, files and clocks tell, and steadily as clips come one by one."""

from dataclasses import replace
from fractions import Fraction
from itertools import combinations

from hypothesis import given
from hypothesis import strategies as st

from app.model.camera_groups import Filed, cameras, counter, recorded_s
from app.model.document.clip import FileFacts
from tests.quality.camera_board import board

HD = FileFacts(duration_s=200.0, frame_rate=Fraction(25), width=1920, height=1080)


def at(clock: str, **more: object) -> FileFacts:
    return replace(HD, created=f"2026-11-28T{clock}", **more)  # type: ignore[arg-type]


def groups(*clips: str | tuple[str, FileFacts]) -> list[list[int]]:
    filed = [Filed(one) if isinstance(one, str) else Filed(*one) for one in clips]
    return [list(camera.members) for camera in cameras(filed)]


def test_cards_of_one_letter_are_one_camera() -> None:
    assert groups("A001/CLIP/C0001.MXF", "B001/CLIP/C0001.MXF", "A002/CLIP/C0001.MXF") == [[0, 2], [1]]
    assert groups("A001C001_1128.MOV", "B001C001_1128.MOV", "A002C003_1128.MOV") == [[0, 2], [1]]


def test_folders_of_a_card_that_follow_each_other_are_one_camera() -> None:
    assert groups("DCIM/100/P1000007.MP4", "DCIM/101/P1010001.MP4") == [[0, 1]]
    assert groups("DCIM/100ABCDE/Q0001.MP4", "DCIM/101ABCDE/Q0100.MP4") == [[0, 1]]


def test_series_of_names_are_cameras() -> None:
    flat = [
        "IMG_0007.MOV",
        "GX010023.MP4",
        "P1000123.MP4",
        "IMG_0009.MOV",
        "GX020023.MP4",
        "20261128_201500.mp4",
    ]
    assert groups(*flat) == [[0, 3], [1, 4], [2], [5]]


def test_make_model_rate_and_size_tell_bodies_apart() -> None:
    one, other = replace(HD, make="Orla", model="K2"), replace(HD, make="Orla", model="K3")
    slow = replace(one, frame_rate=Fraction(100))
    assert groups(("C0001.MP4", one), ("C0002.MP4", other), ("C0003.MP4", slow)) == [[0, 2], [1]]
    film, upright = replace(HD, frame_rate=Fraction(24)), replace(HD, width=1080, height=1920)
    assert groups(("C0001.MP4", HD), ("C0002.MP4", film), ("C0003.MP4", upright)) == [[0, 2], [1]]


def test_clips_that_ran_together_are_two_cameras_clips() -> None:
    early, late = at("20:00:00"), at("20:01:00")
    assert groups(("1/C0001.MP4", early), ("2/C0002.MP4", late)) == [[0], [1]]
    assert groups(("C0001.MP4", early), ("C0002.MP4", late)) == [[0], [1]]
    assert groups(("1/C0001.MP4", early), ("2/C0002.MP4", at("20:10:00"))) == [[0, 1]]


def test_cards_that_take_turns_are_two_cameras() -> None:
    clips = [
        ("1/C0001.MP4", at("20:00:00")),
        ("1/C0002.MP4", at("20:20:00")),
        ("2/C0003.MP4", at("20:10:00")),
    ]
    assert groups(*clips) == [[0, 1], [2]]


def test_a_name_that_comes_twice_is_two_cameras_unless_the_clock_shows_that_one_card_followed() -> None:
    assert groups("1/C0001.MP4", "2/C0001.MP4") == [[0], [1]]
    assert groups(("1/C0001.MP4", at("20:00:00")), ("2/C0001.MP4", at("20:30:00"))) == [[0, 1]]


def test_numbers_far_apart_are_two_cameras() -> None:
    assert groups("IMG_0412.MOV", "IMG_5120.MOV", "IMG_0414.MOV", "IMG_5121.MOV") == [[0, 2], [1, 3]]


def test_a_recorder_is_no_camera() -> None:
    found = cameras(
        [Filed("A001/C0001.MP4"), Filed("A001/C0001.WAV"), Filed("R0005.WAV"), Filed("VID_20261128_2000.mp4")]
    )
    assert [(one.kind, one.letter) for one in found] == [
        ("Camera", "A"), ("Recorder", ""), ("Recorder", ""), ("Phone", ""),
    ]  # fmt: skip


def test_folders_far_above_a_file_are_no_cards() -> None:
    assert cameras([Filed("/disk/E1/evening/IMG_0007.MOV")])[0].letter == ""


def test_clocks_that_were_never_set_or_are_no_times_do_no_harm() -> None:
    for text in ("1904-01-01T00:00:00", "yesterday", "", "0001-01-01T00:00:00+14:00"):
        assert groups(("a/C0001.MP4", replace(HD, created=text)), ("a/C0002.MP4", HD)) == [[0, 1]]
    assert recorded_s(Filed("20261399_996161.mp4")) is None
    assert counter("DCIM/101/P1010023.MP4") == 23


PATHS = st.builds(
    "{}/{}{:04d}.{}".format,
    st.sampled_from(["A001", "A002", "B001", "DCIM/100", "DCIM/101", "1", "2", "x/y"]),
    st.sampled_from(["IMG_", "C", "P100", "GX01", "VID_20261128_20", "A001C"]),
    st.integers(1, 30).map(lambda n: n * 97),
    st.sampled_from(["MP4", "MOV", "WAV"]),
)
FACTS = st.one_of(
    st.just(FileFacts()),
    st.builds(
        FileFacts,
        duration_s=st.sampled_from([20.0, 200.0]),
        frame_rate=st.sampled_from([Fraction(25), Fraction(30000, 1001), None]),
        make=st.sampled_from([None, "Orla"]),
        model=st.sampled_from([None, "K2", "K3"]),
        created=st.one_of(st.none(), st.integers(0, 59).map(lambda n: f"2026-11-28T20:{n:02d}:00Z")),
    ),
)
CLIPS = st.lists(st.builds(Filed, PATHS, FACTS), max_size=9, unique_by=lambda clip: clip.path)


@given(CLIPS)
def test_every_clip_has_one_camera(clips: list[Filed]) -> None:
    found = cameras(clips)
    assert sorted(n for one in found for n in one.members) == list(range(len(clips)))
    assert [one.members[0] for one in found] == sorted(one.members[0] for one in found)
    assert cameras(clips) == found


@given(CLIPS, PATHS, FACTS)
def test_a_clip_from_a_new_card_moves_no_other(clips: list[Filed], path: str, facts: FileFacts) -> None:
    def pairs(filed: list[Filed]) -> set[tuple[int, int]]:
        found = {pair for one in cameras(filed) for pair in combinations(one.members, 2)}
        return {pair for pair in found if max(pair) < len(clips)}

    assert pairs([*clips, Filed(f"new/{path}", facts)]) == pairs(clips)


@given(CLIPS)
def test_two_that_ran_together_are_never_one_camera(clips: list[Filed]) -> None:
    for camera in cameras(clips):
        times = [(recorded_s(clips[n]), clips[n].facts.duration_s) for n in camera.members]
        for (a_s, a_long), (b_s, b_long) in combinations(times, 2):
            if a_s is not None and b_s is not None and a_long == b_long:
                assert abs(a_s - b_s) >= min(a_long, b_long) - 2


def test_random_shoots_are_grouped_by_camera() -> None:
    """A small part of ``python -m tests.quality.camera_board``, with seeds of its own."""
    told = board(range(90001, 90061), read=True)
    assert told.joined >= 0.99 * told.to_join > 0
    assert told.apart >= 0.99 * told.to_part > 0
    guessed = board(range(90001, 90061), read=False)
    assert guessed.joined >= 0.99 * guessed.to_join
    assert guessed.apart >= 0.95 * guessed.to_part
