"""The command ``place``: what it prints where, what it writes, and how it ends."""

import json
import os
import re
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import opentimelineio as otio
import pytest

from app.cli import commands
from app.engine import tasks
from app.model.answers import Answer, answers
from app.model.document import store
from app.model.document.decisions import Decision
from app.model.document.identity import media_ref
from app.model.document.media_ref import MediaRef
from app.model.document.song import Song
from app.model.document.verdict import Verdict
from app.model.edits import angle_edits, deciding, shoot_edits
from app.model.on_song import on_song
from app.model.reasons import in_words
from tests.app.cli.listing import listing
from tests.app.handoff.test_report import SHAPE, assert_shape
from tests.audio.engine_songs import camera_file, song_file

ROOT = Path(__file__).parents[3]


@dataclass(frozen=True)
class Evening:
    """A shoot of two cameras, and what the command made of it."""

    song: Path
    clips: Path
    out: Path
    run: subprocess.CompletedProcess[str]
    before: dict[str, tuple[int, int]]

    @property
    def report(self) -> dict[str, Any]:
        told: dict[str, Any] = json.loads((self.out / "report.json").read_text("utf-8"))
        return told

    @property
    def shoot(self) -> Path:
        return self.out / "Fähre um sechs.anglebook"


# Where the song is at the first picture of each clip.
TRUTH = {"Küche/A 001.mov": -3.0, "Küche/A 002.mov": 20.5, "Dach & Hof/B1.mp4": 38.25}


@pytest.fixture(scope="module")
def evening(tmp_path_factory: pytest.TempPathFactory) -> Evening:
    """The command once, as a person would call it, over names with spaces, umlauts and signs."""
    base = tmp_path_factory.mktemp("Grüße aus dem Keller")
    clips, out = base / "Tag 1", base / "out"
    for folder in (out, clips / "Küche", clips / "Dach & Hof"):
        folder.mkdir(parents=True)
    song = song_file(base / "Fähre um sechs.wav")
    camera_file(clips / "Küche/A 001.mov", (-3.0, 16.0))
    camera_file(clips / "Küche/A 002.mov", (20.5, 11.0))
    camera_file(clips / "Dach & Hof/B1.mp4", (38.25, 14.0), sound_codec="aac")
    (clips / "Küche/._A 001.mov").write_bytes(b"x")
    (clips / "Küche/notes.txt").write_text("buy strings")
    (clips / "Dach & Hof/kaputt.mp4").write_text("no film in here\n" * 99)
    before = listing(clips)
    run = subprocess.run(
        [
            *(sys.executable, "-W", "error::ImportWarning", "-m", "app", "place", song, clips),
            *("--workers", "1", "--shoot", out / "Fähre um sechs.anglebook"),
            *("--report", out / "report.json", "--handoff", out / "to the edit"),
        ],
        cwd=ROOT,
        capture_output=True,
        text=True,
        encoding="utf-8",
        env={**os.environ, "PYTHONIOENCODING": "utf-8"},
        check=False,
    )
    return Evening(song, clips, out, run, before)


def test_the_table_goes_to_stdout_and_progress_to_stderr(evening: Evening) -> None:
    assert evening.run.returncode == 0, evening.run.stderr
    table, told = evening.run.stdout, evening.run.stderr
    assert "4 clips: 3 placed, 1 unreadable." in table
    for name in ("A 001.mov", "A 002.mov", "B1.mp4", "kaputt.mp4"):
        assert name in table
        assert re.search(rf"^\d of 4  {re.escape(name)}: (placed|unreadable)$", told, re.MULTILINE)
    assert "notes.txt" not in table
    assert "._A" not in table + told
    assert "Placing" not in table
    assert "Wrote" not in table
    assert "Traceback" not in told
    assert "Warning" not in told


