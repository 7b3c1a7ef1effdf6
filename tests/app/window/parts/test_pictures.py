"""Pictures: kept by content, fetched once, the cache folder held small."""

import os
from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from PySide6.QtCore import QObject
from pytestqt.qtbot import QtBot

from app.window.jobs import Jobs
from app.window.parts.clip_pictures import SLOT, Pictures, prune_folder
from tests.app.window.made_up import MadeUpTasks, make_clip

CLIP = make_clip("Singer/C0001.mov", [(1, 30, False)])


@pytest.fixture
def jobs(qapp: QObject) -> Iterator[Jobs]:
    made = Jobs()
    yield made
    made.close()


def fetch(qtbot: QtBot, pictures: Pictures, jobs: Jobs, moment: float = 3.0) -> None:
    assert pictures.get(CLIP, moment, 30) is None
    qtbot.waitUntil(lambda: pictures.get(CLIP, moment, 30) is not None and not jobs.busy(SLOT))


def test_a_picture_is_fetched_once_and_has_the_height_asked_for(
    qtbot: QtBot, jobs: Jobs, tasks: MadeUpTasks, tmp_path: Path
) -> None:
    pictures = Pictures(tasks, jobs, tmp_path / "pictures")
    fetch(qtbot, pictures, jobs)
    image = pictures.get(CLIP, 3.04, 30)
    assert image is not None, "a neighbouring moment shares the picture"
    assert image.height() == 30
    assert tasks.pictures_taken == 1


def test_a_clip_that_was_moved_keeps_its_pictures_on_disk(
    qtbot: QtBot, jobs: Jobs, tasks: MadeUpTasks, tmp_path: Path
) -> None:
    fetch(qtbot, Pictures(tasks, jobs, tmp_path / "pictures"), jobs)
    moved = replace(CLIP, media=replace(CLIP.media, path="/elsewhere/C0001.mov"))
    again = Pictures(tasks, jobs, tmp_path / "pictures")
    again.get(moved, 3.0, 30)
    qtbot.waitUntil(lambda: again.get(moved, 3.0, 30) is not None)
    assert tasks.pictures_taken == 1


def test_other_content_of_the_same_name_gets_other_pictures(
    qtbot: QtBot, jobs: Jobs, tasks: MadeUpTasks, tmp_path: Path
) -> None:
    pictures = Pictures(tasks, jobs, tmp_path / "pictures")
    fetch(qtbot, pictures, jobs)
    changed = replace(CLIP, media=replace(CLIP.media, digest="other"))
    assert pictures.get(changed, 3.0, 30) is None
    qtbot.waitUntil(lambda: pictures.get(changed, 3.0, 30) is not None)
    assert tasks.pictures_taken == 2


def test_a_clip_that_gives_no_picture_is_not_asked_for_ever(qtbot: QtBot, jobs: Jobs, tmp_path: Path) -> None:
    class Broken(MadeUpTasks):
        def pictures(self, path: Path, times: object, height: int) -> object:  # type: ignore[override]
            self.pictures_taken += 1
            raise OSError(5, "Input/output error", str(path))

    tasks = Broken()
    pictures = Pictures(tasks, jobs, tmp_path / "pictures")
    arrived: list[None] = []
    pictures.arrived.connect(lambda: arrived.append(None))
    pictures.get(CLIP, 3.0, 30)
    qtbot.waitUntil(lambda: bool(arrived) and not jobs.busy(SLOT))
    pictures.get(CLIP, 3.0, 30)
    assert not jobs.busy(SLOT)
    assert tasks.pictures_taken == 1


def test_the_oldest_pictures_go_when_the_folder_is_full(tmp_path: Path) -> None:
    for n in range(5):
        path = tmp_path / f"{n}.jpg"
        path.write_bytes(bytes(100))
        os.utime(path, (n, n))
    prune_folder(tmp_path, 250)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["3.jpg", "4.jpg"]
    prune_folder(tmp_path / "not there", 250)


def test_a_frame_is_the_very_one(qtbot: QtBot, jobs: Jobs, tmp_path: Path) -> None:
    class Noting(MadeUpTasks):
        def __init__(self) -> None:
            super().__init__()
            self.asked: list[float] = []

        def pictures(self, path: Path, times: Sequence[float], height: int) -> list[NDArray[np.uint8]]:
            self.asked += times
            return super().pictures(path, times, height)

    tasks = Noting()
    pictures = Pictures(tasks, jobs, tmp_path / "pictures")
    fast = replace(CLIP, frame_rate=Fraction(60000, 1001))
    for number in (300, 301, 302):
        assert pictures.frame(fast, number, 30) is None
    qtbot.waitUntil(lambda: all(pictures.frame(fast, number, 30) is not None for number in (300, 301, 302)))
    assert sorted(int(time * fast.frame_rate) for time in tasks.asked) == [300, 301, 302]
