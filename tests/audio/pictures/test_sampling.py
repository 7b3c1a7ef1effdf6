"""Pictures of a clip to be looked at: the right ones, at the right times, whatever the camera wrote."""

from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest

import audio.pictures.sampling as sampling
from audio.errors import Stopped, Unreadable
from audio.pictures.sampling import Picture, pictures_of, stamps_of
from tests.audio.media_files import Recipe, frame_picture, make, noise, number_in

RATE = Fraction(25)


def numbers(pictures: Sequence[Picture]) -> list[int]:
    return [number_in(one.luma) for one in pictures]


def expected(pictures: Sequence[Picture], rate: Fraction = RATE) -> list[int]:
    """The numbers that frames at these times have."""
    return [round(one.clip_s * rate) % 10 for one in pictures]


@pytest.fixture
def sparse(monkeypatch: pytest.MonkeyPatch) -> None:
    """Every clip counts as one that costs too much to decode whole."""
    monkeypatch.setattr(sampling, "WHOLE_PIXELS", 0)


@pytest.mark.parametrize(
    ("name", "recipe"),
    [
        ("plain.mp4", Recipe()),
        ("reordered.mov", Recipe(picture_codec="libx264", b_frames=2, options={})),
        ("open.mov", Recipe(picture_codec="libx264", b_frames=2, open_groups=True)),
        ("late.mkv", Recipe(picture_delay_s=Fraction(1, 2), tracks=[noise(2.0)])),
        ("stream.ts", Recipe(picture_codec="mpeg2video", b_frames=2)),
        ("old.avi", Recipe()),
        ("intra.mov", Recipe(picture_codec="mjpeg")),
    ],
)
def test_a_small_clip_is_seen_frame_by_frame(tmp_path: Path, name: str, recipe: Recipe) -> None:
    path = make(tmp_path / name, recipe)
    pictures = list(pictures_of(path, height=48))
    assert len(pictures) >= 48
    assert {one.run for one in pictures} == {0}
    assert [one.clip_s for one in pictures] == pytest.approx([n / 25 for n in range(len(pictures))], abs=2e-3)
    assert numbers(pictures) == expected(pictures)
    assert stamps_of(path)[: len(pictures)] == pytest.approx([one.clip_s for one in pictures], abs=2e-3)


@pytest.mark.usefixtures("sparse")
@pytest.mark.parametrize(
    ("name", "codec", "b_frames", "open_groups"),
    [
        ("a.mp4", "mpeg4", 0, False),
        ("b.mov", "libx264", 2, False),
        ("c.mov", "libx264", 2, True),
        ("d.ts", "mpeg2video", 2, False),
        ("e.mkv", "libx264", 0, False),
        ("f.mov", "mjpeg", 0, False),
    ],
)
def test_a_large_clip_is_seen_by_key_frames_and_bursts(
    tmp_path: Path, name: str, codec: str, b_frames: int, open_groups: bool
) -> None:
    recipe = Recipe(picture_s=34.0, picture_codec=codec, b_frames=b_frames, open_groups=open_groups)
    pictures = list(pictures_of(make(tmp_path / name, recipe), height=48))
    times = np.array([one.clip_s for one in pictures])
    assert (np.diff(times) > 0).all()
    assert numbers(pictures) == expected(pictures)
    runs = [[one for one in pictures if one.run == run] for run in sorted({one.run for one in pictures})]
    bursts = [run for run in runs if len(run) > 1]
    assert len(bursts) == 2
    for burst in bursts:
        # Consecutive frames, for about two seconds.
        assert np.diff([one.clip_s for one in burst]) == pytest.approx(1 / 25, abs=2e-3)
        assert 1.9 < burst[-1].clip_s - burst[0].clip_s < 2.01
    # Between them about two a second, and no long stretch that nobody looks at.
    assert np.diff(times).max() < 1.1
    assert 30 < len(runs) < 70
    assert len(pictures) < 0.25 * 34 * 25 + 60


def test_pictures_are_upright_and_of_square_pixels(tmp_path: Path) -> None:
    turned = make(tmp_path / "turned.mp4", Recipe(rotation=90))
    [first, *_] = pictures_of(turned, height=64)
    assert first.luma.shape == (64, 48)
    assert first.rgb is not None
    assert first.rgb.shape == (64, 48, 3)
    wide = make(tmp_path / "wide.mov", Recipe(pixel_shape=Fraction(4, 3), picture_codec="libx264"))
    [first, *_] = pictures_of(wide, height=48)
    assert first.luma.shape == (48, 85)


def test_times_follow_a_variable_rate_and_stamps_tell_what_is_missing(tmp_path: Path) -> None:
    times = [Fraction(n, 25) for n in range(50) if n not in (20, 21, 22)]
    path = make(tmp_path / "gap.mp4", Recipe(frame_times_s=times))
    assert [one.clip_s for one in pictures_of(path)] == pytest.approx([float(s) for s in times], abs=1e-4)
    assert stamps_of(path) == pytest.approx([float(s) for s in times], abs=1e-4)


