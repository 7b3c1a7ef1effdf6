"""A song's map as labels: written, read back, and files of others."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.model.document.song import Metre, Section, SongMap
from app.model.song_map.labels import LabelError, from_labels, to_labels
from tests.app.model.song_map.random_maps import END_S, wavering_maps

times = st.lists(st.integers(0, 90_000_000), unique=True, max_size=8).map(
    lambda values: tuple(value / 1e6 for value in sorted(values))
)


@st.composite
def maps(draw: st.DrawFn) -> SongMap:
    edges = draw(st.lists(st.integers(1, 899), unique=True, max_size=4).map(sorted))
    spans = list(zip([0, *edges], [*edges, 900], strict=True))
    names = st.sampled_from(("", "Verse", "Last chorus", "Größer"))
    sections = tuple(
        Section(chr(ord("A") + number), draw(names), start / 10, end / 10)
        for number, (start, end) in enumerate(spans)
    )
    return SongMap(None, draw(times), draw(times), sections)


@given(maps())
def test_what_is_written_is_read_back(song_map: SongMap) -> None:
    again = from_labels(to_labels(song_map), 90.0)
    assert (again.beats_s, again.bars_s, again.sections) == (
        song_map.beats_s,
        song_map.bars_s,
        song_map.sections,
    )


@st.composite
def guessed_maps(draw: st.DrawFn) -> SongMap:
    """Maps as the engine finds them and a person corrects them, with moments that no file holds exactly."""
    song_map = draw(wavering_maps())
    sections = tuple(
        replace(
            section,
            name=draw(st.sampled_from(("", "Verse", "Oh no"))),
            family=draw(st.sampled_from(("", "A", "B"))),
            suggested=draw(st.booleans()),
            by_hand=draw(st.booleans()),
            id=f"section-{number}",
        )
        for number, section in enumerate(song_map.sections, 1)
    )
    return replace(song_map, sections=sections, other_tempo_bpm=60.0, tempo_by_hand=draw(st.booleans()))


@given(guessed_maps())
def test_a_map_that_is_read_back_as_it_was_written_is_the_same_map(song_map: SongMap) -> None:
    assert from_labels(to_labels(song_map), END_S, song_map) == song_map


def test_only_what_was_changed_in_the_file_changes() -> None:
    sections = (
        Section("A", "Verse", 0.0, 10.00000049, family="A", suggested=True),
        Section("B", "Chorus", 10.00000049, 20.0, family="B", suggested=True),
        Section("C", "Verse", 20.0, 30.0, family="A", suggested=True),
    )
    bars = (10.00000049, 12.0, 14.0)
    before = SongMap(
        60.0, bars, bars, sections, downbeats_s=bars[:2], metres=(Metre(12.0, 1),), edges_s=(20.0,)
    )
    text = to_labels(before)
    named = from_labels(text.replace("B Chorus", "B Refrain"), 30.0, before)
    assert named.sections[0] == sections[0]
    assert named.sections[2] == sections[2]
    refrain = named.sections[1]
    assert (refrain.name, refrain.suggested, refrain.family) == ("Refrain", False, "B")
    assert named.edges_s == (20.0,)
    assert (named.bars_s, named.downbeats_s, named.metres) == (bars, bars[:2], before.metres)
    moved = from_labels(text.replace("14.000000", "14.250000"), 30.0, before)
    assert moved.bars_s == (*bars[:2], 14.25)
    assert (moved.downbeats_s, moved.sections) == (bars[:2], sections)
    elsewhere = from_labels(text.replace("20.000000", "21.000000"), 30.0, before)
    assert elsewhere.sections[0] == sections[0]
    assert [section.family for section in elsewhere.sections[1:]] == ["", ""], "nobody has heard these"
    assert elsewhere.edges_s == ()


def test_labels_made_elsewhere_need_not_touch_nor_be_in_order() -> None:
    lines = ["31.5\t60.0\tChorus", "", "0.01\t30.0\tA Verse", "\\\t20\t4000", "2.0\t2.0\t1", "4.0\t2"]
    lines += ["2.0\t2.0\tBeat", "3\tbeat"]
    song_map = from_labels("\ufeff" + "\n".join(lines), 60.0)
    assert song_map.sections == (
        Section("A", "Verse", 0.0, 30.0),
        Section("B", "", 30.0, 31.5),
        Section("C", "Chorus", 31.5, 60.0),
    )
    assert song_map.bars_s == (2.0, 4.0)
    assert song_map.beats_s == (2.0, 3.0)
    assert song_map.tempo_bpm == 60.0


def test_without_stretches_the_song_is_one_section() -> None:
    assert from_labels("1\tbeat\n", 12.0).sections == (Section("A", "", 0.0, 12.0),)


def test_what_a_file_does_not_tell_stays_as_it_was() -> None:
    before = SongMap(
        120.0, (0.5, 1.0), (0.5,), (Section("A", "Verse", 0.0, 12.0),), levels_db=(-9.0,), edges_s=(6.0,)
    )
    edges = from_labels("0\t6\tA One\n6\t12\tB Two\n", 12.0, before)
    assert (edges.beats_s, edges.bars_s, edges.tempo_bpm) == (before.beats_s, before.bars_s, 120.0)
    assert ([s.name for s in edges.sections], edges.edges_s) == (["One", "Two"], (6.0,))
    assert from_labels("0\t5\tA One\n5\t12\tB Two\n", 12.0, before).edges_s == ()
    bars = from_labels("1\t1\n3\t2\n", 12.0, before)
    assert (bars.beats_s, bars.bars_s) == ((), (1.0, 3.0))
    assert (bars.sections, bars.edges_s, bars.levels_db) == (before.sections, (6.0,), (-9.0,))


def test_letters_out_of_order_are_kept_and_there_are_enough_of_them() -> None:
    letters = [
        (s.letter, s.own_letter) for s in from_labels("0\t2\tA\n2\t4\tCH Chorus\n4\t6\tC", 6.0).sections
    ]
    assert letters == [("A", False), ("CH", True), ("C", False)]
    many = from_labels("".join(f"{n}\t{n + 1}\tpart\n" for n in range(30)), 30.0).sections
    assert len({section.letter for section in many}) == 30


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("1.0 2.0 A", "Line 1 is not a label"),
        ("0\t5\tA\nx\t6\tB", "Line 2 is not a label"),
        ("nan\t5\tA", "Line 1 is not a label"),
        ("5\t4\tA", "Line 1 ends before it begins"),
        ("\n\n", "holds no labels"),
        ("0\t99\tA", "is outside the song, which is 60.00 s long"),
        ("0\t9\tA one\n5\t20\tB two", "'B two' starts before the previous one ends, at 9.00 s"),
        ("1\t1\t1\n2\t2\t3", "not numbered 1, 2, 3"),
        ("1\t1\tclap", "neither a bar"),
        (f"1\t1\t{'9' * 5000}", "neither a bar"),
        (f"0\t5\t{'A' * 5000}", "Line 1 has a text that is no name"),
    ],
)
def test_what_is_no_map_is_refused_with_a_sentence(text: str, why: str) -> None:
    with pytest.raises(LabelError, match=why):
        from_labels(text, 60.0)
