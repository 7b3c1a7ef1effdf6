"""A folder of answers: damaged entries, a bounded size, writers side by side."""

import os
import threading
from pathlib import Path

import pytest

from app.model.storage.cache import Cache, user_cache


def entries(folder: Path) -> list[Path]:
    return sorted(folder.iterdir()) if folder.is_dir() else []


def test_what_was_put_comes_back(tmp_path: Path) -> None:
    cache = Cache(tmp_path / "deep" / "er")
    assert cache.get("a1") is None
    value = {"pi": 3.141592653589793, "text": "Fähre \udc80", "list": [None, True, {"x": []}]}
    cache.put("a1", value)
    assert cache.get("a1") == value
    assert cache.get("a2") is None
    cache.put("a1", {"new": 1})
    assert cache.get("a1") == {"new": 1}
    assert len(entries(tmp_path / "deep" / "er")) == 1


@pytest.mark.parametrize("damage", ["cut", "bit", "empty", "other", "binary"])
def test_a_damaged_entry_is_not_there(tmp_path: Path, damage: str) -> None:
    cache = Cache(tmp_path)
    cache.put("a1", {"bars_s": [1.25, 2.5]})
    cache.put("b2", {"bars_s": [7.25]})
    path, other = entries(tmp_path)
    whole = path.read_bytes()
    place = whole.index(b"1.25")
    path.write_bytes({
        "cut": whole[:-3], "bit": whole[:place] + b"9" + whole[place + 1 :], "empty": b"",
        "other": other.read_bytes(), "binary": bytes(range(256)),
    }[damage])  # fmt: skip
    assert cache.get("a1") is None
    cache.put("a1", {"bars_s": [3.0]})
    assert cache.get("a1") == {"bars_s": [3.0]}


def test_a_folder_that_cannot_be_used_keeps_nothing(tmp_path: Path) -> None:
    (tmp_path / "file").write_bytes(b"x")
    cache = Cache(tmp_path / "file" / "answers")
    cache.put("a1", {"x": 1})
    assert cache.get("a1") is None
    cache.tidy()
    assert (tmp_path / "file").read_bytes() == b"x"


def test_numbers_that_are_none_are_not_kept(tmp_path: Path) -> None:
    Cache(tmp_path).put("a1", {"x": float("nan")})
    assert entries(tmp_path) == []


def test_the_longest_unused_goes_first(tmp_path: Path) -> None:
    cache = Cache(tmp_path, most_bytes=5000)
    for number in range(9):
        cache.put(f"k{number}", {"x": "x" * 800})
        os.utime(tmp_path / f"k{number}.answer", (1e9 + number, 1e9 + number))
    (tmp_path / "foreign.txt").write_text("stays")
    os.utime(tmp_path / "foreign.txt", (1, 1))
    assert cache.get("k0") is not None  # used just now
    cache.tidy()
    left = [number for number in range(9) if cache.get(f"k{number}") is not None]
    assert left == [0, 6, 7, 8]
    assert (tmp_path / "foreign.txt").exists()
    before = entries(tmp_path)
    cache.tidy()
    assert entries(tmp_path) == before


def test_readers_find_a_whole_entry_while_others_write(tmp_path: Path) -> None:
    values = [{"who": who, "much": [who] * 20000} for who in range(4)]
    Cache(tmp_path).put("a1", values[0])

    def write(value: dict[str, object]) -> None:
        for _ in range(20):
            Cache(tmp_path).put("a1", value)

    writers = [threading.Thread(target=write, args=(value,)) for value in values]
    for writer in writers:
        writer.start()
    while any(writer.is_alive() for writer in writers):
        assert Cache(tmp_path).get("a1") in values
    for writer in writers:
        writer.join()
    assert [path.name for path in entries(tmp_path)] == ["a1.answer"]


def test_where_each_system_keeps_it() -> None:
    """XDG Base Directory Specification 0.8; the macOS and Windows folders are common practice."""
    home = Path.home()
    assert user_cache({}, "linux") == home / ".cache" / "anglebook"
    assert user_cache({"XDG_CACHE_HOME": "not/absolute"}, "linux") == home / ".cache" / "anglebook"
    assert user_cache({}, "darwin") == home / "Library" / "Caches" / "anglebook"
    assert user_cache({"LOCALAPPDATA": "/local"}, "win32") == Path("/local/anglebook")
