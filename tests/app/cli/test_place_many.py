"""``anglebook place`` with several songs: one heap of clips, a report on all, a hand-off each."""

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from app.cli import commands
from app.engine import tasks
from app.model.document import store
from app.model.document.identity import media_ref
from app.model.document.song import Song, SongMap
from tests.app.engine.test_many_songs import playback
from tests.audio.engine_songs import camera_file, song, song_file


@pytest.fixture
def evening(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Two songs and a clip of each; the songs' maps are of no interest, so nothing is mapped."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    card = tmp_path / "card"
    card.mkdir()
    song_file(tmp_path / "rock.wav")
    song_file(tmp_path / "loops.wav", "loops")
    camera_file(card / "a.mov", (20.0, 9.0))
    camera_file(card / "b.mov", (33.0, 9.0), style="loops")

    def unmapped(path: Path, **_: Any) -> Song:
        return Song(media_ref(path), song(path.stem).seconds, SongMap())

    monkeypatch.setattr(tasks, "song_from_file", unmapped)
    return tmp_path


def placed(folder: Path, *more: str, clips: str = "card") -> int:
    return commands.main(["place", str(folder / "rock.wav"), str(folder / clips), "--workers", "1", *more])


def test_every_take_names_its_song(evening: Path, capsys: pytest.CaptureFixture[str]) -> None:
    shoot, told = evening / "shoot.anglebook", evening / "report.json"
    also = ("--also", str(evening / "loops.wav"))
    written = ("--shoot", str(shoot), "--report", str(told), "--handoff", str(evening / "out"))
    assert placed(evening, *also, *written) == 0
    out, err = capsys.readouterr()
    assert "1 of 2" in err
    assert "b.mov: placed (loops)" in err
    assert "take 1: loops, 0:33.000" in out
    assert "2 clips: 2 placed." in out
    report = json.loads(told.read_text("utf-8"))
    takes = {Path(clip["path"]).name: clip["takes"] for clip in report["clips"]}
    assert [take["song"] for take in takes["a.mov"]] == ["rock.wav"]
    assert [(take["song"], take["playback"]) for take in takes["b.mov"]] == [("loops.wav", None)]
    assert [Path(one["song"]["path"]).name for one in report["songs"]] == ["rock.wav", "loops.wav"]
    assert [clip["verdict"] for clip in report["songs"][0]["clips"]] == ["placed", "no song"]
    assert sorted(str(path.relative_to(evening / "out")) for path in (evening / "out").glob("*/*")) == [
        "loops/shoot - loops.csv",
        "loops/shoot - loops.otio",
        "rock/shoot - rock.csv",
        "rock/shoot - rock.otio",
    ]
    assert len(store.load(shoot).songs) == 2


def test_a_song_that_comes_later_is_held_against_the_clips_there_are(
    evening: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    shoot = ("--shoot", str(evening / "shoot.anglebook"))
    assert placed(evening, *shoot, clips="card/a.mov") == 0
    assert "1 clip: 1 placed." in capsys.readouterr().out
    assert placed(evening, *shoot, "--also", str(evening / "loops.wav"), clips="card/b.mov") == 0
    out, err = capsys.readouterr()
    assert "2 clips: 2 placed." in out
    assert "Placing 2 clips…" in err
    assert placed(evening, *shoot) == 0
    out, err = capsys.readouterr()
    assert "2 clips: 2 placed." in out
    assert "No new clips." in err


def test_a_take_names_the_playback_file_it_was_heard_on(
    evening: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    file = replace(playback(evening, "song-1"), id="")
    monkeypatch.setattr(tasks, "playback_from_file", lambda *_, **__: file)
    (evening / "faster.mov").rename(evening / "card" / "faster.mov")
    told, shoot = evening / "report.json", evening / "shoot.anglebook"
    more = ("--playback", str(evening / "faster.wav"), "--report", str(told), "--shoot", str(shoot))
    assert placed(evening, *more, clips="card/faster.mov") == 0
    out, err = capsys.readouterr()
    assert "faster.wav: rock" in err
    assert "heard on faster.wav" in out
    (take,) = json.loads(told.read_text("utf-8"))["clips"][0]["takes"]
    assert (take["song"], take["playback"], take["verdict"]) == ("rock.wav", "faster.wav", "placed")
    assert [one.id for one in store.load(shoot).playbacks] == ["playback-1"]
