"""The command ``renew``: a shoot goes over to the next master, takes are heard on it, the rest is told."""

import json
from pathlib import Path

import numpy as np
import pytest
import soundfile

from app.cli import commands
from app.model.document.store import load
from app.model.document.verdict import Verdict
from app.model.on_song import on_song
from tests.audio.engine_songs import camera_file, song_file

LEAD_S = 1.5


@pytest.fixture(scope="module")
def evening(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A placed shoot of a song of a minute, and a master without what lies between 24 and 34 s of it."""
    base = tmp_path_factory.mktemp("evening")
    (base / "cards").mkdir()
    song = song_file(base / "mix 1.wav")
    samples, rate = soundfile.read(song)
    parts = [np.zeros(round(LEAD_S * rate)), samples[: 24 * rate], samples[34 * rate :]]
    soundfile.write(base / "mix 2.wav", np.concatenate(parts), rate, subtype="PCM_24")
    camera_file(base / "cards" / "whole.mov", (2.0, 50.0))
    camera_file(base / "cards" / "late.mov", (36.0, 16.0))
    asked = ["place", str(song), str(base / "cards"), "--shoot", str(base / "s.anglebook"), "--workers", "1"]
    assert commands.main(asked) == 0
    return base


def test_every_take_is_carried_and_heard(evening: Path, capsys: pytest.CaptureFixture[str]) -> None:
    report = evening / "report.json"
    asked = ["renew", str(evening / "s.anglebook"), "--song", str(evening / "mix 2.wav"), "--workers", "1"]
    assert commands.main([*asked, "--report", str(report)]) == 0
    out = capsys.readouterr().out
    assert "3 takes carried over, 3 of them heard where they were carried to." in out
    told = json.loads(report.read_text("utf-8"))
    fates = [piece["fate"] for piece in told["pieces"]]
    assert fates == ["added", "moved", "cut", "moved"]
    assert "  cut " in out
    living = [piece for piece in told["pieces"] if piece["fate"] == "moved"]
    assert [(p["old_start_s"], p["new_start_s"]) for p in living] == [
        (pytest.approx(0.0, abs=0.05), pytest.approx(LEAD_S, abs=0.05)),
        (pytest.approx(34.0, abs=0.05), pytest.approx(LEAD_S + 24.0, abs=0.05)),
    ]
    for piece in living:
        gone_s = 10.0 if piece["old_start_s"] > 30 else 0.0
        assert piece["new_start_s"] - piece["old_start_s"] == pytest.approx(LEAD_S - gone_s, abs=0.001)
    assert all(take["agrees"] and abs(take["heard_off_s"]) < 0.001 for take in told["takes"])
    assert [one["kind"] for one in told["left"]].count("take") == 1
    view = on_song(load(evening / "s.anglebook"))
    assert view.song is not None
    assert Path(view.song.media.path).name == "mix 2.wav"
    takes = {Path(clip.media.path).name: clip.takes for clip in view.clips}
    assert takes["late.mov"][0].song_start_s == pytest.approx(36.0 - 10.0 + LEAD_S, abs=0.002)
    assert all(take.verdict is Verdict.PLACED for clip in view.clips for take in clip.takes)
    assert commands.main(asked) == 0
    assert "nothing to do" in capsys.readouterr().err


def test_another_song_is_told(evening: Path, capsys: pytest.CaptureFixture[str]) -> None:
    rng = np.random.default_rng(1)
    soundfile.write(evening / "noise.wav", rng.standard_normal(22050 * 20) * 0.1, 22050)
    before = (evening / "s.anglebook").read_bytes()
    assert commands.main(["renew", str(evening / "s.anglebook"), "--song", str(evening / "noise.wav")]) == 1
    assert "it is another song" in capsys.readouterr().err
    assert (evening / "s.anglebook").read_bytes() == before
    assert commands.main(["renew", str(evening / "s.anglebook"), "--song", "x.wav", "--of", "jig"]) == 1
    assert "has no song jig" in capsys.readouterr().err