def test_the_report_has_its_shape_and_its_formula_is_true(evening: Evening) -> None:
    """Song time = song_start_s + (clip time - clip_start_s) * speed."""
    told = evening.report
    assert_shape(told, SHAPE)
    assert told["name"] == "Fähre um sechs"
    assert Path(told["song"]["path"]) == evening.song
    by_name = {Path(clip["path"]).relative_to(evening.clips).as_posix(): clip for clip in told["clips"]}
    assert set(by_name) == {*TRUTH, "Dach & Hof/kaputt.mp4"}
    for name, song_at_zero in TRUTH.items():
        clip = by_name[name]
        assert clip["verdict"] == "placed", clip["reason"]
        (take,) = clip["takes"]
        for moment in (take["clip_start_s"], take["clip_end_s"]):
            at = take["song_start_s"] + (moment - take["clip_start_s"]) * take["speed"]
            assert at == pytest.approx(song_at_zero + moment, abs=0.0002)
        assert at == pytest.approx(take["song_end_s"])
    assert by_name["Dach & Hof/kaputt.mp4"]["verdict"] == "unreadable"
    assert len(by_name["Dach & Hof/kaputt.mp4"]["reason"]) > 20
    takes = {take["id"] for clip in told["clips"] for take in clip["takes"]}
    covering = {take for part in told["coverage"] for bar in part["bars"] for take in bar["takes"]}
    assert covering == takes
    assert len(takes) == 3


def test_the_shoot_is_saved_whole(evening: Evening) -> None:
    shoot = store.load(evening.shoot)
    assert shoot.name == "Fähre um sechs"
    assert [clip.id for clip in shoot.clips] == [clip["id"] for clip in evening.report["clips"]]
    assert all(clip.angle_id for clip in shoot.clips)


def test_the_hand_off_reads_back(evening: Evening) -> None:
    """By OpenTimelineIO itself, and as a table."""
    folder = evening.out / "to the edit"
    assert sorted(path.name for path in folder.iterdir()) == ["Fähre um sechs.csv", "Fähre um sechs.otio"]
    timeline = otio.adapters.read_from_file(str(folder / "Fähre um sechs.otio"))
    assert isinstance(timeline, otio.schema.Timeline)
    urls = {
        clip.media_reference.target_url
        for clip in timeline.find_clips()
        if isinstance(clip.media_reference, otio.schema.ExternalReference)
    }
    assert any("A%20002.mov" in url for url in urls)
    assert (folder / "Fähre um sechs.csv").read_text("utf-8").count("\n") == 5
    assert evening.run.stderr.count("checked it against the shoot") == 2


def test_nothing_is_written_beside_the_clips(evening: Evening) -> None:
    assert listing(evening.clips) == evening.before
    assert sorted(path.name for path in evening.clips.parent.iterdir()) == [
        "Fähre um sechs.wav",
        "Tag 1",
        "out",
    ]


def test_a_second_run_places_only_what_is_new(evening: Evening, capsys: pytest.CaptureFixture[str]) -> None:
    """The song is not mapped again, and what a person decided stands."""
    shoot = store.load(evening.shoot)
    take = next(clip for clip in on_song(shoot).clips if clip.takes).takes[0]
    shoot, _ = deciding.confirm_take(shoot, take.id, "2031-05-04T18:20:00Z")
    shoot, _ = angle_edits.rename_angle(shoot, shoot.angles[0].id, "Vom Herd aus")
    kept = evening.out / "kept.anglebook"
    store.save(shoot, kept)
    new = camera_file(evening.out / "A 003.mov", (50.0, 12.0))
    arguments = ["place", str(evening.song), str(evening.clips), str(new), "--shoot", str(kept)]
    assert commands.main([*arguments, "--workers", "1"]) == 0
    printed = capsys.readouterr()
    assert "1 of 1  A 003.mov: placed" in printed.err
    assert "A 001.mov" not in printed.err
    assert "Reading" not in printed.err
    assert "5 clips: 4 placed, 1 unreadable." in printed.out
    again = store.load(kept)
    assert again.clips[:4] == shoot.clips
    assert again.songs == shoot.songs
    assert deciding.find_take(again, take.id)[2].decision is Decision.CONFIRMED
    assert "Vom Herd aus" in [angle.name for angle in again.angles]
    assert on_song(again).clips[4].takes[0].song_time(0.0) == pytest.approx(50.0, abs=0.0001)
    assert commands.main([*arguments, "--workers", "1"]) == 0
    assert "No new clips." in capsys.readouterr().err
    assert store.load(kept) == again


