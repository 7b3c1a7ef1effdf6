"""Where a shoot from elsewhere leads to, and which shoots are known."""

import os
from pathlib import Path

import pytest

from app.model.document.outside import folders_outside
from app.model.document.shoot import Shoot
from app.model.document.song import Song
from app.model.document.store import StoreError, Unfamiliar, load, save, to_text
from app.model.on_song import SongView
from app.model.storage import known_shoots
from tests.app.documents import document
from tests.app.random_shoots import clip, media, shoot


def leads_to(folder: Path, *paths: str) -> tuple[str, ...]:
    clips = [clip(n, media=media(os.path.join(folder, path))) for n, path in enumerate(paths)]  # noqa: PTH118
    return folders_outside(document(SongView("x", None, (), tuple(clips))), folder)


def test_below_the_shoots_folder_nothing_is_outside(tmp_path: Path) -> None:
    assert leads_to(tmp_path, "a.mov", "card/1/a.mov") == ()


def test_what_is_outside_is_told_by_its_folder(tmp_path: Path) -> None:
    top = tmp_path / "shoot"
    (top / "card").mkdir(parents=True)
    (top / "way").symlink_to(tmp_path)
    (top / "card" / "one.mov").symlink_to(tmp_path / "key")
    assert leads_to(top, "/etc/a", "/etc/b") == ("/etc",)
    assert leads_to(top, str(tmp_path / "shoot 2" / "a.mov")) == (str(tmp_path / "shoot 2"),)
    assert leads_to(top, "card/../../key") == (f"{top}/card/../..",)
    assert leads_to(top, "way/key") == (str(top / "way"),)
    assert leads_to(top, "card/one.mov") == (str(top / "card"),)
    assert leads_to(top, ".ssh/key") == (str(top / ".ssh"),)
    song = Shoot("x", (Song(media("/music/song.wav"), 1.0),))
    assert folders_outside(song, top) == ("/music",)


def test_a_file_that_was_not_saved_here_is_not_read_without_a_word(tmp_path: Path) -> None:
    value, path = document(shoot(clip(1, media=media("/cards/a.mov")))), tmp_path / "x.anglebook"
    path.write_text(to_text(value, tmp_path), "utf-8")
    with pytest.raises(Unfamiliar) as told:
        load(path)
    assert isinstance(told.value, StoreError)
    assert told.value.folders == ("/cards", "/shoot")
    assert load(path, trust=True) == value
    assert load(path) == value


def test_what_was_saved_here_is_known_until_it_changes(tmp_path: Path) -> None:
    value, path = document(shoot(clip(1, media=media("/cards/b.mov")))), tmp_path / "x.anglebook"
    save(value, path)
    assert load(path) == value
    path.write_bytes(path.read_bytes().replace(b"/cards/", b"/secret/"))
    with pytest.raises(Unfamiliar):
        load(path)


def test_the_longest_unused_are_forgotten(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path))
    monkeypatch.setattr(known_shoots, "MOST", 10)
    for number in range(11):
        known_shoots.remember(f"{number}")
        os.utime(tmp_path / "anglebook" / "shoots" / f"{number}", (number, number))
    known_shoots.remember("new")
    kept = {number for number in range(11) if known_shoots.is_known(f"{number}")}
    assert kept == set(range(3, 11)), "eight of ten were kept when there were eleven"
    assert known_shoots.is_known("new")
