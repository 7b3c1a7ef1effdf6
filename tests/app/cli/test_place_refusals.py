"""What ``place`` refuses: songs and shoots it cannot use, wrong use, and targets among the clips."""

import os
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest
import soundfile

from app.cli import commands
from app.engine import tasks
from tests.app.cli.listing import listing


def _silent(folder: Path) -> Path:
    soundfile.write(folder / "still.wav", np.zeros(30000), 16000)
    return folder / "still.wav"


def _text(folder: Path) -> Path:
    (folder / "words.mp3").write_text("la la la\n" * 99)
    return folder / "words.mp3"


@pytest.mark.parametrize(
    ("build", "words"),
    [
        (lambda folder: folder / "gone.wav", "not there"),
        (_silent, "silent"),
        (_text, "words.mp3 cannot be used"),
        (lambda folder: folder, "cannot be"),
    ],
    ids=["missing", "silent", "text", "folder"],
)
def test_an_unusable_song_is_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], build: Callable[[Path], Path], words: str
) -> None:
    (tmp_path / "card").mkdir()
    (tmp_path / "card" / "a.mov").write_bytes(b"x")
    song = build(tmp_path)
    target = tmp_path / "out.json"
    assert commands.main(["place", str(song), str(tmp_path / "card"), "--report", str(target)]) == 1
    printed = capsys.readouterr()
    assert printed.out == ""
    last = printed.err.strip().split("\n")[-1]
    assert last.startswith("anglebook: The song ")
    assert words in last
    assert last.endswith(".")
    assert not target.exists()


def test_an_unusable_shoot_is_told_and_left_as_it_is(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    shoot = tmp_path / "evening.anglebook"
    shoot.write_text("{ half a file")
    assert commands.main(["place", "song.wav", str(tmp_path), "--shoot", str(shoot)]) == 1
    assert "evening.anglebook" in capsys.readouterr().err
    assert shoot.read_text() == "{ half a file"


@pytest.fixture
def wrong(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A folder to stand in, with a song, a clip and a file in the way; nobody may start working."""
    (tmp_path / "taken").mkdir()
    for name in ("song.wav", "a.mov", "file", "taken/song.otio"):
        (tmp_path / name).write_bytes(b"x")
    monkeypatch.chdir(tmp_path)

    def started(*_: object, **__: object) -> None:
        raise AssertionError("work was begun")

    monkeypatch.setattr(tasks, "place_clips", started)
    monkeypatch.setattr(tasks, "song_from_file", started)
    before = listing(tmp_path)
    yield tmp_path
    assert listing(tmp_path) == before


@pytest.mark.parametrize(
    "arguments",
    [
        "",
        "dance",
        "place",
        "place song.wav",
        "place song.wav a.mov --louder",
        "place song.wav a.mov --workers 0",
        "place song.wav a.mov --workers many",
        "place song.wav a.mov --shoot evening.txt",
        "place song.wav a.mov --report a.mov",
        "place song.wav a.mov --report song.wav",
        "place song.wav a.mov --report nowhere/out.json",
        "place song.wav a.mov --shoot nowhere/evening.anglebook",
        "place song.wav a.mov --handoff file",
        "place song.wav a.mov --handoff .",
        "place song.wav a.mov --handoff taken",
        "place song.wav b.mov",
    ],
)
@pytest.mark.usefixtures("wrong")
def test_wrong_use_is_told(capsys: pytest.CaptureFixture[str], arguments: str) -> None:
    assert commands.main(arguments.split()) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    assert len(printed.err) > 20


@pytest.mark.parametrize("option", ["--report", "--shoot", "--handoff"])
@pytest.mark.parametrize("where", ["link", "hard link", "beside", "below", "in the folder given"])
def test_no_target_is_a_clip_or_lies_among_clips(
    option: str, where: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Told before anything is heard; the song is not even looked at."""
    clip = tmp_path / "card" / "A" / "a.mov"
    (clip.parent / "below").mkdir(parents=True)
    clip.write_bytes(b"as it was")
    suffix = {"--report": ".json", "--shoot": ".anglebook", "--handoff": ""}[option]
    target = {
        "beside": clip.parent / f"r{suffix}",
        "below": clip.parent / "below" / f"r{suffix}",
        "in the folder given": tmp_path / "card" / f"r{suffix}",
    }.get(where, tmp_path / f"r{suffix}")
    if where == "link":
        target.symlink_to(clip.parent if option == "--handoff" else clip)
    elif where == "hard link":
        os.link(clip, target)
    before = listing(tmp_path)
    song = tmp_path / "none.wav"
    assert commands.main(["place", str(song), str(tmp_path / "card"), option, str(target)]) != 0
    assert "none.wav" not in capsys.readouterr().err
    assert listing(tmp_path) == before
    assert clip.read_bytes() == b"as it was"
