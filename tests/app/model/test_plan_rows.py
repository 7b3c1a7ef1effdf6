"""Plans as rows of text and back."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.model.document.angle import Angle
from app.model.document.plan import Need, Passage
from app.model.plan_rows import (
    ANGLE_COLUMNS,
    NEED_COLUMNS,
    AngleRow,
    PlanError,
    angles_of_rows,
    needs_of_rows,
    rows_of_angles,
    rows_of_needs,
)
from tests.app.model.coverage.test_needs import song

CHORUSES = Passage(family="B")


def read(**cells: str) -> list[tuple[Passage, str, int, int, str]]:
    needs = needs_of_rows([(2, cells)], song())
    return [(one.passage, one.subject, one.least_bars, one.least_angles, one.note) for one in needs]


def test_a_section_by_letter_or_name() -> None:
    assert read(section="a", subject="Singer") == [(Passage(section_id="section-1"), "Singer", 0, 1, "")]
    assert read(section="VERSE", subject=" the  singer ", note=" x ") == [
        (Passage(section_id="section-1"), "the singer", 0, 1, "x")
    ]


def test_a_name_of_several_sections_means_all_of_them() -> None:
    assert [one[0] for one in read(section="chorus", subject="s")] == [CHORUSES]
    assert [one[0] for one in read(section="like C", subject="s")] == [CHORUSES]
    one, two, three = song().map.sections
    apart = replace(song(), map=replace(song().map, sections=(one, two, replace(three, family="C"))))
    found = needs_of_rows([(2, {"section": "chorus", "subject": "s"})], apart)
    assert [need.passage.section_id for need in found] == ["section-2", "section-3"]


def test_bars_within_a_section_or_without_one() -> None:
    bars = Passage(first_bar=7, last_bar=9)
    assert read(first_bar="7", last_bar="9", subject="s", least_bars="2", least_angles="3") == [
        (bars, "s", 2, 3, "")
    ]
    assert [one[0] for one in read(section="C", first_bar="7", last_bar="9", subject="s")] == [bars]
    assert [one[0] for one in read(first_bar="7", subject="s")] == [Passage(first_bar=7, last_bar=7)]
    assert [one[0] for one in read(subject="s")] == [Passage()]


@pytest.mark.parametrize(
    ("cells", "said"),
    [
        ({"subject": ""}, "it names no subject"),
        ({"subject": "s", "section": "Q"}, "the song has no section Q (there are A, B, C)"),
        ({"subject": "s", "first_bar": "0x3"}, "first_bar is a whole number, not 0x3"),
        ({"subject": "s", "first_bar": "²"}, "first_bar is a whole number, not ²"),
        (
            {"subject": "s", "first_bar": "5", "last_bar": "13"},
            "the song has 12 bars, and bar 13 is asked for",
        ),
        ({"subject": "s", "first_bar": "5", "last_bar": "4"}, "bar 4 comes before bar 5"),
        ({"subject": "s", "last_bar": "4"}, "it has a last bar but no first one"),
        (
            {"subject": "s", "section": "A", "first_bar": "4", "last_bar": "5"},
            "bars 4 to 5 are not in section A",
        ),
        ({"subject": "s", "section": "like Z"}, "there is no section Z that others sound like"),
    ],
)
def test_what_cannot_be_understood_is_told_with_its_line(cells: dict[str, str], said: str) -> None:
    with pytest.raises(PlanError) as told:
        needs_of_rows([(2, {"subject": "fine"}), (7, cells)], song())
    assert str(told.value) == f"line 7: {said}"


def test_every_wrong_line_is_told() -> None:
    with pytest.raises(PlanError, match=r"^line 2: .*; line 4: "):
        needs_of_rows([(2, {}), (3, {"subject": "s"}), (4, {"subject": "s", "section": "Q"})], song())


_passages = st.sampled_from(
    (CHORUSES, Passage(), Passage(section_id="section-1"), Passage(first_bar=3, last_bar=9))
)
_words = st.text(st.characters(codec="utf-8", exclude_categories=("C", "Z")), min_size=1, max_size=8)


@given(st.lists(st.tuples(_passages, _words, st.integers(0, 99), st.integers(1, 9), _words)))
def test_needs_come_back_from_their_rows(told: list[tuple[Passage, str, int, int, str]]) -> None:
    needs = [Need("", "song-1", passage, *rest) for passage, *rest in told]  # type: ignore[arg-type]
    rows = rows_of_needs(needs, song())
    assert all(tuple(row) == NEED_COLUMNS for row in rows)
    back = needs_of_rows(list(enumerate(rows, 2)), song())
    assert [(one.passage, one.least_bars, one.least_angles, one.note) for one in back] == [
        (one.passage, one.least_bars, one.least_angles, one.note) for one in needs
    ]


def test_angles() -> None:
    angles = (
        Angle("angle-1", "Balcony", True, ("whole band", "audience"), place="balcony, left"),
        Angle("angle-2", "Fiddle", rank=2, camera="B, 85 mm"),
    )
    rows = rows_of_angles(angles)
    assert all(tuple(row) == ANGLE_COLUMNS for row in rows)
    told = angles_of_rows(list(enumerate(rows, 2)))
    assert told == tuple(
        AngleRow(one.name, one.subjects, one.safety, one.rank, one.place, one.camera) for one in angles
    )
    (short,) = angles_of_rows([(2, {"angle": "x", "subjects": "", "safety": "", "rank": ""})])
    assert (short.place, short.camera) == (None, None), "a table without these columns says nothing of them"
    with pytest.raises(PlanError, match="line 2: safety is yes or no, not maybe"):
        angles_of_rows([(2, {"angle": "x", "safety": "maybe"})])
    with pytest.raises(PlanError, match="line 2: it names no angle"):
        angles_of_rows([(2, {"subjects": "x"})])
