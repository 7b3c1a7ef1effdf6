"""What may be written to: told by what the disk knows a file by, whatever it is called."""

import os
from collections.abc import Callable
from pathlib import Path

import pytest

from app.model.guarding import guard_of
from app.model.storage.files import write_whole
from app.model.storage.guard import NO_CLIPS, Guard, MayNotWrite
from tests.app.random_shoots import clip, media, shoot


@pytest.fixture
def guard(tmp_path: Path) -> Guard:
    """Of a song beside a card with one clip."""
    (tmp_path / "card" / "below").mkdir(parents=True)
    for name in ("card/a.mov", "song.wav"):
        (tmp_path / name).write_bytes(b"as it was")
    value = shoot(clip(1, media=media(str(tmp_path / "card/a.mov"))))
    return guard_of(value, songs=[tmp_path / "song.wav"])


def _linked(target: Path, link: Path, how: Callable[[Path, Path], None]) -> Path:
    how(target, link)
    return link


CLIP, SONG = Path("card/a.mov"), Path("song.wav")
TARGETS: dict[str, tuple[Callable[[Path], Path], str]] = {
    "a clip": (lambda top: top / CLIP, "it is a clip"),
    "the song": (lambda top: top / SONG, "it is a clip or a song"),
    "by another way": (lambda top: top / "card" / ".." / SONG, "it is a clip or a song"),
    "hard link": (lambda top: _linked(top / CLIP, top / "r.json", os.link), "it is a clip"),
    "link": (lambda top: _linked(top / CLIP, top / "r.json", os.symlink), "it is a link"),
    "link to nowhere": (lambda top: _linked(top / "plant.json", top / "r.json", os.symlink), "it is a link"),
    "beside": (lambda top: top / "card" / "r.json", "beside clips"),
    "below": (lambda top: top / "card" / "below" / "r.json", "beside clips"),
    "by a linked folder": (
        lambda top: _linked(top / "card" / "below", top / "way", os.symlink) / "r.json",
        "beside clips",
    ),
}


@pytest.mark.parametrize("name", TARGETS)
def test_nothing_is_written(name: str, guard: Guard, tmp_path: Path) -> None:
    build, why = TARGETS[name]
    target = build(tmp_path)
    before = {path: path.read_bytes() for path in tmp_path.rglob("*") if path.is_file()}
    with pytest.raises(MayNotWrite, match=why):
        write_whole(target, b"new", guard)
    assert {path: path.read_bytes() for path in tmp_path.rglob("*") if path.is_file()} == before


def test_elsewhere_it_is_written(guard: Guard, tmp_path: Path) -> None:
    for name in ("r.json", "card 2.json", "out/r.json"):
        (tmp_path / name).parent.mkdir(exist_ok=True)
        for _ in range(2):
            write_whole(tmp_path / name, b"new", guard)
        assert (tmp_path / name).read_bytes() == b"new"


def test_a_document_of_the_makers_own_is_written_over_where_it_lies(guard: Guard, tmp_path: Path) -> None:
    there = tmp_path / "card" / "x.anglebook"
    with pytest.raises(MayNotWrite):
        write_whole(there, b"new", guard, own=True)
    there.write_bytes(b"old")
    write_whole(there, b"new", guard, own=True)
    with pytest.raises(MayNotWrite):
        write_whole(tmp_path / CLIP, b"new", guard, own=True)
    assert (tmp_path / CLIP).read_bytes() == b"as it was"


def test_a_clip_that_is_a_link_guards_the_folder_it_leads_to(guard: Guard, tmp_path: Path) -> None:
    (tmp_path / "picked").mkdir()
    (tmp_path / "picked" / "one.mov").symlink_to(tmp_path / CLIP)
    linked = guard_of(shoot(), clips=[tmp_path / "picked" / "one.mov"])
    for folder in ("picked", "card"):
        assert linked.clip_folder(tmp_path / folder / "new") == tmp_path / folder


def test_a_disk_that_is_not_there_counts_by_its_name(tmp_path: Path) -> None:
    gone = guard_of(shoot(), clips=[tmp_path / "gone" / "a.mov"])
    assert gone.clip_folder(tmp_path / "gone" / "out") == tmp_path / "gone"
    assert gone.instead(tmp_path / "gone" / "out") == tmp_path / "out"


def test_a_clip_in_the_users_own_folder_leaves_room_below(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setenv("USERPROFILE", str(tmp_path))
    home = guard_of(shoot(), clips=[tmp_path / "a.mov"])
    assert home.clip_folder(tmp_path) == tmp_path
    assert home.clip_folder(tmp_path / "Documents") is None


def test_without_clips_links_are_not_followed(tmp_path: Path) -> None:
    (tmp_path / "r.json").symlink_to(tmp_path / "elsewhere")
    with pytest.raises(MayNotWrite, match="it is a link"):
        write_whole(tmp_path / "r.json", b"new", NO_CLIPS)
    assert not (tmp_path / "elsewhere").exists()
