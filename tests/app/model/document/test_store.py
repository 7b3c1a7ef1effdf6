"""The shoot's file: what goes in comes out, and nothing is half read or half written."""

import json
import os
import time
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings

from app.model.document import store
from app.model.document.shoot import Shoot
from app.model.document.song import Song
from app.model.document.store import (
    ChangedMeanwhile,
    StoreError,
    from_text,
    load,
    load_with_digest,
    missing,
    save,
    to_text,
    update,
    upgraded,
)
from app.model.document.upgrades import VERSION
from app.model.edits import deciding, take_settings
from app.model.on_song import Clip
from app.model.storage import file_lock
from tests.app import random_shoots
from tests.app.documents import document
from tests.app.random_shoots import any_shoots, clip, media, take

FOLDER = Path("/films/day one")


def shoot(*clips: Clip, **more: Any) -> Shoot:
    return document(random_shoots.shoot(*clips, **more))


@given(any_shoots())
def test_any_shoot_comes_back_as_it_was(value: Shoot) -> None:
    text = to_text(value, FOLDER)
    again = from_text(text, FOLDER)
    assert again == value
    assert to_text(again, FOLDER) == text


@settings(max_examples=20)
@given(value=any_shoots())
def test_any_shoot_comes_back_from_disk(value: Shoot, tmp_path: Path) -> None:
    save(value, tmp_path / "evening.anglebook")
    assert load(tmp_path / "evening.anglebook") == value


def test_floats_are_exact_and_rates_are_fractions() -> None:
    value = shoot(
        clip(1, take("t", 0.1, 0.1 + 0.2), rate=Fraction(24000, 1001)), song=Song(media("/s.wav"), 1 / 3)
    )
    data = json.loads(to_text(value, FOLDER))
    assert data["anglebook_version"] == VERSION
    assert data["songs"][0]["duration_s"] == 1 / 3
    assert data["clips"][0]["facts"]["frame_rate"] == "24000/1001"
    assert list(data) == [
        "anglebook_version",
        "name",
        "songs",
        "angles",
        "clips",
        "findings",
        "decisions",
        "marks",
        "plan",
        "looks",
        "matches",
        "cut",
        "playbacks",
        "masters",
    ]


@pytest.mark.skipif(os.name == "nt", reason="paths of another system")
@pytest.mark.parametrize(
    ("path", "kept"),
    [
        ("/films/day one/a.mov", "a.mov"),
        ("/films/day one/cards/Übung/a.mov", "cards/Übung/a.mov"),
        ("/films/song.wav", "../song.wav"),
        ("/elsewhere/a.mov", "/elsewhere/a.mov"),
        ("/films/../films/day one/a.mov", "/films/../films/day one/a.mov"),
    ],
)
def test_paths_are_kept_relative_where_that_leads_back(path: str, kept: str) -> None:
    value = Shoot("x", (Song(media(path), 1.0),))
    data = json.loads(to_text(value, FOLDER))
    assert data["songs"][0]["media"]["path"] == kept
    assert from_text(json.dumps(data), FOLDER) == value


def test_a_shoot_moved_with_its_media_follows_them(tmp_path: Path) -> None:
    old, new = tmp_path / "old", tmp_path / "new"
    old.mkdir()
    (old / "a.mov").write_bytes(b"x")
    save(Shoot("x", (Song(media(str(old / "a.mov")), 1.0),)), old / "x.anglebook")
    old.rename(new)
    moved = load(new / "x.anglebook")
    assert moved.songs[0].media.path == str(new / "a.mov")
    assert missing(moved) == ()


def test_media_that_are_not_there_are_told_not_refused(tmp_path: Path) -> None:
    (tmp_path / "card").mkdir()
    (tmp_path / "card" / "here.mov").write_bytes(b"x")
    value = shoot(clip(1), clip(2, media=media(str(tmp_path / "card" / "here.mov"))))
    save(value, tmp_path / "x.anglebook")
    assert missing(load(tmp_path / "x.anglebook")) == ("song-1", "clip-1")


