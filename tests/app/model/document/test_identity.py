"""Files known by content; the fingerprint is worked out a second way, from its description."""

import hashlib
import os
from pathlib import Path

from app.model.document.identity import find_again, fingerprint, media_ref

MIB = 1024 * 1024


def test_a_long_file_is_hashed_at_sixteen_spots(tmp_path: Path) -> None:
    content = os.urandom(3 * MIB + 12345)
    path = tmp_path / "a.mov"
    path.write_bytes(content)
    size = len(content)
    parts = [content[n * (size - 65536) // 15 :][:65536] for n in range(16)]
    assert parts[15] == content[-65536:]
    assert fingerprint(path) == hashlib.sha256(size.to_bytes(8, "big") + b"".join(parts)).hexdigest()


def test_a_short_file_is_hashed_whole(tmp_path: Path) -> None:
    for size in (0, 1, 65536, MIB):
        content = os.urandom(size)
        path = tmp_path / "a.mov"
        path.write_bytes(content)
        assert fingerprint(path) == hashlib.sha256(size.to_bytes(8, "big") + content).hexdigest()


def test_a_reference_tells_place_size_and_content(tmp_path: Path, monkeypatch) -> None:  # type: ignore[no-untyped-def]
    monkeypatch.chdir(tmp_path)
    Path("a.mov").write_bytes(b"12345")
    ref = media_ref(Path("a.mov"))
    assert (ref.path, ref.size_bytes) == (str(tmp_path / "a.mov"), 5)


def test_a_moved_and_renamed_file_is_found_by_content(tmp_path: Path) -> None:
    old = tmp_path / "card" / "C0001.MP4"
    old.parent.mkdir()
    old.write_bytes(os.urandom(2 * MIB))
    ref = media_ref(old)
    new = tmp_path / "sorted" / "deep" / "fiddle.mp4"
    new.parent.mkdir(parents=True)
    old.rename(new)
    found = find_again([ref], [tmp_path / "sorted", tmp_path / "gone"]).found
    assert found[ref.path].path == str(new)
    assert (found[ref.path].size_bytes, found[ref.path].digest) == (ref.size_bytes, ref.digest)


def test_the_same_name_and_size_with_other_content_is_not_it(tmp_path: Path) -> None:
    old = tmp_path / "C0001.MP4"
    old.write_bytes(b"one take")
    ref = media_ref(old)
    old.write_bytes(b"two take")
    search = find_again([ref], [tmp_path])
    assert search.found == {}
    assert search.namesakes == {ref.path: str(old)}


def test_of_two_copies_the_old_name_wins_and_empty_files_never(tmp_path: Path) -> None:
    for name in ("a.mov", "b.mov", "empty.mov"):
        (tmp_path / name).write_bytes(b"" if name == "empty.mov" else b"same")
    refs = [media_ref(tmp_path / "b.mov"), media_ref(tmp_path / "empty.mov")]
    gone = [type(ref)("/gone/" + Path(ref.path).name, ref.size_bytes, ref.digest) for ref in refs]
    found = find_again(gone, [tmp_path]).found
    assert {old: Path(ref.path).name for old, ref in found.items()} == {"/gone/b.mov": "b.mov"}


def test_looking_can_be_stopped(tmp_path: Path) -> None:
    (tmp_path / "a.mov").write_bytes(b"x")
    ref = media_ref(tmp_path / "a.mov")
    assert find_again([ref], [tmp_path], stop=lambda: True).found == {}
