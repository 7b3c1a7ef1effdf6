"""Files that are one recording, and files that only look like it."""

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from audio.files.media import MediaInfo, probe
from audio.files.recordings import recording_groups
from tests.audio.media_files import Recipe, low_noise, make

NTSC = Fraction(30000, 1001)
# 29:59.8 at 29.97, as long as the longest file of many cameras.
LENGTH_S = float(Fraction(53944 * 1001, 30000))


def info(name: str, **more: object) -> MediaInfo:
    facts: dict[str, object] = {
        "path": Path("/card") / name,
        "size_bytes": 3_000_000_000,
        "duration_s": LENGTH_S,
        "frame_rate": NTSC,
        "variable_frame_rate": False,
        "width": 1920,
        "height": 1080,
        "sound_tracks": 1,
        "start_timecode": None,
        "make": "Northlight",
        "model": "NL-4",
        "created": None,
        "sound_rate": 48000,
    }
    return MediaInfo(**(facts | more))  # type: ignore[arg-type]


# 53944 frames at 29.97 drop-frame later: 00:29:59;28 after midnight.
FIRST = info("C0001.MP4", start_timecode="10:00:00;00", created="2026-05-01T10:00:00Z")
SECOND = info("C0002.MP4", start_timecode="10:29:59;28", created="2026-05-01T10:30:00Z", duration_s=120.12)


def test_timecode_and_time_of_recording_agree() -> None:
    assert recording_groups([FIRST, SECOND]) == ((0, 1),)
    assert recording_groups([SECOND, FIRST]) == ((1, 0),)


def test_three_files_of_one_recording_among_others() -> None:
    middle = replace(SECOND, duration_s=LENGTH_S)
    last = info("C0003.MP4", start_timecode="10:59:59;26", created="2026-05-01T10:59:59Z", duration_s=60.06)
    other = info("C0004.MP4", start_timecode="12:00:00;00", created="2026-05-01T12:00:00Z")
    assert recording_groups([other, last, FIRST, middle]) == ((0,), (2, 3, 1))


def test_timecode_alone_is_not_believed() -> None:
    """Timecode that stands still between takes: each take starts where the one before ended."""
    first = info("C0001.MP4", start_timecode="00:00:00:00", frame_rate=Fraction(25), duration_s=200.0)
    second = info("C0002.MP4", start_timecode="00:03:20:00", frame_rate=Fraction(25), duration_s=200.0)
    assert recording_groups([first, second]) == ((0,), (1,))
    later = replace(second, created="2026-05-01T10:07:00Z")
    assert recording_groups([replace(first, created="2026-05-01T10:00:00Z"), later]) == ((0,), (1,))
    # The same stamps, and times of recording as far apart as the first is long.
    assert recording_groups(
        [replace(first, created="2026-05-01T10:00:00Z"), replace(second, created="2026-05-01T10:03:20Z")]
    ) == ((0, 1),)


@pytest.mark.parametrize(
    "first",
    [
        replace(FIRST, created=None),
        replace(FIRST, created=SECOND.created),
        replace(FIRST, size_bytes=4_290_000_000),
    ],
)
def test_timecode_and_a_length_or_size_at_which_cameras_split(first: MediaInfo) -> None:
    assert recording_groups([first, SECOND]) == ((0, 1),)


def test_without_timecode_time_number_and_length_must_agree() -> None:
    first = replace(FIRST, start_timecode=None)
    second = replace(SECOND, start_timecode=None)
    assert recording_groups([first, second]) == ((0, 1),)
    by_size = replace(first, duration_s=708.5, size_bytes=3_998_000_000)
    assert recording_groups([by_size, replace(second, created="2026-05-01T10:11:48Z")]) == ((0, 1),)
    for broken in (
        replace(second, path=Path("/card/C0003.MP4")),
        replace(second, created="2026-05-01T10:30:07Z"),
        replace(second, created=None),
    ):
        assert recording_groups([first, broken]) == ((0,), (1,))
    short = replace(first, duration_s=200.0)
    assert recording_groups([short, replace(second, created="2026-05-01T10:03:20Z")]) == ((0,), (1,))