def test_a_map_from_labels_takes_the_place_of_the_computed_one(
    evening: Evening, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    labels, kept = tmp_path / "map.txt", evening.out / "counted.anglebook"
    labels.write_text("0\t20\tA Hand-made\n20\t40\tB\n1.5\t1\n3.5\t2\n", "utf-8")
    kept.write_bytes(evening.shoot.read_bytes())
    arguments = ["place", str(evening.song), str(evening.clips), "--map", str(labels), "--shoot", str(kept)]
    assert commands.main(arguments) == 0
    assert "A Hand-made" in capsys.readouterr().out
    before, after = store.load(evening.shoot), store.load(kept)
    assert after.songs[0].map.bars_s == (1.5, 3.5)
    assert (after.clips, after.findings) == (before.clips, before.findings)
    labels.write_text("1\t1\tclap\n", "utf-8")
    assert commands.main(arguments) == 1
    assert "map.txt does not fit this song" in capsys.readouterr().err


def test_a_song_that_moved_is_taken_where_it_is_now(
    evening: Evening, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The same content in another place: not mapped again, and the shoot knows the new place."""
    moved = tmp_path / "the song.wav"
    moved.write_bytes(evening.song.read_bytes())
    kept = tmp_path / "kept.anglebook"
    store.save(store.load(evening.shoot), kept)
    assert commands.main(["place", str(moved), str(evening.clips), "--shoot", str(kept)]) == 0
    assert "Reading" not in capsys.readouterr().err
    (song,) = store.load(kept).songs
    assert song.media.path == str(moved)
    assert song.map.bars_s


def test_an_interrupt_leaves_nothing_half_written(
    evening: Evening, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def interrupted(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(tasks, "place_clips", interrupted)
    kept = tmp_path / "kept.anglebook"
    store.save(store.load(evening.shoot), kept)
    before = kept.read_bytes()
    new = tmp_path / "card" / "new.mov"
    new.parent.mkdir()
    new.write_bytes(b"x")
    arguments = ["place", str(evening.song), str(new), "--shoot", str(kept)]
    assert commands.main([*arguments, "--report", str(tmp_path / "r.json")]) == 130
    assert "stopped; nothing was written. What was read is kept" in capsys.readouterr().err
    assert kept.read_bytes() == before
    assert not (tmp_path / "r.json").exists()


def test_comparing_is_told_clip_by_clip(
    evening: Evening, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def compare(*_: object, comparing: Callable[[int, int], None], **__: object) -> None:
        for done in range(3):
            comparing(done, 2)

    monkeypatch.setattr(tasks, "place_clips", compare)
    (tmp_path / "new.mov").write_bytes(b"x")
    assert commands.main(["place", str(evening.song), str(tmp_path / "new.mov")]) == 0
    told = capsys.readouterr().err.splitlines()
    assert told[-3:] == ["Comparing 2 clips with others…", "1 of 2 compared", "2 of 2 compared"]


def test_where_no_clip_has_the_song_it_is_asked_whether_it_is_the_right_one(
    evening: Evening, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Two clips of another song: the question, and that they match each other, come last."""
    camera_file(tmp_path / "one.mov", (4.0, 24.0), style="waltz")
    camera_file(tmp_path / "two.mov", (8.0, 14.0), style="waltz")
    assert commands.main(["place", str(evening.song), str(tmp_path), "--workers", "1"]) == 0
    told = capsys.readouterr().err.splitlines()
    assert told[-2:] == [
        f"Neither of the 2 clips has this song. Is {evening.song.name} the right song?",
        "The other clip matches one.mov, so both may be from another song.",
    ]


def test_all_is_written_though_nobody_reads_the_table(
    evening: Evening, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    kept = tmp_path / "kept.anglebook"
    store.save(store.load(evening.shoot), kept)
    reader, writer = os.pipe()
    os.close(reader)
    arguments = ["place", str(evening.song), str(evening.clips), "--shoot", str(kept)]
    with os.fdopen(writer, "w") as closed:
        monkeypatch.setattr(sys, "stdout", closed)
        assert commands.main([*arguments, "--report", str(tmp_path / "r.json")]) == 0
    assert len(json.loads((tmp_path / "r.json").read_text("utf-8"))["clips"]) == 4


def test_a_target_that_cannot_be_written_fails_and_the_others_are_written(
    evening: Evening, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The work is not lost: a report in the way of a folder, and the hand-off beside it."""
    kept = tmp_path / "kept.anglebook"
    store.save(store.load(evening.shoot), kept)
    (tmp_path / "r.json").mkdir()
    arguments = ["place", str(evening.song), str(evening.clips), "--shoot", str(kept)]
    arguments += ["--report", str(tmp_path / "r.json"), "--handoff", str(tmp_path / "h")]
    status = commands.main(arguments)
    printed = capsys.readouterr()
    assert status == 1
    assert "r.json could not be written" in printed.err
    assert "4 clips" in printed.out
    assert len(list((tmp_path / "h").iterdir())) == 2


def test_what_another_saved_during_a_run_stays(
    evening: Evening, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A decision, a note and a clip that came into the file while clips were heard are there afterwards."""
    kept = tmp_path / "kept.anglebook"
    store.save(store.load(evening.shoot), kept)
    new = tmp_path / "card" / "new.mov"
    new.parent.mkdir()
    new.write_bytes(b"x")
    other = MediaRef("/elsewhere/other.mov", 1, "00")

    def meanwhile(*_: object, answered: Callable[[Answer], None], **__: object) -> None:
        shoot = store.load(kept)
        shoot, _change = shoot_edits.set_note(shoot, [shoot.clips[0].id], "boom in the picture")
        take = on_song(shoot).clips[0].takes[0]
        shoot, _change = deciding.confirm_take(shoot, take.id, "2031-05-04T18:20:00Z")
        shoot, _change = shoot_edits.add_clips(shoot, [other])
        store.save(shoot, kept)
        first, *_others = answers(store.load(evening.shoot))
        answered(replace(first, warnings=("heard again",)))
        answered(Answer(media_ref(new), verdict=Verdict.UNREADABLE, reason=in_words("no film")))

    monkeypatch.setattr(tasks, "place_clips", meanwhile)
    arguments = ["place", str(evening.song), str(new), "--shoot", str(kept), "--report"]
    assert commands.main([*arguments, str(tmp_path / "r.json")]) == 0
    shoot = store.load(kept)
    by_path = {clip.media.path: clip for clip in on_song(shoot).clips}
    first = on_song(shoot).clips[0]
    assert (first.note, first.takes[0].decision) == ("boom in the picture", Decision.CONFIRMED)
    assert other.path in by_path
    assert by_path[str(new)].verdict is Verdict.UNREADABLE
    told = json.loads((tmp_path / "r.json").read_text("utf-8"))
    assert len(told["clips"]) == len(shoot.clips) == 6


def test_a_shoot_that_got_another_song_meanwhile_is_left_alone(
    evening: Evening, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    kept, new = tmp_path / "kept.anglebook", tmp_path / "card" / "new.mov"
    store.save(store.load(evening.shoot), kept)
    new.parent.mkdir()
    new.write_bytes(b"x")

    def meanwhile(*_: object, **__: object) -> None:
        other = Song(MediaRef("/elsewhere/tango.wav", 9, "99"), 60.0)
        store.save(shoot_edits.set_song(store.load(kept), other)[0], kept)

    monkeypatch.setattr(tasks, "place_clips", meanwhile)
    assert commands.main(["place", str(evening.song), str(new), "--shoot", str(kept)]) == 1
    assert "now has another song" in capsys.readouterr().err
    (song,) = store.load(kept).songs
    assert song.media.digest == "99"


def test_cards_of_several_cameras_become_an_angle_each(
    evening: Evening, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    card = tmp_path / "Harbour waltz"
    names = [
        "A001/A001C001.MOV",
        "A002/A002C001.MOV",
        "B001/B001C001.MOV",
        "DCIM/100/C0001.MP4",
        "Singer/C0001.MP4",
    ]
    for name in names:
        (card / name).parent.mkdir(parents=True, exist_ok=True)
        (card / name).write_bytes(name.encode())
    take = answers(store.load(evening.shoot))[0]

    def placed(_: Song, paths: list[Path], *, answered: Callable[[Answer], None], **__: object) -> None:
        for path in paths:
            answered(replace(take, media=media_ref(path), recording=None))

    monkeypatch.setattr(tasks, "place_clips", placed)
    monkeypatch.chdir(tmp_path)
    report = tmp_path / "r.json"
    arguments = ["place", str(evening.song), "./x/../Harbour waltz", "--report", str(report)]
    (tmp_path / "x").mkdir()
    assert commands.main(arguments) == 0
    told = json.loads(report.read_text("utf-8"))
    assert_shape(told, SHAPE)
    assert [clip["angle"] for clip in told["clips"]] == [
        "Camera A",
        "Camera A",
        "Camera B",
        "Camera 1",
        "Singer",
    ]
    assert {angle["name"]: angle["named"] for angle in told["angles"]} == {
        "Camera A": False, "Camera B": False, "Camera 1": False, "Singer": True,
    }  # fmt: skip
    said = " ".join(capsys.readouterr().out.split())
    assert "Angles not named yet: Camera A, Camera B, Camera 1." in said
