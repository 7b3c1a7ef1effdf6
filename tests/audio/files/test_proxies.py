"""Proxies show what the clip shows, at the same times to the tick, from whole pictures only."""

from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest

from audio.errors import Stopped, Unreadable
from audio.files.proxies import LINES, make_proxy
from audio.play.frame_source import FrameSource
from tests.audio.media_files import Recipe, low_noise, make, number_in

RATE = Fraction(30000, 1001)
UNEVEN = [Fraction(n * n + 40 * n, 1200) for n in range(40)]
CLIPS: dict[str, tuple[str, dict[str, object]]] = {
    "MOV with sound": ("clip.mov", {"picture_codec": "libx264", "b_frames": 2, "tracks": [low_noise(2.0)]}),
    "MOV, picture later": ("clip.mov", {"picture_codec": "libx264", "picture_delay_s": Fraction(3, 10)}),
    "TS": ("clip.ts", {"picture_codec": "libx264", "b_frames": 2}),
    "MXF": ("clip.mxf", {"picture_codec": "mpeg2video", "b_frames": 2}),
    "uneven": ("clip.mp4", {"picture_codec": "libx264", "frame_times_s": UNEVEN, "frame_rate": Fraction(30)}),
}


def clip(folder: Path, name: str) -> Path:
    file, facts = CLIPS[name]
    whole: dict[str, object] = {"frame_rate": RATE, "picture_s": float(60 / RATE)}
    return make(folder / file, Recipe(**(whole | facts)))  # type: ignore[arg-type]


def frame_times(path: Path) -> list[Fraction]:
    """Times of the frames from the first one on, as the library tells them."""
    with av.open(str(path), options={"advanced_editlist": "0"}) as media:
        times = sorted(
            frame.pts * frame.time_base
            for frame in media.decode(video=0)
            if frame.pts is not None and frame.time_base is not None
        )
    return [one - times[0] for one in times]


@pytest.mark.parametrize("name", CLIPS)
def test_times_and_pictures_are_those_of_the_clip(name: str, tmp_path: Path) -> None:
    path, target = clip(tmp_path, name), tmp_path / "proxy.mov"
    reported: list[float] = []
    make_proxy(path, target, progress=reported.append)
    times = frame_times(path)
    assert frame_times(target) == times
    assert reported[-1] == 1.0
    assert sorted(reported) == reported
    with av.open(str(target)) as media:
        assert not media.streams.audio
        packets = [one for one in media.demux(video=0) if one.size]
    assert all(one.is_keyframe for one in packets)
    film, proxy = FrameSource(path), FrameSource(target)
    for number in (0, 1, 17, 30, len(times) - 2, 3):
        middle_s = float(times[number] + times[number + 1]) / 2
        there, here = film.at(middle_s, 48), proxy.at(middle_s, 48)
        assert number_in(here.picture) == number_in(there.picture) == number % 10
        assert (here.start_s, here.end_s) == (there.start_s, there.end_s)
        assert here.start_s == pytest.approx(float(times[number]), abs=1e-9)
    film.close()
    proxy.close()


def test_a_large_clip_becomes_small_and_upright(tmp_path: Path) -> None:
    path = make(tmp_path / "c.mov", Recipe(size=(1280, 720), picture_s=0.4, pixel_shape=Fraction(4, 3)))
    make_proxy(path, tmp_path / "s.mov")
    with av.open(str(tmp_path / "s.mov")) as media:
        stream = media.streams.video[0]
        assert stream.height == LINES
        assert stream.width == pytest.approx(LINES * 1280 / 720 * 4 / 3, abs=2)
    turned = make(tmp_path / "t.mov", Recipe(size=(96, 64), picture_s=0.4, rotation=90))
    make_proxy(turned, tmp_path / "u.mov")
    with av.open(str(tmp_path / "u.mov")) as media:
        assert (media.streams.video[0].width, media.streams.video[0].height) == (64, 96)


def test_colours_stay(tmp_path: Path) -> None:
    path = make(tmp_path / "c.mov", Recipe(picture_s=0.4))
    make_proxy(path, tmp_path / "s.mov")
    there, here = FrameSource(path), FrameSource(tmp_path / "s.mov")
    difference = there.at(0.1, 48).picture.astype(int) - here.at(0.1, 48).picture
    assert np.abs(difference.mean(axis=(0, 1))).max() < 3
    there.close()
    here.close()


def test_nothing_is_left_of_one_that_was_stopped_or_cannot_be_made(tmp_path: Path) -> None:
    path = clip(tmp_path, "MXF")
    seen: list[int] = []

    def stop() -> bool:
        seen.append(1)
        return len(seen) > 5

    with pytest.raises(Stopped):
        make_proxy(path, tmp_path / "s.mov", stop=stop)
    wave = make(tmp_path / "c.wav", Recipe(tracks=[low_noise(1.0)], picture_s=0))
    with pytest.raises(Unreadable, match="no picture"):
        make_proxy(wave, tmp_path / "s.mov")
    assert sorted(one.name for one in tmp_path.iterdir()) == ["c.wav", "clip.mxf"]
