"""The command ``map``: what it prints and writes, and labels that come back."""

import json
from pathlib import Path

import pytest

from app.cli import commands
from app.model.song_map.labels import from_labels
from tests.audio.engine_songs import song, song_file


@pytest.fixture(scope="module")
def tune(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return song_file(tmp_path_factory.mktemp("map") / "Fähre um sechs.wav")


def test_a_map_is_printed_written_and_read_back(
    tune: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    labels, report = tmp_path / "map.txt", tmp_path / "map.json"
    assert commands.main(["map", str(tune), "--labels", str(labels), "--report", str(report)]) == 0
    printed = capsys.readouterr().out
    assert " bpm" in printed
    told = json.loads(report.read_text("utf-8"))["song"]
    song_map = from_labels(labels.read_text("utf-8"), told["duration_s"])
    assert song_map.bars_s == pytest.approx(told["bars_s"], abs=1e-6)
    assert len(song_map.sections) == len(told["sections"])
    truth = song().beats_s
    near = sum(min(abs(beat - t) for t in truth) < 0.07 for beat in song_map.beats_s)
    assert near > 0.8 * len(song_map.beats_s), "window of 0.07 s: mir_eval's default"

    labels.write_text("0\t20\tA Hand-made\n20\t40\tB\n1.5\t1\n3.5\t2\n", "utf-8")
    again = tmp_path / "again.txt"
    arguments = ["map", str(tune), "--from-labels", str(labels), "--labels", str(again)]
    assert commands.main(arguments) == 0
    assert "A Hand-made: bars 1–2" in capsys.readouterr().out
    assert again.read_text("utf-8").splitlines()[1] == "1.500000\t1.500000\t1"


@pytest.mark.parametrize(
    ("more", "status", "why"),
    [
        (["--labels", "song.wav"], 2, "ends with .txt"),
        (["--report", "nowhere/at/all.json"], 2, "create it first"),
        (["--from-labels", "missing.txt"], 1, "cannot be read"),
        (["--from-labels", "bytes.txt"], 1, "not plain text"),
    ],
)
def test_wrong_use_is_told(
    tune: Path,
    more: list[str],
    status: int,
    why: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("bytes.txt").write_bytes(b"\xff\xfe0")
    assert commands.main(["map", str(tune), *more]) == status
    assert why in capsys.readouterr().err
    assert [path.name for path in tmp_path.iterdir()] == ["bytes.txt"]


def test_no_song_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert commands.main(["map", str(tmp_path / "none.wav")]) == 1
    assert "cannot be used" in capsys.readouterr().err