@pytest.mark.skipif(os.name == "nt", reason="odd bytes in file names")
def test_a_file_name_that_is_no_text_is_kept(tmp_path: Path) -> None:
    value = Shoot("x", (Song(media(os.fsdecode(b"/cards/\xff\xfe.mov")), 1.0),))
    save(value, tmp_path / "x.anglebook")
    assert load(tmp_path / "x.anglebook") == value


def test_umlauts_are_readable_in_the_file(tmp_path: Path) -> None:
    save(Shoot("Grüße 🎻"), tmp_path / "x.anglebook")
    assert "Grüße 🎻" in (tmp_path / "x.anglebook").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "damaged or not a shoot"),
        ("{", "damaged or not a shoot"),
        ("[" * 100_000, "damaged or not a shoot"),
        ('{"anglebook_version": 1, "anglebook_version": 1}', "twice"),
        ("[]", "not a shoot"),
        ("{}", "'anglebook_version' is missing"),
        ('{"anglebook_version": 99}', "newer Anglebook"),
        ('{"anglebook_version": 0}', "not a version"),
        ('{"anglebook_version": true}', "not a version"),
        ('{"anglebook_version": "1"}', "not a version"),
        ('{"anglebook_version": 1}', "'song' is missing"),
        ('{"anglebook_version": 1, "angles": 5, "clips": [7, {"takes": {}}]}', "'song' is missing"),
    ],
)
def test_what_is_no_shoot_is_refused_with_a_sentence(text: str, why: str, tmp_path: Path) -> None:
    path = tmp_path / "x.anglebook"
    path.write_text(text)
    with pytest.raises(StoreError, match=why) as caught:
        load(path)
    assert str(caught.value).startswith("x.anglebook was not opened: ")
    assert str(caught.value).endswith(".")


def test_what_is_not_even_text_is_refused(tmp_path: Path) -> None:
    (tmp_path / "x.anglebook").write_bytes(b"\x00\xff\xd8")
    with pytest.raises(StoreError, match="not text"):
        load(tmp_path / "x.anglebook")
    with pytest.raises(StoreError, match="could not be read: No such file"):
        load(tmp_path / "y.anglebook")


_FACTS = ("clips", 0, "facts")
_FOUND = ("findings", 0, "takes", 0)
_SPOILS = [
    ((*_FACTS, "duration_s"), "12", "'facts' of 'clips' of the document number 1 is not a number"),
    ((*_FACTS, "duration_s"), True, "not a number"),
    ((*_FACTS, "duration_s"), 10**400, "not a finite number"),
    ((*_FACTS, "width"), -1, "whole number"),
    ((*_FACTS, "width"), True, "whole number"),
    ((*_FACTS, "frame_rate"), "24/0", "above zero"),
    ((*_FACTS, "frame_rate"), 24, "not a text"),
    ((*_FACTS, "variable_frame_rate"), 0, "neither true nor false"),
    ((*_FACTS, "mood"), "good", "'mood', which is not known"),
    (("findings", 0, "verdict"), "perhaps", "'perhaps', which is not known"),
    (("findings", 0, "clip_id"), "clip-9", "the clip clip-9 is named, which is not there"),
    (("findings", 0, "song_id"), "song-9", "the song song-9 is named, which is not there"),
    (("findings", 1, "clip_id"), "clip-1", "the finding on clip-1 and song-1 appears twice"),
    (("findings", 0, "reason", "figures"), {"lag_s": None}, "not a number"),
    (("findings", 0, "reason"), "words", "not a group of named values"),
    (("clips", 0, "warnings"), "none", "not a list"),
    (("clips", 0, "warnings"), [1], "not a text"),
    (("clips", 0, "angle_id"), "angle-9", "which is not there"),
    (("clips", 0, "id"), "clip-2", "the clip clip-2 appears twice"),
    (("clips", 0, "mood"), "good", "'mood', which is not known"),
    (("clips", 0), 7, "not a group of named values"),
    ((*_FOUND, "speed"), 0, "which cannot be"),
    ((*_FOUND, "clip_end_s"), -1, "a take ends before it begins"),
    ((*_FOUND, "verdict"), "no song", "neither placed nor doubtful"),
    (("decisions", "takes", 0, "take", "id"), "clip-2-take-1", "the take clip-2-take-1 appears twice"),
    (("decisions", "takes", 0, "take", "mood"), "good", "'mood', which is not known"),
    (("marks",), [{}], "lacks 'id'"),
    (("plan", "needs"), 5, "not a list"),
    (("songs", 0, "map", "beats_s"), [1, None], "not a number"),
    (("songs", 0, "media", "digest"), None, "not a text"),
]


