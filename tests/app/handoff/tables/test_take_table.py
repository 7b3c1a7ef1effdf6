"""The table of offsets, read back with Python's csv module, the outside reader."""

import csv
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given, settings

from app.handoff.choices import Form
from app.handoff.outcome import HandoffError
from app.handoff.tables import table_text, take_table
from app.model.document.angle import Angle
from app.model.document.decisions import Action, Decided
from app.model.document.verdict import Verdict
from app.model.on_song import SongView, Take
from app.model.reasons import in_words
from tests.app.random_shoots import clip, media, sensible_shoots, shoot, take


def rows(value: SongView, folder: Path) -> list[dict[str, str]]:
    take_table.write(value, folder / "x.csv")
    with (folder / "x.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file, strict=True))


def test_a_take_is_a_line_with_exact_figures(tmp_path: Path) -> None:
    value = shoot(clip(1, Take("t", 2.0, 22.0, 10.1, 1.00001, 0.0004), start_timecode="01:00:00:00"))
    (row,) = rows(value, tmp_path)
    assert (row["clip"], row["angle"], row["safety"], row["take"]) == (
        "/shoot/clip_01.mov",
        "Fiddle",
        "no",
        "t",
    )
    assert (row["verdict"], row["decision"], row["start_timecode"]) == ("placed", "computed", "01:00:00:00")
    assert float(row["song_start_s"]) == 10.1
    assert float(row["song_end_s"]) == pytest.approx(30.1002)
    assert (row["nominal_speed"], float(row["drift_ppm"])) == ("1", pytest.approx(10))
    assert float(row["uncertainty_ms"]) == pytest.approx(0.4)
    # The song's 0 lies 10.1 / 1.00001 s before clip time 2 s, at -8.0999 s: frame -202 at 25, and -19.9 ms.
    assert float(row["clip_s_at_song_0"]) == pytest.approx(2 - 10.1 / 1.00001)
    assert row["frame_at_song_0"] == "-202"
    assert float(row["remainder_at_song_0_s"]) == pytest.approx(-8.099899 + 8.08, abs=1e-6)


def test_every_clip_has_a_line_and_its_reason(tmp_path: Path) -> None:
    value = shoot(
        clip(1, take("a", 0, 5), take("b", 8, 9), note="soft"),
        clip(2, verdict=Verdict.NO_SONG, reason=in_words("Talk, no playback.")),
        clip(3, take("c", 0, 5), rate=None),
    )
    found = rows(value, tmp_path)
    assert [(row["take"], row["verdict"]) for row in found] == [
        ("a", "placed"),
        ("b", "placed"),
        ("", "no song"),
        ("c", "placed"),
    ]
    assert found[2]["reason"] == "Talk, no playback."
    assert [row["note"] for row in found] == ["soft", "soft", "", ""]
    assert found[2]["song_start_s"] == ""
    assert (found[3]["frame_rate"], found[3]["frame_at_song_0"]) == ("", "")


def test_how_sure_the_machine_was_is_not_told_of_a_place_chosen_by_hand(tmp_path: Path) -> None:
    at = "2031-05-04T18:20:00Z"
    takes = (
        Take("a", 0.0, 5.0, 4.0, 1.0, 0.0008, decided=Decided(deed, at))
        for deed in (Action.MOVED, Action.SETTLED)
    )
    found = rows(shoot(*(clip(n, one) for n, one in enumerate(takes))), tmp_path)
    assert [row["uncertainty_ms"] for row in found] == ["", "0.8"]


def test_quotes_commas_and_lines_are_quoted(tmp_path: Path) -> None:
    name = 'Fiddle, "close"\r\nand\nlow'
    value = shoot(clip(1, take("t", 0, 5), reason=in_words("x")), angles=(Angle("angle-1", name),))
    assert rows(value, tmp_path)[0]["angle"] == name
    data = (tmp_path / "x.csv").read_bytes()
    assert data.startswith(",".join(take_table.COLUMNS).encode() + b"\r\n")  # RFC 4180: lines end with CRLF
    assert b'"Fiddle, ""close""\r\nand\nlow"' in data


def test_a_file_name_that_is_no_text_is_written_readably(tmp_path: Path) -> None:
    value = shoot(clip(1, take("t", 0, 5), media=media("/cards/\udcff.mov")))
    assert rows(value, tmp_path)[0]["clip"] == "/cards/?.mov"


def test_an_empty_shoot_is_a_head_line(tmp_path: Path) -> None:
    assert rows(SongView(), tmp_path) == []


def test_what_reads_back_different_is_not_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    value = shoot(clip(1, take("t", 0, 5)))
    rows(value, tmp_path)
    good = (tmp_path / "x.csv").read_bytes()
    right = table_text.to_text(take_table.to_table(value), Form.CSV)
    for wrong in (
        right.replace(b",5,", b",5.001,"),
        right.replace(b"placed", b"doubtful"),
        right.splitlines()[0] + b"\r\n",
    ):
        assert wrong != right
        monkeypatch.setattr(table_text, "to_text", lambda *_, wrong=wrong: wrong)
        with pytest.raises(HandoffError, match=r"x\.csv"):
            take_table.write(value, tmp_path / "x.csv")
        assert (tmp_path / "x.csv").read_bytes() == good


def test_a_table_that_says_something_else_than_the_shoot_is_not_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    value = shoot(clip(1, take("t", 0, 5)))
    right = take_table.to_table(value)
    for column, text in (("song_start_s", "0.001"), ("verdict", "doubtful"), ("frame_at_song_0", "1")):
        wrong = table_text.Table(right.columns, ({**right.rows[0], column: text},))
        monkeypatch.setattr(take_table, "to_table", lambda _, wrong=wrong: wrong)
        with pytest.raises(HandoffError, match="does not match the shoot in line 2"):
            take_table.write(value, tmp_path / "x.csv")
    assert list(tmp_path.iterdir()) == []


@settings(max_examples=40)
@given(value=sensible_shoots())
def test_any_shoot_reads_back_exactly(value: SongView, tmp_path: Path) -> None:
    found = {row["take"]: row for row in rows(value, tmp_path) if row["take"]}
    takes = {t.id: (c, t) for c in value.clips for t in c.takes}
    assert set(found) == set(takes)
    for name, row in found.items():
        owner, one = takes[name]
        line = tuple(float(row[key]) for key in ("clip_start_s", "clip_end_s", "song_start_s", "speed"))
        assert line == (one.clip_start_s, one.clip_end_s, one.song_start_s, one.speed)
        if owner.frame_rate is not None:
            # The song time of the moment told, frame and rest together, is 0.
            moment_s = int(row["frame_at_song_0"]) / Fraction(row["frame_rate"])
            moment_s += Fraction(float(row["remainder_at_song_0_s"]))
            assert one.song_time(float(moment_s)) == pytest.approx(0, abs=1e-9)