def write(path: Path, codec: str, pixels: str, frames: int = 12, **context: object) -> Path:
    """A file of grey steps in a pixel format, with what the coder is told."""
    with av.open(str(path), "w") as out:
        stream = out.add_stream(codec, rate=25)
        assert isinstance(stream, av.VideoStream)
        stream.width, stream.height, stream.pix_fmt = 64, 48, pixels
        for name, value in context.items():
            setattr(stream.codec_context, name, value)
        for number in range(frames):
            frame = av.VideoFrame.from_ndarray(frame_picture(number, (64, 48)), format="rgb24")
            frame = frame.reformat(format=pixels)
            frame.pts, frame.time_base = number, Fraction(1, 25)
            out.mux(stream.encode(frame))
        out.mux(stream.encode(None))
    return path


@pytest.mark.parametrize(
    ("name", "codec", "pixels", "context"),
    [
        ("ten.mov", "prores_ks", "yuv422p10le", {}),
        ("alpha.mov", "prores_ks", "yuva444p10le", {"options": {"profile": "4444"}}),
        ("rgb.mov", "qtrle", "rgb24", {}),
        ("hdr.mp4", "libx265", "yuv420p10le", {"color_trc": 18, "color_primaries": 9, "colorspace": 9}),
        ("fields.ts", "mpeg2video", "yuv420p", {"options": {"flags": "+ildct+ilme"}}),
        ("grey.mkv", "ffv1", "gray", {}),
        ("deep.mkv", "ffv1", "gray12le", {}),
        ("one.mov", "mpeg4", "yuv420p", {"frames": 1}),
    ],
)
@pytest.mark.parametrize("whole", [True, False])
def test_every_kind_of_picture_is_seen(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    name: str,
    codec: str,
    pixels: str,
    context: dict[str, object],
    whole: bool,
) -> None:
    if not whole:
        monkeypatch.setattr(sampling, "WHOLE_PIXELS", 0)
    path = write(tmp_path / name, codec, pixels, **context)  # type: ignore[arg-type]
    pictures = list(pictures_of(path, height=48))
    assert len(pictures) >= (int(str(context.get("frames", 11))) if whole else 1)
    assert pictures[0].luma.shape == (48, 64)
    assert pictures[0].luma.dtype == np.uint8
    assert pictures[0].rgb is not None
    assert pictures[0].clip_s == 0
    # Codes of grey, a little apart by the coder and, for HDR, by the matrix.
    assert abs(float(pictures[0].rgb[:, 40:].mean()) - 40) < 6
    assert abs(float(pictures[0].luma[:, 40:].mean()) - 40) < 6


def test_full_and_video_range_both_come_out_full(tmp_path: Path) -> None:
    for name, codec in (("full.mov", "mjpeg"), ("video.mov", "libx264")):
        [first, *_] = pictures_of(make(tmp_path / name, Recipe(picture_codec=codec)), height=48)
        assert abs(float(first.luma[:, 40:60].mean()) - 40) < 3


def test_broken_frames_are_left_out_and_begin_a_run(tmp_path: Path) -> None:
    path = make(tmp_path / "whole.ts", Recipe(picture_codec="mpeg2video", picture_s=8.0))
    data = bytearray(path.read_bytes())
    middle = len(data) // 2 // 188 * 188
    for packet in range(middle, middle + 20 * 188, 188):
        data[packet + 8 : packet + 188] = bytes(180)
    broken = tmp_path / "broken.ts"
    broken.write_bytes(bytes(data))
    pictures = list(pictures_of(broken, height=48))
    assert 100 < len(pictures) <= 200
    assert (np.diff([one.clip_s for one in pictures]) > 0).all()


def test_a_cut_off_file_is_seen_as_far_as_it_goes(tmp_path: Path) -> None:
    path = make(tmp_path / "whole.mkv", Recipe(picture_codec="libx264", picture_s=6.0))
    cut = tmp_path / "cut.mkv"
    cut.write_bytes(path.read_bytes()[: path.stat().st_size // 2])
    pictures = list(pictures_of(cut, height=48))
    assert 30 < len(pictures) < 120
    assert numbers(pictures) == expected(pictures)


def test_trouble_is_told_in_a_sentence(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    sound = make(tmp_path / "sound.wav", Recipe(tracks=[noise(1.0)], picture_s=0))
    with pytest.raises(Unreadable, match="only sound"):
        list(pictures_of(sound))
    with pytest.raises(Unreadable, match="not there"):
        list(pictures_of(tmp_path / "gone.mov"))
    clip = make(tmp_path / "clip.mov", Recipe())
    with pytest.raises(Stopped):
        list(pictures_of(clip, stop=lambda: True))
    with pytest.raises(Stopped):
        stamps_of(clip, stop=lambda: True)
    thin = make(tmp_path / "thin.mkv", Recipe(pixel_shape=Fraction(1, 40), picture_codec="libx264"))
    with pytest.raises(Unreadable, match="no usual shape"):
        list(pictures_of(thin))
    monkeypatch.setattr(sampling, "MOST_PIXELS", 64 * 48 - 1)
    with pytest.raises(Unreadable, match="too large to look at"):
        list(pictures_of(clip))
