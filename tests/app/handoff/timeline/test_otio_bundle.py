"""Bundles, read and unpacked by OpenTimelineIO's own adapters; their files compared with the clips' bytes."""

import os
import zipfile
from dataclasses import replace
from pathlib import Path
from urllib.parse import unquote, urlparse

import numpy as np
import opentimelineio as otio
import pytest
import soundfile

from app.handoff import neighbour
from app.handoff.outcome import HandoffError, HandoffStopped
from app.handoff.timeline import otio_bundle
from app.model.document.identity import media_ref
from app.model.document.song import Song
from app.model.on_song import SongView
from tests.app.random_shoots import clip, media, shoot, take, waltz

NAMES = (
    "A 001.mov",
    "b/A 001.mov",
    "c/a 001.MOV",
    "Grüße „nah“ 🎻.mov",
    "d/con.mov",
    "x" * 200 + ".mov",
    "n.umlaut ä",
)


def sound(path: Path, number: int) -> None:
    """A small recording under any name; no two are alike."""
    with path.open("wb") as file:
        soundfile.write(file, np.full(number, number / 5000), 8000, format="WAV")


@pytest.fixture
def value(tmp_path: Path) -> SongView:
    """A shoot of small files with odd names."""
    clips = []
    for number, name in enumerate(NAMES):
        path = tmp_path / "cards" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        sound(path, 1000 + number)
        found = media_ref(path)
        clips.append(clip(number, take(f"t{number}", 0.0, 20.0), take(f"u{number}", 30.0, 40.0), media=found))
    song = tmp_path / "cards" / "waltz.wav"
    sound(song, 99)
    return shoot(*clips, song=replace(waltz(180.0), media=media_ref(song)))


def contents(value: SongView) -> dict[str, bytes]:
    """Path to bytes of every file that is used."""
    assert value.song is not None
    return {m.path: Path(m.path).read_bytes() for m in (value.song.media, *(c.media for c in value.clips))}


def linked(timeline: "otio.schema.Timeline") -> dict[str, set[str]]:
    """Take id (empty for the song) to the addresses it tells."""
    found: dict[str, set[str]] = {}
    for item in timeline.find_clips():
        name = item.metadata.get("anglebook", {"take_id": ""})["take_id"]
        found.setdefault(name, set()).add(item.media_reference.target_url)
    return found


def check_media(value: SongView, timeline: "otio.schema.Timeline", folder: Path) -> None:
    """Every take leads to a file in the folder that holds what its clip holds."""
    assert value.song is not None
    paths = {take.id: c.media.path for c in value.clips for take in c.takes} | {"": value.song.media.path}
    for name, urls in linked(timeline).items():
        (url,) = urls
        file = (folder / unquote(urlparse(url).path)).resolve()
        assert file.is_relative_to((folder / "media").resolve())
        assert file.read_bytes() == Path(paths[name]).read_bytes()
    assert set(linked(timeline)) == set(paths)


def test_files_of_one_name_keep_apart_by_their_folders(value: SongView, tmp_path: Path) -> None:
    otio_bundle.write(value, tmp_path / "Evening.otiod")
    held = {path.name for path in (tmp_path / "Evening.otiod" / "media").iterdir()}
    assert {"cards - A 001.mov", "b - A 001.mov", "c - a 001.MOV", "con_.mov", "waltz.wav"} <= held


def test_one_file_is_unpacked_by_the_library(value: SongView, tmp_path: Path) -> None:
    before = contents(value)
    report = otio_bundle.write(value, tmp_path / "Evening.otioz")
    (tmp_path / "un").mkdir()
    timeline = otio.adapters.read_from_file(
        str(tmp_path / "Evening.otioz"), extract_to_directory=str(tmp_path / "un")
    )
    check_media(value, timeline, tmp_path / "un")
    assert len(list((tmp_path / "un" / "media").iterdir())) == len(NAMES) + 1
    assert report.lines[0] == "Holds copies of 8 files, 14.6 kB; the clips stay where they are."
    assert report.takes == 14
    assert contents(value) == before
    with zipfile.ZipFile(tmp_path / "Evening.otioz") as bundle:
        assert bundle.testzip() is None
        assert bundle.read("version.txt") == b"1.0.0"


def test_a_folder_is_read_by_the_library(value: SongView, tmp_path: Path) -> None:
    otio_bundle.write(value, tmp_path / "Evening.otiod")
    timeline = otio.adapters.read_from_file(str(tmp_path / "Evening.otiod"))
    check_media(value, timeline, tmp_path / "Evening.otiod")
    absolute = otio.adapters.read_from_file(
        str(tmp_path / "Evening.otiod"), absolute_media_reference_paths=True
    )
    assert all(
        Path(unquote(urlparse(url).path)).is_file() for urls in linked(absolute).values() for url in urls
    )
    # Copies, not links: whoever changes the bundle does not change the clips.
    for file in (tmp_path / "Evening.otiod" / "media").iterdir():
        assert file.stat().st_nlink == 1
        assert not file.is_symlink()


@pytest.mark.parametrize("suffix", ["otioz", "otiod"])
def test_the_same_shoot_gives_the_same_bytes(value: SongView, suffix: str, tmp_path: Path) -> None:
    path = tmp_path / f"Evening.{suffix}"

    def bytes_of() -> dict[str, bytes]:
        files = [path] if path.is_file() else [one for one in path.rglob("*") if one.is_file()]
        return {one.name: one.read_bytes() for one in files}

    otio_bundle.write(value, path)
    first = bytes_of()
    for one in value.clips:
        os.utime(one.media.path, (1e9, 1e9))
    assert otio_bundle.is_ours(path)
    otio_bundle.write(value, path)
    assert bytes_of() == first
    assert sorted(one.name for one in tmp_path.iterdir()) == sorted([path.name, "cards"])