def test_settings_of_a_take_that_are_missing_are_as_nobody_set_them() -> None:
    value, _ = take_settings.shift_take(shoot(clip(1, take("", 0, 5))), "clip-1-take-1", 0.5, 0.25)
    data = json.loads(to_text(value, FOLDER))
    del data["decisions"]["settings"][0]["settings"]["shift_x"]
    (kept,) = from_text(json.dumps(data), FOLDER).decisions.settings
    assert (kept.settings.shift_x, kept.settings.shift_y) == (0.0, 0.25)


@pytest.mark.parametrize(("where", "value", "why"), _SPOILS)
def test_one_wrong_value_refuses_the_whole_file(
    where: tuple[str | int, ...], value: object, why: str
) -> None:
    whole = shoot(clip(1, take("", 0, 5)), clip(2, take("", 0, 5)))
    for name in ("clip-1-take-1", "clip-2-take-1"):
        whole, _ = deciding.confirm_take(whole, name, "2031-05-04T18:20:00Z")
    data = json.loads(to_text(whole, FOLDER))
    node = data
    for key in where[:-1]:
        node = node[key]
    node[where[-1]] = value
    with pytest.raises(StoreError, match=why):
        from_text(json.dumps(data), FOLDER)


def test_numbers_that_are_none_are_neither_written_nor_read() -> None:
    with pytest.raises(StoreError, match="not finite"):
        to_text(Shoot("x", (Song(media("/s.wav"), float("nan")),)), FOLDER)
    text = to_text(Shoot("x", (Song(media("/s.wav"), 1.5),)), FOLDER)
    for number in ("NaN", "-Infinity", "1e999"):
        with pytest.raises(StoreError, match="not a"):
            from_text(text.replace("1.5", number), FOLDER)


