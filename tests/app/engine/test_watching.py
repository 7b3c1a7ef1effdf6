"""The folder of proxies: found by content, used again, and never larger than it may be."""

import os
from fractions import Fraction
from pathlib import Path

import pytest

from app.engine.watching import Proxies, needs_proxy
from app.model.document.media_ref import MediaRef
from app.model.on_song import Clip
from tests.audio.media_files import Recipe, make


def clip(path: Path, digest: str = "aa") -> Clip:
    return Clip("c", MediaRef(str(path), path.stat().st_size, digest), "a", frame_rate=Fraction(25))


def never() -> bool:
    return False


def test_a_proxy_is_found_wherever_the_clip_lies(tmp_path: Path) -> None:
    path = make(tmp_path / "clip.mov", Recipe(picture_s=0.4))
    before = path.read_bytes()
    proxies = Proxies(tmp_path / "cache")
    assert proxies.find(clip(path).media) is None
    told: list[float] = []
    made = proxies.make(clip(path), stop=never, progress=told.append)
    assert told
    assert proxies.find(clip(path).media) == made
    moved = MediaRef("/elsewhere/other.mov", path.stat().st_size, "aa")
    assert proxies.find(moved) == made
    assert Proxies(tmp_path / "cache").find(moved) == made
    assert proxies.find(clip(path, "bb").media) is None
    assert path.read_bytes() == before
    assert sorted(one.name for one in tmp_path.iterdir()) == ["cache", "clip.mov"]


def test_the_longest_unused_go_first(tmp_path: Path) -> None:
    path = make(tmp_path / "clip.mov", Recipe(picture_s=0.4))
    cache = tmp_path / "cache"
    made = [Proxies(cache).make(clip(path, name), stop=never, progress=never_told) for name in "abc"]
    size = made[0].stat().st_size
    for number, one in enumerate(made):
        os.utime(one, (1000 + number, 1000 + number))
    proxies = Proxies(cache, most_bytes=round(3.5 * size))
    assert proxies.find(clip(path, "a").media) == made[0], "used just now"
    last = proxies.make(clip(path, "d"), stop=never, progress=never_told)
    assert sorted(cache.iterdir()) == sorted([made[0], made[2], last])


def test_the_one_just_made_stays_however_small_the_room(tmp_path: Path) -> None:
    path = make(tmp_path / "clip.mov", Recipe(picture_s=0.4))
    proxies = Proxies(tmp_path / "cache", most_bytes=1)
    proxies.make(clip(path, "a"), stop=never, progress=never_told)
    made = proxies.make(clip(path, "b"), stop=never, progress=never_told)
    assert list((tmp_path / "cache").iterdir()) == [made]


@pytest.mark.parametrize(
    ("size", "rate", "needed"),
    [((3840, 2160), 25, True), ((1920, 1080), 25, True), ((1280, 720), 30, False), ((480, 270), 50, False)],
)
def test_which_clips_need_one(size: tuple[int, int], rate: int, needed: bool) -> None:
    media = MediaRef("/c.mov", 1, "00")
    assert needs_proxy(Clip("c", media, "a", 1.0, Fraction(rate), False, *size)) is needed
    assert not needs_proxy(Clip("c", media, "a", 1.0, None))


def never_told(share: float) -> None:
    pass
