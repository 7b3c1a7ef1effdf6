"""The command ``sheet``: files that are written, and what is refused."""

from pathlib import Path

import pypdf
import pytest

from app.cli import commands
from app.model.document.shoot import Shoot
from app.model.document.store import save
from tests.app.cli.test_plan_command import saved

__all__ = ["saved"]


@pytest.mark.parametrize("kind", ["plan", "coverage", "sync", "pickups"])
def test_sheets_are_written(saved: Path, kind: str, capsys: pytest.CaptureFixture[str]) -> None:
    pdf, page = saved.with_name("sheet.pdf"), saved.with_name("sheet.html")
    for out in (pdf, page):
        arguments = ["sheet", str(saved), "--kind", kind, "--out", str(out), "--paper", "letter"]
        assert commands.main(arguments) == 0
        assert f"Wrote {out}" in capsys.readouterr().err
    assert pypdf.PdfReader(pdf).pages[0].mediabox.width == 612
    assert "waltz" in page.read_text("utf-8")


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
