"""Files written bit by bit to a neighbour: swapped in whole, or not at all."""

from pathlib import Path

import pytest

from app.model.storage.files import make_whole
from app.model.storage.guard import NO_CLIPS


def new(neighbour: Path) -> None:
    neighbour.write_bytes(b"new")


def test_what_was_made_takes_its_place(tmp_path: Path) -> None:
    path = tmp_path / "film.mp4"
    path.write_bytes(b"old")
    path.chmod(0o640)
    seen: list[bytes] = []
    make_whole(path, new, NO_CLIPS, lambda one: seen.append(one.read_bytes()))
    assert (path.read_bytes(), seen) == (b"new", [b"new"])
    assert path.stat().st_mode & 0o777 == 0o640
    assert list(tmp_path.iterdir()) == [path]


def test_a_maker_that_fails_half_way_leaves_what_was_there(tmp_path: Path) -> None:
    path = tmp_path / "film.mp4"
    path.write_bytes(b"old")

    def half(neighbour: Path) -> None:
        neighbour.write_bytes(b"half")
        raise RuntimeError("half way")

    def refuse(neighbour: Path) -> None:
        raise ValueError("not good")

    with pytest.raises(RuntimeError, match="half way"):
        make_whole(path, half, NO_CLIPS)
    with pytest.raises(ValueError, match="not good"):
        make_whole(path, new, NO_CLIPS, refuse)
    with pytest.raises(FileNotFoundError):
        make_whole(path, lambda one: None, NO_CLIPS)
    assert path.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [path]
