"""What earlier hand-offs left in a folder is found by its format alone, told by name, and left there."""

from dataclasses import replace
from pathlib import Path

from app.handoff.all import preview, write_all
from app.handoff.choices import DEFAULT, Form
from app.handoff.leftovers import MOST_NAMES, left_words, leftovers
from app.handoff.outcome import Planned
from tests.app.random_shoots import clip, shoot, take

VALUE = shoot(clip(1, take("t", 0, 9)))
LISTS = replace(DEFAULT, what=frozenset(("otio", "edl", "takes", "sections", "coverage", "report")))


def test_a_hand_off_under_another_name_is_told_and_stays(tmp_path: Path) -> None:
    write_all(VALUE, tmp_path, LISTS)
    before = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    renamed = replace(VALUE, name="Morning")
    assert leftovers(tmp_path, preview(renamed, LISTS).planned) == tuple(sorted(before))
    done = write_all(renamed, tmp_path, LISTS)
    assert done.left == tuple(sorted(before))
    assert {name: (tmp_path / name).read_bytes() for name in before} == before
    assert (done.files, done.size_bytes) == (
        len(before),
        sum(report.path.stat().st_size for report in done.reports),
    )


def test_what_other_choices_left_is_told_and_what_is_replaced_is_not(tmp_path: Path) -> None:
    write_all(VALUE, tmp_path, LISTS)
    fewer = replace(DEFAULT, what=frozenset(("takes",)), form=Form.TSV)
    done = write_all(VALUE, tmp_path, fewer)
    assert "Evening.otio" in done.left
    assert "Evening.csv" in done.left
    assert "Evening.tsv" not in done.left
    assert write_all(VALUE, tmp_path / "new", fewer).left == ()


def test_only_files_that_a_format_knows_count(tmp_path: Path) -> None:
    (tmp_path / "notes.csv").write_text("somebody's own\n")
    (tmp_path / "data.json").write_text('{"x": 1}')
    (tmp_path / "cut.otio").write_text('{"metadata": {}}')
    (tmp_path / "Evening stamped").mkdir()
    (tmp_path / "Morning stamped").mkdir()
    (tmp_path / "Morning stamped" / "letter.txt").write_text("hello")
    (tmp_path / ".hidden.json").write_text('{"report_version": 1}')
    (tmp_path / "linked.json").symlink_to(tmp_path / ".hidden.json")
    assert leftovers(tmp_path, ()) == ()
    assert leftovers(tmp_path / "nowhere", ()) == ()
    assert leftovers(tmp_path / "notes.csv", ()) == ()


def test_names_that_differ_in_capitals_are_the_same_file(tmp_path: Path) -> None:
    write_all(VALUE, tmp_path)
    planned = [Planned("EVENING.OTIO", 0, ()), Planned("evening.csv", 0, ())]
    assert leftovers(tmp_path, planned) == ()


def test_the_search_ends_when_asked(tmp_path: Path) -> None:
    write_all(VALUE, tmp_path, LISTS)
    assert leftovers(tmp_path, (), stop=lambda: True) == ()


def test_the_sentence_names_a_few_and_counts_the_rest() -> None:
    assert left_words(()) == ""
    names = [f"{n}.edl" for n in range(MOST_NAMES + 2)]
    assert f"{MOST_NAMES + 2} files from an earlier hand-off: 0.edl, " in left_words(names)
    assert f"{MOST_NAMES - 1}.edl and 2 more." in left_words(names)
    assert "It stays there; delete it" in left_words(names[:1])
