"""What the commands and the window ask for: clips found, a song mapped, clips placed, pictures, peaks."""

import os
from collections.abc import Callable
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import soundfile

from app.engine import tasks
from app.model.answers import Answer
from app.model.document.identity import media_ref
from app.model.document.song import Song
from app.model.document.verdict import Verdict
from app.model.reasons import sentence
from audio.errors import AudioError, BadSignal, NoSound, Stopped, Unreadable
from tests.audio.engine_songs import camera_file, song, song_file
from tests.audio.media_files import Recipe, low_noise, make, number_in


def touched(folder: Path, *names: str) -> None:
    for name in names:
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(b"x")


def test_clips_are_found_in_folders_and_below(tmp_path: Path) -> None:
    touched(tmp_path, "B/b2.MOV", "B/b1.mp4", "A/deep/er/a.wav", "top.mxf", "B/notes.txt", "B/b1.THM")
    touched(tmp_path, "B/._b1.mp4", ".Trash/old.mov", "M4ROOT/SUB/C1.MP4", "M4ROOT/CLIP/C1.MP4")
    found = tasks.find_clips([tmp_path])
    assert [path.relative_to(tmp_path).as_posix() for path in found] == [
        "A/deep/er/a.wav", "B/b1.mp4", "B/b2.MOV", "M4ROOT/CLIP/C1.MP4", "top.mxf",
    ]  # fmt: skip


def test_files_named_are_taken_whatever_they_are(tmp_path: Path) -> None:
    touched(tmp_path, "notes.txt", "._a.mov", "a.mov")
    found = tasks.find_clips([tmp_path / "notes.txt", tmp_path / "._a.mov", tmp_path])
    assert [path.name for path in found] == ["notes.txt", "._a.mov", "a.mov"]