def test_a_failed_save_leaves_the_old_file_and_no_neighbour(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "x.anglebook"
    save(Shoot("old"), path)

    def full(handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(StoreError, match=r"x\.anglebook could not be written: No space left on device"):
        save(Shoot("new"), path)
    assert load(path).name == "old"
    assert [found.name for found in tmp_path.iterdir()] == ["x.anglebook"]


def test_a_shoot_that_would_not_open_again_is_not_saved(tmp_path: Path) -> None:
    path = tmp_path / "x.anglebook"
    save(Shoot("old"), path)
    with pytest.raises(StoreError, match=r"not saved.*clip-1 appears twice"):
        save(shoot(clip(1), clip(1)), path)
    assert load(path).name == "old"


def test_a_shoot_that_would_come_back_changed_is_not_saved(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(store, "from_text", lambda text, folder: Shoot("changed"))
    with pytest.raises(StoreError, match="come back changed"):
        save(Shoot("x"), tmp_path / "x.anglebook")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.skipif(os.name == "nt", reason="rights and links of another system")
def test_rights_stay(tmp_path: Path) -> None:
    path = tmp_path / "x.anglebook"
    save(Shoot("old"), path)
    path.chmod(0o640)
    save(Shoot("new"), path)
    assert path.stat().st_mode & 0o777 == 0o640


def test_a_link_is_not_followed(tmp_path: Path) -> None:
    real, link = tmp_path / "real.anglebook", tmp_path / "link.anglebook"
    save(Shoot("old"), real)
    for target in (real, tmp_path / "nowhere"):
        link.unlink(missing_ok=True)
        link.symlink_to(target)
        with pytest.raises(StoreError, match=f"it is a link, to {target}"):
            save(Shoot("new"), link)
    assert load(real).name == "old"
    assert not (tmp_path / "nowhere").exists()


def test_beside_clips_a_shoot_is_saved_only_where_it_is_already(tmp_path: Path) -> None:
    (tmp_path / "a.mov").write_bytes(b"x")
    value, path = shoot(clip(1)), tmp_path / "x.anglebook"
    save(value, path)
    value = shoot(clip(1, media=media(str(tmp_path / "a.mov"))))
    save(value, path)
    assert load(path) == value
    with pytest.raises(StoreError, match="nothing is written beside clips"):
        save(value, tmp_path / "y.anglebook")
    (tmp_path / "z.anglebook").hardlink_to(tmp_path / "a.mov")
    with pytest.raises(StoreError, match="it is a clip or a song"):
        save(value, tmp_path / "z.anglebook")


def test_steps_lead_from_an_old_version_to_the_newest() -> None:
    def two(data: dict[str, object]) -> dict[str, object]:
        return {**data, "shoot_name": data["name"]}

    def three(data: dict[str, object]) -> dict[str, object]:
        return {key: value for key, value in data.items() if key != "name"}

    old: dict[str, object] = {"anglebook_version": 1, "name": "x"}
    assert upgraded(old, 3, {1: two, 2: three}) == {"anglebook_version": 3, "shoot_name": "x"}
    assert old == {"anglebook_version": 1, "name": "x"}
    with pytest.raises(StoreError, match="nothing leads from file version 2 to 3"):
        upgraded(old, 3, {1: two})


def test_an_old_file_is_upgraded_on_the_way_in(monkeypatch: pytest.MonkeyPatch) -> None:
    data = json.loads(to_text(Shoot("Evening"), FOLDER))
    data["title"] = data.pop("name")
    newest = VERSION
    monkeypatch.setattr(store, "VERSION", newest + 1)
    monkeypatch.setattr(
        store, "UPGRADES", {newest: lambda old: {"name": old["title"], **_without(old, "title")}}
    )
    assert from_text(json.dumps(data), FOLDER) == Shoot("Evening")


def _without(data: dict[str, object], key: str) -> dict[str, object]:
    return {name: value for name, value in data.items() if name != key}


def test_a_file_that_somebody_else_saved_is_not_written_over(tmp_path: Path) -> None:
    path = tmp_path / "x.anglebook"
    mine = save(Shoot("mine"), path)
    assert load_with_digest(path) == (Shoot("mine"), mine)
    theirs = save(Shoot("theirs"), path)
    with pytest.raises(ChangedMeanwhile, match=r"x\.anglebook was changed since it was opened"):
        save(Shoot("mine again"), path, expected=mine)
    assert load(path).name == "theirs"
    save(Shoot("mine again"), path, expected=theirs)
    path.unlink()
    save(Shoot("mine again"), path, expected=theirs)  # what is gone is not lost by saving
    assert load(path).name == "mine again"


def test_two_at_once_lose_nothing(tmp_path: Path) -> None:
    path = tmp_path / "x.anglebook"

    def add(letter: str) -> None:
        def slowly(shoot: Shoot) -> Shoot:
            time.sleep(0.02)
            return replace(shoot, name=shoot.name + letter)

        update(path, slowly)

    with ThreadPoolExecutor(8) as pool:
        list(pool.map(add, "abcdefgh"))
    assert sorted(load(path).name) == list("abcdefgh")


def test_without_a_folder_of_its_own_it_saves_all_the_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "a file").write_text("x")
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "a file"))
    update(tmp_path / "x.anglebook", lambda shoot: replace(shoot, name="x"))
    assert load(tmp_path / "x.anglebook").name == "x"


def test_who_waits_too_long_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(file_lock, "PATIENCE_S", 0.05)
    path = tmp_path / "x.anglebook"
    with file_lock.locked(path), pytest.raises(StoreError, match="being written by another Anglebook"):
        save(Shoot("x"), path)
    save(Shoot("x"), path)