@pytest.mark.parametrize("suffix", ["otioz", "otiod"])
def test_a_file_that_is_gone_is_told_and_the_rest_is_there(
    value: SongView, suffix: str, tmp_path: Path
) -> None:
    gone, other = Path(value.clips[0].media.path), Path(value.clips[1].media.path)
    gone.unlink()
    other.write_bytes(b"longer" * 999)
    plan = otio_bundle.plan(
        value,
        "x",
    )
    report = otio_bundle.write(value, tmp_path / f"Evening.{suffix}")
    assert plan.lines == report.lines
    left = [line for line in report.lines if "not in the bundle" in line]
    assert len(left) == 2
    assert "because the file is missing. Connect its disk, or find it again in Clips." in left[0]
    assert "because the file has changed since it was read. Read it again first." in left[1]
    timeline = otio.adapters.read_from_file(str(tmp_path / f"Evening.{suffix}"))
    absent = [c for c in timeline.find_clips() if isinstance(c.media_reference, otio.schema.MissingReference)]
    assert {c.metadata["anglebook"]["take_id"] for c in absent} == {"t0", "u0", "t1", "u1"}
    assert {c.media_reference.name for c in absent} == {"A 001.mov"}


@pytest.mark.parametrize("suffix", ["otioz", "otiod"])
def test_stopping_leaves_nothing_and_what_was_there(value: SongView, suffix: str, tmp_path: Path) -> None:
    path = tmp_path / f"Evening.{suffix}"
    otio_bundle.write(value, path)
    before = {one: one.read_bytes() for one in tmp_path.rglob("*") if one.is_file()}
    asked = 0

    def stop() -> bool:
        nonlocal asked
        asked += 1
        return asked > 3

    with pytest.raises(HandoffStopped):
        otio_bundle.write(value, path, stop=stop)
    assert asked == 4
    assert {one: one.read_bytes() for one in tmp_path.rglob("*") if one.is_file()} == before


def test_progress_runs_to_its_end(value: SongView, tmp_path: Path) -> None:
    for suffix in ("otioz", "otiod"):
        told: list[float] = []
        otio_bundle.write(value, tmp_path / f"x.{suffix}", progress=told.append)
        assert told == sorted(told)
        assert told[-1] == 1.0


def test_a_full_disk_is_told_before(value: SongView, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(neighbour.shutil, "disk_usage", lambda _: type("Usage", (), {"free": 7000})())
    with pytest.raises(HandoffError, match=r"space for x.otioz in .*: it needs .* kB, and 7\.0 kB are free"):
        otio_bundle.write(value, tmp_path / "x.otioz")
    assert not (tmp_path / "x.otioz").exists()


def test_a_file_that_grows_while_it_is_copied_is_told(
    value: SongView, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    growing = Path(value.clips[2].media.path)
    real = neighbour.pieces

    def grow(file: object, stop: object, told: object) -> object:
        if growing.stat().st_size == value.clips[2].media.size_bytes:
            with growing.open("ab") as more:
                more.write(b"more")
        return real(file, stop, told)  # type: ignore[arg-type]

    monkeypatch.setattr("app.handoff.timeline.bundle_media.pieces", grow)
    with pytest.raises(HandoffError, match="changed while it was copied"):
        otio_bundle.write(value, tmp_path / "x.otioz")
    assert [one.name for one in tmp_path.iterdir()] == ["cards"]


def test_what_somebody_laid_into_a_bundle_makes_it_theirs(value: SongView, tmp_path: Path) -> None:
    path = tmp_path / "Evening.otiod"
    otio_bundle.write(value, path)
    assert otio_bundle.is_ours(path)
    (path / "media" / "my notes.txt").write_text("keep")
    assert not otio_bundle.is_ours(path)
    (tmp_path / "y.otioz").write_bytes(b"no zip")
    assert not otio_bundle.is_ours(tmp_path / "y.otioz")
    with zipfile.ZipFile(tmp_path / "z.otioz", "w") as bundle:
        bundle.writestr("content.otio", '{"metadata": {}}')
    assert not otio_bundle.is_ours(tmp_path / "z.otioz")


def test_the_plan_tells_the_size(value: SongView, tmp_path: Path) -> None:
    plan = otio_bundle.plan(value, "Evening.otiod")
    otio_bundle.write(value, tmp_path / "Evening.otiod")
    written = sum(one.stat().st_size for one in (tmp_path / "Evening.otiod").rglob("*") if one.is_file())
    assert plan.size_bytes == written


def test_without_media_at_all_the_timeline_is_there(tmp_path: Path) -> None:
    value = shoot(clip(1, take("t", 0.0, 9.0)), song=Song(media("/gone/song.wav"), 60.0))
    report = otio_bundle.write(value, tmp_path / "x.otioz")
    assert report.lines[0] == "Holds copies of 0 files, 0 bytes; the clips stay where they are."


@pytest.mark.parametrize("suffix", ["otioz", "otiod"])
def test_another_recording_of_the_same_size_does_not_go_along(
    value: SongView, suffix: str, tmp_path: Path
) -> None:
    other = Path(value.clips[1].media.path)
    sound(other, 1000)
    other.write_bytes(other.read_bytes().ljust(value.clips[1].media.size_bytes, b"\0"))
    report = otio_bundle.write(value, tmp_path / f"Evening.{suffix}")
    assert any("it is not the recording that was read before" in line for line in report.lines)
    assert report.lines[0].startswith("Holds copies of 7 files")
