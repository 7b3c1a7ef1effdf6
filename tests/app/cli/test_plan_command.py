"""The command ``plan``: tables read and written, what is said of wrong ones, and what is missing."""

from dataclasses import replace
from pathlib import Path

import pytest

from app.cli import commands
from app.model.document.plan import Passage
from app.model.document.shoot import Shoot
from app.model.document.store import load, save
from app.model.edits.shoot_edits import add_clips, set_song
from tests.app.model.coverage.test_needs import song
from tests.app.random_shoots import media

NEEDS = "section,first_bar,last_bar,subject,least_bars,least_angles,note\n"


@pytest.fixture
def saved(tmp_path: Path) -> Path:
    """A shoot with a song of twelve bars in three sections, and one clip that nobody heard yet."""
    shoot, _ = set_song(Shoot("Evening"), replace(song(), media=media(str(tmp_path / "waltz.wav"))))
    shoot, _ = add_clips(shoot, [media(str(tmp_path / "clips" / "fiddle.mov"))])
    save(shoot, tmp_path / "evening.anglebook")
    return tmp_path / "evening.anglebook"


def test_a_plan_is_read_shown_and_written(saved: Path, capsys: pytest.CaptureFixture[str]) -> None:
    plan, angles, again = (saved.with_name(name) for name in ("plan.csv", "angles.csv", "again.csv"))
    # As a spreadsheet saves it in some countries: with a byte order mark, semicolons and CRLF.
    text = "section;first_bar;last_bar;subject;least_bars;note\r\nA;;;fiddle;;the run\r\n;9;12;=drums;2;\r\n"
    plan.write_text(f"\ufeff{text}", "utf-8")
    angles.write_text("angle,subjects,safety,rank\nFIDDLE,fiddle; bow,no,1\nBalcony,,yes,\n", "utf-8")
    arguments = ["plan", str(saved), "--read", str(plan), "--read", str(angles), "--write", str(again)]
    assert commands.main(arguments) == 0
    captured = capsys.readouterr()
    assert "no clip is on an angle Balcony yet" in captured.err
    assert "Needs: 0 of 2 met." in captured.out
    assert "– fiddle in A Verse: unmet (the run)" in captured.out
    assert "– =drums in bars 9–12, at least 2 bars: unmet" in captured.out
    assert "Still missing:" in captured.out
    shoot = load(saved)
    assert [(one.passage, one.subject) for one in shoot.plan.needs] == [
        (Passage(section_id="section-1"), "fiddle"),
        (Passage(first_bar=9, last_bar=12), "=drums"),
    ]
    assert [(one.name, one.subjects, one.rank) for one in shoot.angles] == [("Fiddle", ("fiddle", "bow"), 1)]
    assert again.read_text("utf-8").splitlines()[2] == ",9,12,'=drums,2,1,"
    assert commands.main(["plan", str(saved), "--read", str(again)]) == 0
    assert load(saved).plan == shoot.plan


def test_place_and_camera_are_optional_columns(saved: Path) -> None:
    angles, again = saved.with_name("angles.csv"), saved.with_name("again.csv")
    angles.write_text('angle,place,camera\nFiddle,stage  left,"B, 85 mm"\n', "utf-8")
    assert commands.main(["plan", str(saved), "--read", str(angles)]) == 0
    angles.write_text("angle,subjects,safety,rank\nFiddle,bow,no,1\n", "utf-8")
    arguments = ["plan", str(saved), "--read", str(angles), "--write-angles", str(again)]
    assert commands.main(arguments) == 0
    (fiddle,) = load(saved).angles
    assert (fiddle.subjects, fiddle.rank) == (("bow",), 1)
    assert (fiddle.place, fiddle.camera) == ("stage left", "B, 85 mm"), "a table without them keeps them"
    assert again.read_text("utf-8").splitlines() == [
        "angle,subjects,safety,rank,place,camera",
        'Fiddle,bow,no,1,stage left,"B, 85 mm"',
    ]
    before = load(saved)
    assert commands.main(["plan", str(saved), "--read", str(again)]) == 0
    assert load(saved) == before


def test_wrong_tables_are_told_and_change_nothing(saved: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = saved.read_bytes()
    for text, said in (
        (f"{NEEDS}A,,,fiddle,,,\nQ,,,fiddle,,,\n", "plan.csv, line 3: the song has no section Q"),
        (f"{NEEDS}A,,,,,,\n", "plan.csv, line 2: it names no subject"),
        ("bar,who\n3,fiddle\n", "plan.csv is not a plan"),
        ("subject,colour\nfiddle,red\n", "has a column 'colour' that is not known"),
        ("", "plan.csv is not a plan"),
        (f"{NEEDS}A,,,fiddle,,,,,,\n", "plan.csv, line 2: it has more cells than columns"),
        (f'{NEEDS}A,,,"fid\n', "plan.csv, line"),
    ):
        plan = saved.with_name("plan.csv")
        plan.write_text(text, "utf-8")
        assert commands.main(["plan", str(saved), "--read", str(plan)]) == 1
        assert said in capsys.readouterr().err
    plan.write_bytes(b"subject\n\xff\xfe\n")
    assert commands.main(["plan", str(saved), "--read", str(plan)]) == 1
    assert "not plain text" in capsys.readouterr().err
    assert commands.main(["plan", str(saved), "--read", str(plan.with_name("none.csv"))]) == 1
    assert "cannot be read" in capsys.readouterr().err
    assert saved.read_bytes() == before


def test_wrong_use_is_told(saved: Path, capsys: pytest.CaptureFixture[str]) -> None:
    clips = saved.with_name("clips")
    clips.mkdir()
    (clips / "fiddle.mov").write_bytes(b"")
    for more, said in (
        (["--write", "plan.txt"], "ends with .csv"),
        (["--shoot", "plan.txt"], "ends with .anglebook"),
        (["--write", str(saved.with_name("none") / "plan.csv")], "create it first"),
        (["--write", str(clips / "plan.csv")], "--write:"),
        (["--write-angles", "angles.txt"], "--write-angles takes a file that ends with .csv"),
        (["--write-angles", str(clips / "angles.csv")], "--write-angles:"),
    ):
        assert commands.main(["plan", str(saved), *more]) == 2
        assert said in capsys.readouterr().err
    assert commands.main(["plan", str(saved.with_name("waltz.wav")), "--read", "plan.csv"]) == 2
    assert "add --shoot" in capsys.readouterr().err
    assert [one.name for one in clips.iterdir()] == ["fiddle.mov"]