def test_each_once_absolute_and_without_what_is_left_out(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    touched(tmp_path, "a.mov", "b.mov", "song.wav")
    monkeypatch.chdir(tmp_path)
    found = tasks.find_clips([Path("b.mov"), Path(), Path("a.mov")], leave_out=[Path("song.wav")])
    assert found == [tmp_path / "b.mov", tmp_path / "a.mov"]
    assert tasks.find_clips([tmp_path / "a.mov"], leave_out=[tmp_path / "a.mov"]) == []


def test_a_path_that_is_not_there_is_told(tmp_path: Path) -> None:
    with pytest.raises(Unreadable, match=r"nowhere was not found\. Check the name and that the disk is"):
        tasks.find_clips([tmp_path, tmp_path / "nowhere"])


def test_folders_that_cannot_be_opened_are_told_and_passed_over(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    touched(tmp_path, "card/a.mov", "card/lost+found/b.mov", "card/z/c.mov")
    scandir = os.scandir

    def refusing(path: str) -> object:  # for root no folder is closed
        if str(path).endswith("lost+found"):
            raise PermissionError(13, "Permission denied", path)
        return scandir(path)

    monkeypatch.setattr(os, "scandir", refusing)
    told: list[str] = []
    found = tasks.find_clips([tmp_path / "card"], passed_over=told.append)
    assert found == [tmp_path / "card" / "a.mov", tmp_path / "card" / "z" / "c.mov"]
    (sentence,) = told
    assert "lost+found was passed over, because it cannot be opened: Permission denied." in sentence
    with pytest.raises(Unreadable, match=r"lost\+found was passed over.*Ask for permission"):
        tasks.find_clips([tmp_path / "card" / "lost+found"])


def test_a_link_that_leads_nowhere_is_a_clip_to_tell_about(tmp_path: Path) -> None:
    (tmp_path / "lost.mov").symlink_to(tmp_path / "gone.mov")
    assert tasks.find_clips([tmp_path / "lost.mov"]) == [tmp_path / "lost.mov"]


def short_song(path: Path) -> Path:
    """The first half minute of the test song."""
    soundfile.write(path, song().room_feed[: 30 * 16000], 16000)
    return path


def test_a_song_is_read_and_mapped(tmp_path: Path) -> None:
    path = short_song(tmp_path / "song.wav")
    progress: list[float] = []
    made = tasks.song_from_file(path, progress=progress.append)
    assert made.media == media_ref(path)
    assert made.duration_s == pytest.approx(30.0, abs=0.001)
    beat_s = float(np.median(np.diff(song().beats_s)))
    assert made.map.tempo_bpm == pytest.approx(60 / beat_s, rel=0.03)
    for times in (made.map.beats_s, made.map.bars_s):
        assert len(times) > 5
        assert all(first < second for first, second in pairwise(times))
    sections = made.map.sections
    assert sections[0].start_s == 0
    assert sections[-1].end_s == pytest.approx(made.duration_s)
    assert all(first.end_s == second.start_s for first, second in pairwise(sections))
    assert progress == sorted(progress)
    assert progress[-1] == pytest.approx(1.0)


def _silent(folder: Path) -> Path:
    soundfile.write(folder / "silent.wav", np.zeros(50000), 16000)
    return folder / "silent.wav"


def _text(folder: Path) -> Path:
    (folder / "text.wav").write_text("no music in here\n" * 99)
    return folder / "text.wav"


def _picture_only(folder: Path) -> Path:
    return make(folder / "quiet.mov", Recipe(picture_s=1.0))


@pytest.mark.parametrize(
    ("build", "error"),
    [
        (lambda folder: folder / "gone.wav", Unreadable),
        (lambda folder: folder, Unreadable),
        (_text, Unreadable),
        (_picture_only, NoSound),
        (_silent, (NoSound, BadSignal)),
    ],
)
def test_a_song_that_cannot_be_used_is_told(
    tmp_path: Path, build: Callable[[Path], Path], error: type[AudioError]
) -> None:
    with pytest.raises(error, match=r"[a-z ,:]{15,}.*\.$"):
        tasks.song_from_file(build(tmp_path))


def test_mapping_can_be_stopped(tmp_path: Path) -> None:
    path = short_song(tmp_path / "song.wav")
    heard = [0.0]
    for after in (0.05, 0.3, 0.75):
        heard[:] = [0.0]
        with pytest.raises(Stopped):
            tasks.song_from_file(path, stop=lambda least=after: heard[-1] >= least, progress=heard.append)
        assert heard[-1] < 1


def a_song(path: Path) -> Song:
    """The test song, not mapped."""
    return Song(media_ref(song_file(path)), song().seconds)


def placed(made: Song, paths: list[Path], workers: int = 1) -> dict[str, Answer]:
    answers: list[Answer] = []
    tasks.place_clips([made], paths, answered=answers.append, workers=workers)
    assert {clip.media.path for clip in answers} == set(map(str, paths))
    return {Path(clip.media.path).name: clip for clip in answers}


def test_a_mixed_bag(tmp_path: Path) -> None:
    """Trouble with a file is its own answer, with a sentence; the others go on."""
    made = a_song(tmp_path / "song.wav")
    card = tmp_path / "card"
    touched(card, "text.mp4")
    (card / "text.mp4").write_text("shopping list\n" * 99)
    (card / "empty.mov").write_bytes(b"")
    (card / "still.mov").write_bytes(b"\xff\xd8\xff\xe0" + bytes(5000))
    make(card / "quiet.mov", Recipe(picture_s=1.0))
    make(card / "other.mov", Recipe(tracks=[low_noise(9.0)], picture_s=9.0))
    camera_file(card / "take.mov", (-2.0, 14.0))
    camera_file(card / "twice.mov", (30.0, 12.0), (-6.0, 6.0), (44.0, 12.0))
    before = {path.name: path.stat() for path in card.iterdir()}
    found = placed(made, [*sorted(card.iterdir()), card / "gone.mov"], workers=2)
    assert {name: clip.verdict.value for name, clip in found.items()} == {
        "empty.mov": "unreadable", "gone.mov": "unreadable", "other.mov": "no song", "quiet.mov": "no song",
        "still.mov": "unreadable", "take.mov": "placed", "text.mp4": "unreadable", "twice.mov": "placed",
    }  # fmt: skip
    for clip in found.values():
        assert clip.verdict is Verdict.PLACED or (
            sentence(clip.reason).endswith(".") and len(sentence(clip.reason)) > 20
        )
    assert "0 bytes" in sentence(found["empty.mov"].reason)
    assert "still picture" in sentence(found["still.mov"].reason)
    assert found["take.mov"].takes[0].line.song_time(0.0) == pytest.approx(-2.0, abs=0.0001)
    first, second = found["twice.mov"].takes
    assert first.line.song_time(0.0) == pytest.approx(30.0, abs=0.0001)
    assert second.line.song_time(18.0) == pytest.approx(44.0, abs=0.0001)
    # Clips are read, never written, nor anything beside them.
    assert {path.name: path.stat().st_mtime_ns for path in card.iterdir()} == {
        name: facts.st_mtime_ns for name, facts in before.items()
    }


def split(card: Path, second_created: str) -> list[Path]:
    """A recording of 15 s in two files, the song running over the joint; the second file is short."""
    facts = ("10:00:00:00", "2026-05-01T10:00:00Z"), ("10:00:12:00", second_created)
    pieces = (-2.0, 12.0), (10.0, 3.0)
    return [
        camera_file(
            card / f"C000{number}.MOV", piece, timecode=code, metadata={"creation_time": created},
            picture_codec="libx264", frame_rate=Fraction(25),
        )
        for number, piece, (code, created) in zip((1, 2), pieces, facts, strict=True)
    ]  # fmt: skip


def test_a_recording_in_two_files_is_placed_as_one(tmp_path: Path) -> None:
    """The clocks say that the second file goes on where the first ends; its 3 s alone would be too few."""
    first, second = placed(a_song(tmp_path / "song.wav"), split(tmp_path, "2026-05-01T10:00:12Z")).values()
    (one,), (two,) = first.takes, second.takes
    assert (first.verdict, second.verdict) == (Verdict.PLACED, Verdict.PLACED)
    assert one.line.song_time(0.0) == pytest.approx(-2.0, abs=0.0001)
    assert one.clip_end_s == pytest.approx(12.0, abs=0.001)
    assert two.clip_start_s == pytest.approx(0.0, abs=0.001)
    assert two.clip_end_s == pytest.approx(3.0, abs=0.05)
    assert two.line.song_time(0.0) == pytest.approx(10.0, abs=0.0001)
    assert one.line.song_time(one.clip_end_s) == pytest.approx(two.song_start_s, abs=0.001)
    assert first.recording == second.recording == first.media.path
    assert all(0 <= lag.clip_s <= 3 for lag in two.lags)


def test_files_that_do_not_continue_stand_alone(tmp_path: Path) -> None:
    first, second = placed(a_song(tmp_path / "song.wav"), split(tmp_path, "2026-05-01T10:07:00Z")).values()
    assert first.recording is None
    assert second.recording is None
    assert first.takes[0].line.song_time(0.0) == pytest.approx(-2.0, abs=0.0001)


def test_placing_can_be_stopped_before_anything_is_heard(tmp_path: Path) -> None:
    made = a_song(tmp_path / "song.wav")
    clip = camera_file(tmp_path / "a.mov", (10.0, 4.0))
    told: list[Path] = []
    answers: list[Answer] = []
    with pytest.raises(Stopped):
        tasks.place_clips(
            [made], [clip, clip], stop=lambda: bool(told), progress=lambda path, _: told.append(path),
            answered=answers.append,
        )  # fmt: skip
    assert answers == []


def test_a_song_that_fell_silent_is_told(tmp_path: Path) -> None:
    clip = camera_file(tmp_path / "a.mov", (10.0, 4.0))
    made = Song(media_ref(_silent(tmp_path)), 3.0)
    with pytest.raises(AudioError, match="silent"):
        tasks.place_clips([made], [clip], answered=lambda clip: None)


def test_a_picture_of_a_moment(tmp_path: Path) -> None:
    clip = make(tmp_path / "a.mov", Recipe(picture_s=1.0))
    (shown,) = tasks.pictures(clip, [0.30], 24)
    assert shown.shape == (24, 32, 3)
    assert number_in(shown) == 7
    with pytest.raises(Unreadable):
        tasks.pictures(tmp_path / "gone.mov", [0.0], 24)


def test_peaks_of_the_song(tmp_path: Path) -> None:
    """A fade in of a slow wave: later stretches are higher; lowest and highest of each in turn."""
    time = np.arange(4 * 16000) / 16000
    soundfile.write(tmp_path / "fade.wav", 0.2 * time * np.sin(2 * np.pi * 100 * time), 16000)
    peaks = tasks.song_peaks(tmp_path / "fade.wav", 8)
    assert peaks.shape == (8, 2)
    assert np.all(peaks[:, 0] < 0)
    assert peaks[:, 1] == pytest.approx(0.1 * np.arange(1, 9), abs=0.01)
    assert tasks.song_peaks(tmp_path / "fade.wav", 100000).shape == (100000, 2)


def test_paths_are_kept_as_they_lie(tmp_path: Path) -> None:
    """Links are not followed: the shoot names the file the person named."""
    real = camera_file(tmp_path / "real.mov", (20.0, 9.0))
    (tmp_path / "linked.mov").symlink_to(real)
    (clip,) = placed(a_song(tmp_path / "song.wav"), [tmp_path / "linked.mov"]).values()
    assert clip.media.path == str(tmp_path / "linked.mov")
    assert clip.verdict is Verdict.PLACED
