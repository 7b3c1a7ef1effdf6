"""Pictures at moments of a clip: the right frame, upright, in its true shape and colours."""

from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest

from audio.errors import Unreadable
from audio.files.frame_images import pictures_at
from tests.audio.media_files import Recipe, low_noise, make, number_in

FRAMES = 60
RATE = Fraction(30000, 1001)

CLIPS: dict[str, tuple[str, dict[str, object]]] = {
    "MOV": ("clip.mov", {"picture_codec": "libx264", "b_frames": 2}),
    "MOV, picture 300 ms later": (
        "clip.mov",
        {"picture_codec": "libx264", "b_frames": 2, "picture_delay_s": Fraction(3, 10)},
    ),
    "MP4, intra-coded": ("clip.mp4", {"picture_codec": "mpeg4", "key_every": 1}),
    "MKV": ("clip.mkv", {"picture_codec": "libx264", "b_frames": 2}),
    "TS": ("clip.ts", {"picture_codec": "libx264", "b_frames": 2, "sound_codec": "aac"}),
    "TS, sound 500 ms later": (
        "clip.ts",
        {"picture_codec": "libx264", "sound_codec": "aac", "sound_delay_s": Fraction(1, 2)},
    ),
    "MXF": ("clip.mxf", {"picture_codec": "mpeg2video", "b_frames": 2}),
    "AVI": ("clip.avi", {"picture_codec": "mjpeg"}),
    "MP4 in fragments": (
        "clip.mp4",
        {"picture_codec": "libx264", "options": {"movflags": "frag_keyframe+empty_moov"}, "tracks": ()},
    ),
}


def clip(folder: Path, name: str) -> Path:
    file, facts = CLIPS[name]
    whole: dict[str, object] = {
        "tracks": [low_noise(2.0)],
        "frame_rate": RATE,
        "picture_s": float(FRAMES / RATE),
    }
    return make(folder / file, Recipe(**(whole | facts)))  # type: ignore[arg-type]


def middle_s(number: int) -> float:
    return float((number + Fraction(1, 2)) / RATE)


@pytest.mark.parametrize("name", CLIPS)
def test_the_frame_shown_at_a_moment(name: str, tmp_path: Path) -> None:
    path = clip(tmp_path, name)
    numbers = [0, 1, 2, 13, 29, 30, 47, 59]
    shown = [number_in(one) for one in pictures_at(path, [middle_s(n) for n in numbers], 48)]
    assert shown == [n % 10 for n in numbers]
    # A far jump, back again, and each by itself.
    jumps = [59, 3, 41, 0]
    assert [number_in(one) for one in pictures_at(path, [middle_s(n) for n in jumps], 48)] == [9, 3, 1, 0]
    assert [number_in(pictures_at(path, [middle_s(n)], 48)[0]) for n in jumps] == [9, 3, 1, 0]


def test_a_frame_is_shown_from_its_stamp_on(tmp_path: Path) -> None:
    path = clip(tmp_path, "MOV")
    just_before, just_after = float(17 / RATE) - 1e-4, float(17 / RATE) + 1e-4
    assert [number_in(one) for one in pictures_at(path, [just_before, just_after], 48)] == [6, 7]


def test_before_the_start_and_after_the_end(tmp_path: Path) -> None:
    for name in ("MOV", "TS", "MXF"):
        path = clip(tmp_path, name)
        assert [number_in(one) for one in pictures_at(path, [-3.0, 500.0], 48)] == [0, 9]


@pytest.mark.parametrize("name", ["MOV", "MKV", "TS"])
def test_key_frames_will_do_if_asked(name: str, tmp_path: Path) -> None:
    """Key frames stand at 0, 12, 24, 36, 48; a transport stream has no index, so an earlier one may come."""
    path = clip(tmp_path, name)
    moments = [middle_s(n) for n in (3, 14, 35, 59)]
    shown = [number_in(one) for one in pictures_at(path, moments, 48, exact=False)]
    if name == "TS":
        assert all(
            one in allowed for one, allowed in zip(shown, ([0], [0, 2], [0, 2, 4], [4, 6, 8]), strict=True)
        )
    else:
        assert shown == [0, 2, 4, 8]


