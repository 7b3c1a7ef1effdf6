"""Several clips watched at once: the right picture of each, a few in hand, and threads that end."""

import threading
import time
from fractions import Fraction
from pathlib import Path

import pytest

from audio.play.frame_prefetch import MOST_PICTURES, THREAD_NAME, FramePrefetcher, FrameRequest
from tests.audio.media_files import Recipe, make, number_in

RATE = Fraction(25)


@pytest.fixture(scope="module")
def clips(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    folder = tmp_path_factory.mktemp("clips")
    recipe = Recipe(picture_codec="libx264", b_frames=2, picture_s=4.0, frame_rate=RATE)
    return [make(folder / f"c{number}.mov", recipe) for number in range(4)]


def seen(watcher: FramePrefetcher, requests: list[FrameRequest]) -> list[int]:
    """The numbers of the pictures shown at the wished moments, waited for."""
    for _ in range(1000):
        watcher.want(requests)
        shown = [watcher.picture(one.key, one.clip_s) for one in requests]
        if all(one is not None and one.picture.shape[0] == 48 for one in shown):
            return [number_in(one.picture) for one in shown if one is not None]
        time.sleep(0.01)
    raise AssertionError("pictures do not come")


def test_each_clip_shows_its_own_moment(clips: list[Path]) -> None:
    watcher = FramePrefetcher()
    for base in (0.02, 3.5, 1.1, 1.14):
        moments = [base + 0.08 * number for number in range(4)]
        requests = [
            FrameRequest(path.name, path, at, 48, False) for path, at in zip(clips, moments, strict=True)
        ]
        assert seen(watcher, requests) == [int(at * 25 + 1e-9) % 10 for at in moments]
    watcher.close()


def test_a_running_clip_is_decoded_ahead_but_not_far(clips: list[Path]) -> None:
    watcher = FramePrefetcher()
    for step in range(60):
        assert seen(watcher, [FrameRequest("a", clips[0], step / 50 + 0.001, 48, True)]) == [step // 2 % 10]
        assert sum(len(watched.shown) for watched in watcher._watched.values()) <= MOST_PICTURES
    watcher.close()


def test_two_takes_of_one_clip(clips: list[Path]) -> None:
    watcher = FramePrefetcher()
    assert seen(
        watcher, [FrameRequest("one", clips[0], 0.5, 48, True), FrameRequest("two", clips[0], 3.1, 48, True)]
    ) == [
        2,
        7,
    ]
    watcher.close()


def test_what_cannot_be_seen_is_told(tmp_path: Path) -> None:
    watcher = FramePrefetcher()
    path = tmp_path / "gone.mov"
    for _ in range(500):
        watcher.want([FrameRequest(path.name, path, 0.0, 48, True)])
        if watcher.trouble(path.name):
            break
        time.sleep(0.01)
    assert "not there" in watcher.trouble(path.name)
    assert watcher.picture(path.name, 0.0) is None
    watcher.close()


def test_threads_end_and_files_are_let_go(clips: list[Path]) -> None:
    watcher = FramePrefetcher()
    seen(watcher, [FrameRequest(path.name, path, 1.0, 48, True) for path in clips])
    watcher.want([])
    watcher.close()
    assert not [one for one in threading.enumerate() if one.name == THREAD_NAME]
    watcher.want([FrameRequest("a", clips[0], 1.0, 48, True)])
    assert not [one for one in threading.enumerate() if one.name == THREAD_NAME]


def test_any_moment_whatever_its_rounding_comes_to_an_end(clips: list[Path]) -> None:
    """Moments at the very border of two pictures, where times were rounded, do not keep it busy for ever."""
    watcher = FramePrefetcher()
    for number in range(1, 90, 7):
        border = float(number / RATE)
        for moment in (border, border - 1e-12, border + 1e-12):
            assert seen(watcher, [FrameRequest("b", clips[1], moment, 48, True)])[0] in {
                number % 10,
                (number - 1) % 10,
            }
    watcher.close()
