"""The command ``sheet``: files that are written, and what is refused."""

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pypdf
import pytest

from app.cli import commands
from app.model.answers import Answer
from app.model.document.clip import FileFacts
from app.model.document.findings import TakePlacement
from app.model.document.shoot import Shoot
from app.model.document.store import load, save
from app.model.document.verdict import Verdict
from app.model.edits.shoot_edits import add_clips, answer_clip, set_song
from tests.app.cli.test_plan_command import saved
from tests.app.random_shoots import media, waltz
from tests.audio.media_files import Recipe, make

__all__ = ["saved"]


@pytest.mark.parametrize("kind", ["plan", "coverage", "sync", "pickups"])
def test_sheets_are_written(saved: Path, kind: str, capsys: pytest.CaptureFixture[str]) -> None:
    pdf, page = saved.with_name("sheet.pdf"), saved.with_name("sheet.html")
    for out in (pdf, page):
        arguments = ["sheet", str(saved), "--kind", kind, "--out", str(out), "--paper", "letter"]
        assert commands.main(arguments) == 0
        assert f"Wrote {out}" in capsys.readouterr().err
    assert pypdf.PdfReader(pdf).pages[0].mediabox.width == 612
    assert ": evening</title>" in page.read_text("utf-8"), "under the shoot's name"


def test_with_several_songs_a_sheet_names_its_own(saved: Path) -> None:
    value = load(saved)
    air = replace(waltz(), media=media("/shoot/air.wav"), id="song-2")
    save(replace(value, songs=(*value.songs, air)), saved)
    page = saved.with_name("sheet.html")
    for more, called in (((), value.songs[0].called), (("--song", "air"), "air")):
        assert commands.main(["sheet", str(saved), "--kind", "plan", "--out", str(page), *more]) == 0
        assert f": evening - {called}</title>" in page.read_text("utf-8")


def test_what_may_not_be_written_is_told(saved: Path, capsys: pytest.CaptureFixture[str]) -> None:
    clips = saved.with_name("clips")
    clips.mkdir()
    (clips / "fiddle.mov").write_bytes(b"")
    for out, said in (
        (saved.with_name("sheet.txt"), "ends with .pdf or .html"),
        (saved.with_name("none") / "sheet.pdf", "create it first"),
        (clips / "sheet.pdf", "--out:"),
    ):
        assert commands.main(["sheet", str(saved), "--kind", "plan", "--out", str(out)]) == 2
        assert said in capsys.readouterr().err
    assert [one.name for one in clips.iterdir()] == ["fiddle.mov"]


def test_a_shoot_without_a_song_has_no_sheet(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    save(Shoot("Tomorrow"), tmp_path / "tomorrow.anglebook")
    out = tmp_path / "sheet.pdf"
    shoot = str(tmp_path / "tomorrow.anglebook")
    assert commands.main(["sheet", shoot, "--kind", "plan", "--out", str(out)]) == 1
    assert "no song yet" in capsys.readouterr().err
    assert not out.exists()


def test_a_coverage_sheet_shows_a_picture_of_each_angle_that_can_be_read(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    song = replace(waltz(), media=media(str(tmp_path / "waltz.wav")))
    shoot, _ = set_song(Shoot("Evening"), song)
    bass, horn = tmp_path / "clips" / "Bass" / "C0001.mov", tmp_path / "clips" / "Horn" / "C0002.mov"
    bass.parent.mkdir(parents=True)
    make(bass, Recipe(picture_s=2.0))
    for path in (bass, horn):
        shoot, _ = add_clips(shoot, [replace(media(str(path)), digest=path.stem)], [tmp_path / "clips"])
        facts = FileFacts(duration_s=2.0, frame_rate=Fraction(25), width=320, height=180)
        take = TakePlacement(0.0, 2.0, 1.0)
        answer = Answer(shoot.clips[-1].media, facts, verdict=Verdict.PLACED, takes=(take,))
        shoot, _ = answer_clip(shoot, answer)
    save(shoot, tmp_path / "evening.anglebook")
    out = tmp_path / "sheet.html"
    arguments = ["sheet", str(tmp_path / "evening.anglebook"), "--kind", "coverage", "--out", str(out)]
    assert commands.main([*arguments, "--trust-paths"]) == 0
    assert "There is no picture of C0002.mov." in capsys.readouterr().err
    assert out.read_text("utf-8").count("data:image/jpeg") == 1
