"""``anglebook look --reference``: takes compared, kept in the shoot, told in the report, handed off."""

import json
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import numpy as np
import PyOpenColorIO as ocio
import pytest

from app.cli import commands
from app.model.document import store
from app.model.document.clip import FileFacts
from app.model.document.findings import Finding, TakePlacement
from app.model.document.identity import media_ref
from app.model.document.shoot import Shoot
from app.model.document.song import SongMap
from app.model.document.verdict import Verdict
from app.model.edits.shoot_edits import add_clip, set_song
from app.model.on_song import on_song
from tests.app.random_shoots import waltz
from tests.quality.scene_files import encode
from tests.quality.scenes import Take, pictures, random_camera, random_place

RATE = Fraction(10)


@pytest.fixture
def saved(tmp_path: Path) -> Path:
    """A shoot of two takes of one set-up, the second one 1.2 stops over."""
    place = random_place(11)
    camera = replace(random_camera(np.random.default_rng(5), place, "half", side=0), transfer="bt709")
    folder = tmp_path / "clips"
    folder.mkdir()
    song = tmp_path / "song.wav"
    song.write_bytes(b"not asked for")
    bars = SongMap(bars_s=tuple(float(n) for n in range(0, 24, 2)))
    shoot, _ = set_song(Shoot(), replace(waltz(), media=media_ref(song), map=bars))
    for name, stops in (("plain", 0.0), ("over", 1.2)):
        take = Take(place, replace(camera, stops=camera.stops + stops), place.light)
        path = encode(folder / f"{name}.mp4", pictures(take, 8.0, RATE, 96, 160), RATE)
        shoot, _ = add_clip(shoot, media_ref(path))
    facts = FileFacts(duration_s=8.0, frame_rate=RATE, width=160, height=96)
    found = TakePlacement(0.0, 8.0, 4.0)
    known = shoot.songs[0]
    shoot = replace(
        shoot,
        clips=tuple(replace(clip, facts=facts) for clip in shoot.clips),
        findings=tuple(
            Finding(clip.id, known.id, known.media.digest, Verdict.PLACED, takes=(found,))
            for clip in shoot.clips
        ),
    )
    path = tmp_path / "Evening.anglebook"
    store.save(shoot, path)
    return path


def test_takes_are_matched_with_the_reference(
    saved: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    report = tmp_path / "report.json"
    wish = ["look", str(saved), "--reference", "plain.mp4@2", "--report", str(report), "--workers", "1"]
    assert commands.main(wish) == 0
    assert "1.2 stops brighter" in capsys.readouterr().out
    plain, over = json.loads(report.read_text("utf-8"))["clips"]
    assert plain["takes"][0]["match"] is None
    told = over["takes"][0]["match"]
    assert set(told) == {"slope", "offset", "power", "saturation", "stops", "reference"}
    assert told["stops"] == pytest.approx(1.2, abs=0.1)
    assert told["reference"] == plain["takes"][0]["id"]
    assert all(slope < 0.8 for slope in told["slope"])
    kept = on_song(store.load(saved)).clips[1].takes[0].match
    assert kept is not None
    assert list(kept.slope) == told["slope"]
    assert abs(kept.stops_after) < 0.1
    # Without a word the reference stays, and its matches do.
    assert commands.main(["look", str(saved), "--workers", "1"]) == 0
    assert on_song(store.load(saved)).clips[1].takes[0].match == kept
    assert commands.main(["handoff", str(saved), "--to", str(tmp_path / "edit"), "--what", "match"]) == 0
    (path,) = (tmp_path / "edit").glob("*.ccc")
    read = ocio.CDLTransform.CreateFromFile(str(path), over["takes"][0]["id"])
    assert read.getSlope() == pytest.approx(told["slope"])
