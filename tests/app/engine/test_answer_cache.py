"""What is kept from run to run: the same answers without hearing, and nothing that may have changed."""

import os
import shutil
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

import app.engine.answer_cache
from app.engine import place_recording, tasks
from app.engine.answer_cache import Kept, Remembered
from app.engine.place_recording import HeardRecording
from app.model.answers import Answer
from app.model.document.identity import media_ref
from app.model.document.song import Song, SongMap
from app.model.document.verdict import Verdict
from app.model.storage.cache import Cache, user_cache
from audio.errors import Unreadable
from tests.app.engine.test_tasks import a_song, short_song, split
from tests.audio.engine_songs import camera_file
from tests.audio.media_files import Recipe, make

ROOT = Path(__file__).parents[3]


class Ears:
    """Counts recordings that are heard."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.heard: list[list[str]] = []
        real = place_recording.hear

        def hear(files: Any, *rest: Any, **more: Any) -> HeardRecording:
            self.heard.append([file.path.name for file in files])
            return real(files, *rest, **more)

        monkeypatch.setattr("app.engine.worker_pool.hear", hear)

    def since(self) -> list[list[str]]:
        heard, self.heard = self.heard, []
        return heard


@pytest.fixture
def ears(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Ears:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    return Ears(monkeypatch)


def place(song: Song, paths: list[Path], **more: Any) -> dict[str, Answer]:
    answers: list[Answer] = []
    tasks.place_clips([song], paths, answered=answers.append, workers=0, **more)
    # Comparing clips may answer some of them again.
    assert {clip.media.path for clip in answers} == set(map(str, paths))
    return {Path(clip.media.path).name: clip for clip in answers}


def test_what_did_not_change_is_not_heard_again(
    tmp_path: Path, ears: Ears, monkeypatch: pytest.MonkeyPatch
) -> None:
    song, card = a_song(tmp_path / "song.wav"), tmp_path / "card"
    card.mkdir()
    paths = [*split(card, "2026-05-01T10:00:12Z"), camera_file(card / "a.mov", (30.0, 9.0))]
    paths.append(make(card / "quiet.mov", Recipe(picture_s=1.0)))
    (card / "text.mp4").write_text("shopping list\n" * 99)
    paths.append(card / "text.mp4")
    first = place(song, paths)
    assert sorted(ears.since()) == [["C0001.MOV", "C0002.MOV"], ["a.mov"], ["quiet.mov"]]
    assert first["C0002.MOV"].recording == str(paths[0])
    monkeypatch.setattr("audio.files.media.read_song", lambda *_, **__: pytest.fail("the song was read"))
    assert place(song, paths) == first
    assert ears.since() == []
    assert not [path for path in tmp_path.rglob("*.answer") if "cache" not in path.parts]


def test_only_what_is_new_is_heard(tmp_path: Path, ears: Ears) -> None:
    song = a_song(tmp_path / "song.wav")
    one, two = (camera_file(tmp_path / f"{at}.mov", (float(at), 9.0)) for at in (20, 40))
    first = place(song, [one])
    ears.since()
    both = place(song, [one, two])
    assert ears.since() == [["40.mov"]]
    # The two are of one camera, and share its clock.
    assert replace(both["20.mov"], takes=()) == replace(first["20.mov"], takes=())
    assert both["20.mov"].takes[0].line.song_time(0.0) == pytest.approx(20.0, abs=0.0001)


def touch(path: Path) -> None:
    facts = path.stat()
    os.utime(path, ns=(facts.st_atime_ns, facts.st_mtime_ns + 1_000_000_000))


def rewrite(path: Path) -> None:
    """Other content, the size and the time of change as they were."""
    facts = path.stat()
    data = bytearray(path.read_bytes())
    data[-1] ^= 1
    path.write_bytes(data)
    os.utime(path, ns=(facts.st_atime_ns, facts.st_mtime_ns))


@pytest.mark.parametrize("change", [touch, rewrite])
@pytest.mark.parametrize("which", ["song.wav", "a.mov"])
def test_a_changed_song_or_clip_is_heard_again(
    tmp_path: Path, ears: Ears, which: str, change: Callable[[Path], None]
) -> None:
    song, clip = a_song(tmp_path / "song.wav"), camera_file(tmp_path / "a.mov", (30.0, 4.0))
    place(song, [clip])
    ears.since()
    change(tmp_path / which)
    place(song, [clip])
    assert ears.since() == [["a.mov"]]


def test_fresh_hears_everything(tmp_path: Path, ears: Ears) -> None:
    song, clip = a_song(tmp_path / "song.wav"), camera_file(tmp_path / "a.mov", (30.0, 4.0))
    first = place(song, [clip])
    assert place(song, [clip], use_cache=False) == first
    assert ears.since() == [["a.mov"]] * 2


def test_another_engine_never_gives_old_answers(
    tmp_path: Path, ears: Ears, monkeypatch: pytest.MonkeyPatch
) -> None:
    song, clip = a_song(tmp_path / "song.wav"), camera_file(tmp_path / "a.mov", (30.0, 4.0))
    place(song, [clip])
    ears.since()
    monkeypatch.setattr(app.engine.answer_cache, "engine", lambda: "another")
    place(song, [clip])
    assert ears.since() == [["a.mov"]]


def append(path: Path) -> None:
    """Change a file of the engine; one that is not there proves nothing."""
    with path.open("r+") as file:
        file.seek(0, 2)
        file.write("# looser\n")


@pytest.mark.parametrize("change", ["code", "new file", "engine", "document", "library"])
def test_the_engine_is_its_code_and_its_libraries(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, change: str
) -> None:
    for package in ("app", "audio"):
        shutil.copytree(ROOT / package, tmp_path / package)
    monkeypatch.setattr(app.engine.answer_cache.audio, "__file__", str(tmp_path / "audio" / "__init__.py"))
    monkeypatch.setattr(
        app.engine.answer_cache, "__file__", str(tmp_path / "app" / "engine" / "answer_cache.py")
    )
    engine = app.engine.answer_cache.engine.__wrapped__
    before = engine()
    assert engine() == before
    if change == "code":
        append(tmp_path / "audio" / "placement" / "align.py")
    elif change == "new file":
        (tmp_path / "audio" / "looser.py").write_text("")
    elif change == "engine":
        append(tmp_path / "app" / "engine" / "place_recording.py")
    elif change == "document":
        append(tmp_path / "app" / "model" / "document" / "shoot.py")
    else:
        monkeypatch.setattr(
            app.engine.answer_cache, "version", lambda name: "2.0" if name == "numpy" else "1.0"
        )
    assert engine() != before


def test_a_copied_card_is_known_and_named_by_its_new_place(tmp_path: Path, ears: Ears) -> None:
    song, clip = a_song(tmp_path / "song.wav"), camera_file(tmp_path / "a.mov", (30.0, 9.0))
    first = place(song, [clip])["a.mov"]
    (tmp_path / "disk").mkdir()
    copy = Path(shutil.copy2(clip, tmp_path / "disk" / "b.mov"))
    ears.since()
    assert place(song, [copy]) == {"b.mov": replace(first, media=media_ref(copy))}
    assert ears.since() == []


def test_trouble_is_looked_at_again(tmp_path: Path, ears: Ears) -> None:
    """A file that comes back to where it was missed, and one that could not be read for a while."""
    song, clip = a_song(tmp_path / "song.wav"), camera_file(tmp_path / "a.mov", (30.0, 9.0))
    away = clip.rename(tmp_path / "away")
    assert place(song, [clip])["a.mov"].verdict is Verdict.UNREADABLE
    away.rename(clip)
    assert place(song, [clip])["a.mov"].verdict is Verdict.PLACED


def test_trouble_while_hearing_is_not_kept(
    tmp_path: Path, ears: Ears, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise Unreadable("The disk did not answer.")

    song, clip = a_song(tmp_path / "song.wav"), camera_file(tmp_path / "a.mov", (30.0, 9.0))
    with monkeypatch.context() as trouble:
        trouble.setattr(place_recording, "read_sound", broken)
        assert place(song, [clip])["a.mov"].verdict is Verdict.UNREADABLE
    assert place(song, [clip])["a.mov"].verdict is Verdict.PLACED


def cut_off(path: Path) -> Path:
    data = path.read_bytes()
    path.write_bytes(data[: len(data) * 9 // 10])
    return path


def test_a_warning_about_a_file_just_written_is_not_kept(tmp_path: Path, ears: Ears) -> None:
    """It may say to wait until a copy is finished."""
    song = a_song(tmp_path / "song.wav")
    clip = cut_off(camera_file(tmp_path / "a.wav", (30.0, 9.0), picture_s=0))
    before = place(song, [clip])["a.wav"]
    assert any("wait until" in warning for warning in before.warnings)
    os.utime(clip, (1e9, 1e9))
    after = place(song, [clip])["a.wav"]
    assert after.warnings
    assert not any("wait until" in warning for warning in after.warnings)
    assert len(ears.since()) == 2
    assert place(song, [clip])["a.wav"] == after
    assert ears.since() == []


def test_a_file_that_changes_while_it_is_heard_is_not_kept(tmp_path: Path) -> None:
    song, clip = tmp_path / "song.wav", tmp_path / "a.mov"
    for path in (song, clip):
        path.write_bytes(path.name.encode() * 99)
    heard = Remembered([clip], [Answer(media_ref(clip), verdict=Verdict.NO_SONG)], None)
    kept = Kept(song, Cache(tmp_path / "cache"))
    assert kept.heard([clip]) is None
    touch(clip)
    kept.keep_heard(heard)
    assert Kept(song, Cache(tmp_path / "cache")).heard([clip]) is None
    calm = Kept(song, Cache(tmp_path / "cache"))
    calm.keep_heard(heard)
    assert Kept(song, Cache(tmp_path / "cache")).heard([clip]) == heard


def test_an_entry_of_another_shape_is_not_there(tmp_path: Path, ears: Ears) -> None:
    song, clip = a_song(tmp_path / "song.wav"), camera_file(tmp_path / "a.mov", (30.0, 9.0))
    first = place(song, [clip])
    ears.since()
    store = Cache(user_cache() / "answers")
    for path in (user_cache() / "answers").iterdir():
        store.put(path.stem, {"clips": [{"verdict": "wonderful"}], "recordings": 3, "changed": 2})
    assert place(song, [clip]) == first
    assert ears.since() == [["a.mov"]]


def test_the_map_of_a_song_is_kept(tmp_path: Path, ears: Ears, monkeypatch: pytest.MonkeyPatch) -> None:
    path = short_song(tmp_path / "song.wav")
    first = tasks.song_from_file(path)
    assert first.map.beats_s
    mapped: list[int] = []

    def map_again(*_: object, **__: object) -> None:
        mapped.append(1)
        raise Unreadable("Mapped again.")

    monkeypatch.setattr("audio.files.media.read_song", map_again)
    progress: list[float] = []
    assert tasks.song_from_file(path, progress=progress.append) == first
    assert progress == [1.0]
    moved = path.rename(tmp_path / "moved.wav")
    assert tasks.song_from_file(moved) == replace(first, media=media_ref(moved))
    assert mapped == []
    touch(moved)
    with pytest.raises(Unreadable):
        tasks.song_from_file(moved)
    monkeypatch.undo()
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    assert tasks.song_from_file(moved, use_cache=False).map == first.map


def test_a_song_without_a_map_is_another_answer_than_none(tmp_path: Path) -> None:
    path = tmp_path / "song.wav"
    path.write_bytes(b"x" * 99)
    kept = Kept(path, Cache(tmp_path / "cache"))
    assert kept.song() is None
    kept.keep_song(Song(media_ref(path), 3.0, SongMap()))
    assert kept.song() == Song(media_ref(path), 3.0, SongMap())