def test_a_varying_rate_shows_frames_by_their_stamps(tmp_path: Path) -> None:
    times = [
        Fraction(0),
        Fraction(1, 30),
        Fraction(5, 30),
        Fraction(6, 30),
        Fraction(20, 30),
        Fraction(21, 30),
    ]
    path = make(
        tmp_path / "clip.mp4",
        Recipe(picture_codec="libx264", frame_rate=Fraction(30), frame_times_s=times),
    )
    moments = [0.01, 0.1, 0.17, 0.3, 0.6, 0.69, 2.0]
    assert [number_in(one) for one in pictures_at(path, moments, 48)] == [0, 1, 2, 3, 3, 4, 5]


def coloured(path: Path, size: tuple[int, int], rotation: int = 0) -> Path:
    """Left half red, right half blue, tagged with nothing; coded by ITU-R BT.709 as high definition is."""
    picture = np.zeros((size[1], size[0], 3), np.uint8)
    picture[:, : size[0] // 2, 0] = 200
    picture[:, size[0] // 2 :, 2] = 200
    with av.open(str(path), "w") as out:
        stream = out.add_stream("libx264", rate=25)
        assert isinstance(stream, av.VideoStream)
        stream.width, stream.height, stream.pix_fmt = *size, "yuv420p"
        stream.options = {"preset": "ultrafast", "crf": "10"}
        if rotation:
            stream.set_display_rotation(rotation)
        colours = av.video.reformatter.Colorspace.ITU709 if size[1] >= 720 else None
        for number in range(3):
            frame = av.VideoFrame.from_ndarray(picture, format="rgb24")
            frame = frame.reformat(format="yuv420p", dst_colorspace=colours)
            frame.colorspace = 2
            frame.pts, frame.time_base = number, Fraction(1, 25)
            out.mux(stream.encode(frame))
        out.mux(stream.encode(None))
    return path


@pytest.mark.parametrize("size", [(64, 48), (1280, 720)])
def test_colours_of_untagged_pictures(size: tuple[int, int], tmp_path: Path) -> None:
    """ITU-R BT.601 below, BT.709 from 720 lines on: the usual reading where a file does not tell."""
    picture = pictures_at(coloured(tmp_path / "clip.mp4", size), [0], 48)[0]
    red, blue = picture[24, 8], picture[24, -8]
    assert np.allclose(red, [200, 0, 0], atol=8)
    assert np.allclose(blue, [0, 0, 200], atol=8)


@pytest.mark.parametrize(
    ("rotation", "red_side"), [(0, "left"), (90, "bottom"), (180, "right"), (-90, "top")]
)
def test_turned_pictures_stand_upright(rotation: int, red_side: str, tmp_path: Path) -> None:
    """Rotation counts against the clock, as the display matrix of ISO/IEC 14496-12 is read by the library."""
    path = coloured(tmp_path / "clip.mp4", (96, 64), rotation)
    picture = pictures_at(path, [0], 48)[0]
    assert picture.shape == ((48, 72, 3) if rotation % 180 == 0 else (48, 32, 3))
    sides = {
        "left": picture[:, :8],
        "right": picture[:, -8:],
        "top": picture[:8],
        "bottom": picture[-8:],
    }
    redness = {side: float(part[..., 0].mean()) - float(part[..., 2].mean()) for side, part in sides.items()}
    assert max(redness, key=lambda side: redness[side]) == red_side


def test_pixels_that_are_not_square(tmp_path: Path) -> None:
    """1440 by 1080 with pixels 4:3 is shown 16:9 (common practice of HDV); here a twentieth of it."""
    path = make(
        tmp_path / "clip.mov", Recipe(size=(72, 54), pixel_shape=Fraction(4, 3), picture_codec="libx264")
    )
    assert pictures_at(path, [0], 54)[0].shape == (54, 96, 3)
    assert pictures_at(path, [0], 27)[0].shape == (27, 48, 3)


def test_a_picture_track_of_nothing(tmp_path: Path) -> None:
    path = clip(tmp_path, "TS")
    # Only the tables and the first packets: a picture track is announced and nothing can be decoded.
    path.write_bytes(path.read_bytes()[: 188 * 4])
    with pytest.raises(Unreadable):
        pictures_at(path, [0], 48)[0]