@pytest.mark.parametrize(
    "second",
    [
        replace(SECOND, path=Path("/other/C0002.MP4")),
        replace(SECOND, path=Path("/card/C0002.MOV")),
        replace(SECOND, model="NL-5"),
        replace(SECOND, width=3840),
        replace(SECOND, frame_rate=Fraction(30)),
        replace(SECOND, sound_tracks=2),
        replace(SECOND, start_timecode="10:30:00;10"),
    ],
)
def test_another_kind_of_file_or_another_time_is_another_recording(second: MediaInfo) -> None:
    assert recording_groups([FIRST, second]) == ((0,), (1,))


def test_names_alone_say_nothing() -> None:
    names = [info(f"C000{n}.MP4") for n in range(4)]
    assert recording_groups(names) == ((0,), (1,), (2,), (3,))


def test_where_two_could_follow_neither_does() -> None:
    copy = replace(SECOND, path=Path("/card/C0002 copy.MP4"))
    assert recording_groups([FIRST, SECOND, copy]) == ((0,), (1,), (2,))
    twin = replace(FIRST, path=Path("/card/C0001 copy.MP4"))
    assert recording_groups([FIRST, twin, SECOND]) == ((0,), (1,), (2,))


def test_pictures_counted_in_pairs() -> None:
    """Of 60 pictures a second, timecode of 30: SMPTE ST 12-1 counts to 30; common practice in cameras."""
    double = Fraction(60000, 1001)
    assert recording_groups([replace(FIRST, frame_rate=double), replace(SECOND, frame_rate=double)]) == (
        (0, 1),
    )


def test_over_midnight() -> None:
    first = replace(FIRST, start_timecode="23:50:00;00", created="2026-05-01T23:50:00Z")
    second = replace(SECOND, start_timecode="00:19:59;28", created="2026-05-02T00:20:00Z")
    assert recording_groups([first, second]) == ((0, 1),)


def test_recorders_by_their_time_reference() -> None:
    """EBU Tech 3285: samples since midnight."""
    facts: dict[str, object] = {"frame_rate": None, "width": 0, "height": 0, "duration_s": 1800.0}
    first = info("T01.WAV", time_reference=1_728_000_000, **facts)
    second = info("T02.WAV", time_reference=1_728_000_000 + 1800 * 48000, **facts)
    assert recording_groups([first, second]) == ((0, 1),)
    assert recording_groups([first, replace(second, time_reference=1_728_000_000 + 1801 * 48000)]) == (
        (0,),
        (1,),
    )


@settings(deadline=None)
@given(st.lists(st.sampled_from([FIRST, SECOND, info("C0003.MP4"), info("C0004.MP4")]), max_size=8))
def test_every_file_is_in_one_group(infos: list[MediaInfo]) -> None:
    assert sorted(index for group in recording_groups(infos) for index in group) == list(range(len(infos)))


def test_files_as_a_camera_writes_them(tmp_path: Path) -> None:
    rate = Fraction(25)
    for name, code, created in (
        ("C0001.MOV", "10:00:00:00", "2026-05-01T10:00:00.000000Z"),
        ("C0002.MOV", "10:00:02:00", "2026-05-01T10:00:02.000000Z"),
        ("C0003.MOV", "10:00:04:00", "2026-05-01T10:00:30.000000Z"),
    ):
        make(
            tmp_path / name,
            Recipe(
                tracks=[low_noise(2.0)],
                picture_codec="libx264",
                frame_rate=rate,
                timecode=code,
                metadata={"creation_time": created},
            ),
        )
    infos = [probe(path) for path in sorted(tmp_path.iterdir())]
    assert recording_groups(infos) == ((0, 1), (2,))
