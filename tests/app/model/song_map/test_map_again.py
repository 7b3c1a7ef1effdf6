"""A new look at the rest of a song: what is before it and what a person fixed stays as it is."""

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.model.document.song import Metre, Section, SongMap
from app.model.song_map.map_again import held_edges, held_metre, held_tempo, spot, with_rest
from app.model.song_map.map_beats import downbeat_here, half_tempo, metre_from_here
from app.model.song_map.map_grid import metres_along
from app.model.song_map.map_sections import edge_moved, joined, renamed, split

END_S = 60.0


def made(step_s: float, first_s: float, metre: int, edges: tuple[float, ...]) -> SongMap:
    beats = tuple(first_s + n * step_s for n in range(int((END_S - first_s) / step_s)))
    marks = (0.0, *edges, END_S)
    sections = tuple(
        Section("ABCDEFGH"[n], f"Part {n}", start, end, suggested=True)
        for n, (start, end) in enumerate(pairwise(marks))
    )
    return SongMap(60 / step_s, beats, beats[::metre], sections, levels_db=(-20.0,))


OLD = made(0.5, 0.0, 4, (8.0, 16.0, 32.0, 48.0))
NEW = made(0.52, 20.0, 3, (25.0, 36.0, 50.0))


def test_what_is_before_stays_and_the_rest_is_as_found() -> None:
    after = with_rest(OLD, NEW, 20.0)
    assert [beat for beat in after.beats_s if beat <= 20] == [beat for beat in OLD.beats_s if beat <= 20]
    assert [beat for beat in after.beats_s if beat > 20] == list(NEW.beats_s[1:])
    assert [bar for bar in after.bars_s if bar > 20] == list(NEW.bars_s[1:])
    assert [section.start_s for section in after.sections] == [0.0, 8.0, 16.0, 25.0, 36.0, 50.0]
    assert [section.letter for section in after.sections] == list("ABCDEF")
    assert [section.name for section in after.sections[:3]] == ["Part 0", "Part 1", "Part 2"]


def test_bar_lines_and_metres_fixed_after_the_spot_stay() -> None:
    fixed = metre_from_here(downbeat_here(OLD, 40.0), 50.0, 5)
    after = with_rest(fixed, NEW, 20.0)
    assert 40.0 in after.bars_s
    assert after.downbeats_s == (40.0,)
    assert [metre.beats for metre in after.metres] == [5]
    start_s = after.metres[0].from_s
    assert start_s == 50.0
    late = [bar for bar in after.bars_s if bar >= start_s]
    beats = [beat for beat in after.beats_s if beat >= start_s]
    assert late == beats[::5]


def test_edges_and_sections_a_person_made_stay_whole() -> None:
    hand = split(OLD, 37.0)
    hand = edge_moved(hand, 2, 17.0)
    hand = renamed(hand, 5, "Last chorus")
    after = with_rest(hand, NEW, 10.0)
    starts = [section.start_s for section in after.sections]
    assert {17.0, 37.0, 48.0} <= set(starts)
    assert 36.0 in starts, "what was found and is not in the way"
    assert 50.0 not in starts, "the named section stays whole"
    last = after.sections[-1]
    assert (last.name, last.suggested, last.start_s) == ("Last chorus", False, 48.0)
    assert held_edges(hand) == (17.0, 37.0, 48.0)
    whole = joined(OLD, 3)
    assert 25.0 not in [section.start_s for section in with_rest(whole, NEW, 10.0).sections]


def test_likeness_is_told_anew_all_along() -> None:
    found = replace(NEW, sections=tuple(replace(s, family="KLMN"[n]) for n, s in enumerate(NEW.sections)))
    assert [s.family for s in with_rest(OLD, found, 20.0).sections] == ["K", "K", "K", "L", "M", "N"]


def test_what_a_new_look_is_told() -> None:
    assert spot(OLD, 21.2) == 20.0
    assert spot(replace(OLD, bars_s=()), 21.2) == 21.0
    assert spot(SongMap(), 21.2) == 21.2
    half = half_tempo(OLD, 20.0)
    assert held_tempo(half, 20.0) == pytest.approx(60.0), "a person said so from here on"
    assert held_tempo(replace(half, tempo_by_hand=False), 20.0) == pytest.approx(120.0), "as it was before"
    assert held_tempo(OLD, 0.0) == pytest.approx(120.0)
    assert held_tempo(SongMap(), 20.0) is None
    assert held_metre(replace(OLD, metres=(Metre(8.0, 3),)), 20.0) == 3
    assert held_metre(replace(OLD, metres=(Metre(28.0, 3),)), 20.0) is None


def test_a_look_that_finds_no_beats_leaves_none_after_the_spot_but_what_was_fixed() -> None:
    after = with_rest(OLD, SongMap(sections=(Section("A", "", 0.0, END_S),)), 20.0)
    assert after.beats_s[-1] == 20.0
    assert metres_along(after) == ((1, 4),)


@given(st.floats(0, 59), st.lists(st.floats(1, 59), max_size=3), st.lists(st.floats(1, 59), max_size=3))
def test_whatever_was_fixed_is_there_after(from_s: float, ones: list[float], splits: list[float]) -> None:
    song_map = OLD
    for one in ones:
        song_map = downbeat_here(song_map, one)
    for where in splits:
        try:
            song_map = split(song_map, where)
        except ValueError:
            continue
    after = with_rest(song_map, NEW, spot(song_map, from_s))
    assert after.downbeats_s == song_map.downbeats_s
    assert set(after.downbeats_s) <= set(after.bars_s)
    assert set(song_map.edges_s) <= {section.start_s for section in after.sections}
    for times in (after.beats_s, after.bars_s):
        assert all(one < later for one, later in pairwise(times))
    assert set(after.bars_s) <= set(after.beats_s)
    assert after.sections[0].start_s == 0
    assert after.sections[-1].end_s == END_S
    assert all(one.end_s == later.start_s for one, later in pairwise(after.sections))
