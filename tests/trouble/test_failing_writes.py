"""Whatever is written fails, once for each thing that is written: what was there before stays whole."""

import hashlib
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from app.handoff.all import write_all
from app.handoff.choices import Choices
from app.handoff.outcome import HandoffError
from app.model.document import store
from app.model.on_song import on_song
from app.model.storage.cache import Cache
from tests.trouble.bad_shoots import full_shoot
from tests.trouble.failing_disk import FailingDisk, failing

MOST = 5_000


def each_failure(run: Callable[[FailingDisk], None]) -> int:
    """Run once for each thing that is written, until nothing fails any more; tells how many failed."""
    for at in range(1, MOST):
        disk = FailingDisk(at)
        run(disk)
        if not disk.failed:
            return at - 1
    pytest.fail("it never ends")


def left(folder: Path) -> dict[str, str]:
    """What is in a folder and below it."""
    return {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def test_a_shoot_is_the_old_one_or_the_new_one(tmp_path: Path) -> None:
    path, old = tmp_path / "shoot.anglebook", replace(full_shoot(), name="old")
    new = replace(old, name="new")

    def run(disk: FailingDisk) -> None:
        store.save(old, path)
        with failing(disk):
            try:
                store.save(new, path)
                saved = True
            except store.StoreError as error:
                saved = False
                assert "Errno" not in str(error)  # noqa: PT017
                assert str(error).endswith(".")  # noqa: PT017
        assert store.load(path, trust=True).name == ("new" if saved else "old")
        assert [one.name for one in tmp_path.iterdir()] == [path.name], "nothing half-written stays"

    assert each_failure(run) >= 4


def test_an_answer_is_kept_whole_or_not_at_all(tmp_path: Path) -> None:
    def run(disk: FailingDisk) -> None:
        cache = Cache(tmp_path / str(disk.at))
        with failing(disk):
            cache.put("key", {"value": 1})
        assert cache.get("key") in (None, {"value": 1})
        assert disk.failed or cache.get("key") is not None

    assert each_failure(run) >= 4


def test_files_of_a_hand_off_are_those_of_before_or_whole_new_ones(tmp_path: Path) -> None:
    shoot = on_song(replace(full_shoot(), playbacks=()), "song-1")
    choices = Choices()
    write_all(shoot, tmp_path / "whole", choices)
    whole = left(tmp_path / "whole")

    def run(disk: FailingDisk) -> None:
        folder = tmp_path / str(disk.at)
        with failing(disk):
            try:
                troubles = write_all(shoot, folder, choices).troubles
            except HandoffError as error:
                troubles = (str(error),)
        there = left(folder) if folder.exists() else {}
        assert there.items() <= whole.items(), "a file is whole, or is not there"
        assert not disk.failed or troubles or there == whole
        for sentence in troubles:
            assert "Errno" not in sentence

    assert each_failure(run) >= 8
