"""Beats and bars corrected by hand: what moves, what a person fixed before stays, undo gives it all back."""

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from app.model.document.song import Metre, Section, SongMap
from app.model.song_map.map_beats import (
    double_tempo,
    downbeat_here,
    half_a_beat_on,
    half_tempo,
    metre_from_here,
    nudged,
    tapped,
)
from app.model.song_map.map_grid import bar_start, grid_of, metres_along, tempo_of

END_S = 60.0
STEP_S = 0.5


def steady(first_one: int = 2, metre: int = 4, beats: int = 120) -> SongMap:
    """Two beats a second from the start, bar 1 at a beat, two sections that meet on the fifth bar line."""
    moments = tuple(n * STEP_S for n in range(beats))
    bars = moments[first_one::metre]
    sections = (Section("A", "Verse", 0.0, bars[4]), Section("B", "Chorus", bars[4], END_S))
    return SongMap(120.0, moments, bars, sections)


def tempo_around(song_map: SongMap, song_s: float) -> float | None:
    return tempo_of([beat for beat in song_map.beats_s if abs(beat - song_s) < 4.0])


def ones(song_map: SongMap) -> list[int]:
    return list(grid_of(song_map).downbeats)


@st.composite
def maps(draw: st.DrawFn) -> SongMap:
    """Songs whose beats waver and whose bars are counted in several ways."""
    steps = draw(st.lists(st.floats(0.35, 0.8), min_size=12, max_size=60))
    moments = [draw(st.floats(0, 2))]
    for step in steps:
        moments.append(moments[-1] + step)
    at, starts = draw(st.integers(0, 3)), []
    while at < len(moments):
        starts.append(at)
        at += draw(st.sampled_from((4, 4, 4, 3, 2, 5)))
    end_s = moments[-1] + 1.0
    edge = moments[draw(st.sampled_from(starts[1:]))]
    sections = (Section("A", "", 0.0, edge), Section("B", "", edge, end_s))
    return SongMap(120.0, tuple(moments), tuple(moments[n] for n in starts), sections)


@pytest.mark.parametrize("by", [-1, 1, 2])
def test_one_press_puts_all_bar_lines_right(by: int) -> None:
    before = steady()
    after = downbeat_here(before, (2 + 4 * 6 + by) * STEP_S + 0.1)
    assert ones(after)[:3] == [2 + by, 6 + by, 10 + by]
    assert metres_along(after) == ((1, 4),)
    assert after.sections[1].start_s == after.bars_s[4], "the section begins on the same bar, which moved"
    assert after.beats_s == before.beats_s
    assert after.downbeats_s == ((2 + 4 * 6 + by) * STEP_S,)


def test_a_one_before_the_first_bar_is_an_upbeat_less_or_a_bar_less() -> None:
    assert ones(downbeat_here(steady(first_one=0), 2.0 - STEP_S))[:2] == [3, 7], "no beat for the old bar 1"
    assert ones(downbeat_here(steady(first_one=1), 2.0))[:2] == [0, 4]


def test_what_was_fixed_bounds_the_next_correction() -> None:
    fixed = downbeat_here(steady(), 5.0)  # beat 10, a one already
    assert ones(fixed) == ones(steady())
    later = downbeat_here(fixed, (42 + 2) * STEP_S)
    assert [one for one in ones(later) if one <= 10] == [2, 6, 10]
    assert 44 in ones(later)
    assert later.downbeats_s == (5.0, 22.0)
    between = downbeat_here(later, 31 * STEP_S)
    assert {10, 31, 44} <= set(ones(between))
    assert [one for one in ones(between) if one >= 44] == [one for one in ones(later) if one >= 44]
    assert all(length > 1 for _, length in metres_along(between)), "nobody counts a bar of one beat"


@pytest.mark.parametrize(
    ("here", "expected"),
    [
        (20, [2, 6, 10, 14, 18, 20, 24]),  # a bar of two
        (19, [2, 6, 10, 14, 19, 23, 27]),  # a bar of five, rather than one of a single beat
        (21, [2, 6, 10, 14, 18, 21, 25]),  # a bar of three
    ],
)
def test_from_here_on_leaves_the_bars_before(here: int, expected: list[int]) -> None:
    after = downbeat_here(steady(), here * STEP_S, onward=True)
    assert ones(after)[:7] == expected
    assert after.sections[1].start_s == STEP_S * expected[4], "the bar that B begins with"


def test_another_metre_reaches_to_the_next_place_a_person_counted() -> None:
    waltz = metre_from_here(steady(), 9.2, 3)  # in the bar that begins with beat 18
    assert ones(waltz)[3:8] == [14, 18, 21, 24, 27]
    assert waltz.metres == (Metre(9.0, 3),)
    assert metres_along(waltz)[:2] == ((1, 4), (5, 3))
    five = metre_from_here(waltz, 4.9, 5)  # in bar 3, earlier: up to where the waltz begins
    assert [one for one in ones(five) if one >= 18] == [one for one in ones(waltz) if one >= 18]
    assert ones(five)[:4] == [2, 6, 10, 15]
    assert metre_from_here(five, 5.0, 4).metres == (Metre(5.0, 4), Metre(9.0, 3))


def test_a_metre_is_counted_from_every_one_a_person_fixed() -> None:
    fixed = downbeat_here(steady(), 15.0, onward=True)
    waltz = metre_from_here(fixed, 1.0, 3)
    assert 30 in ones(waltz)
    assert [one - 30 for one in ones(waltz) if one >= 30][:3] == [0, 3, 6]


def test_half_and_double_keep_how_bars_are_counted() -> None:
    half = half_tempo(steady())
    assert half.tempo_bpm == pytest.approx(60.0)
    assert half.other_tempo_bpm == 120.0
    assert half.bars_s == steady().bars_s[::2]
    assert metres_along(half) == ((1, 4),)
    double = double_tempo(steady())
    assert double.tempo_bpm == pytest.approx(240.0)
    assert set(steady().bars_s) < set(double.bars_s)
    assert metres_along(double) == ((1, 4),)
    assert half_tempo(double).bars_s == steady().bars_s
    assert half_tempo(double).beats_s == steady().beats_s


def test_half_from_here_on_is_a_half_time_bridge() -> None:
    half = half_tempo(steady(), 20.9)
    start_s = bar_start(steady(), 20.9)
    assert start_s is not None
    assert [bar for bar in half.bars_s if bar < start_s] == [bar for bar in steady().bars_s if bar < start_s]
    assert half.bars_s[half.bars_s.index(start_s) + 1] == start_s + 4.0
    assert tempo_around(half, 10.0) == pytest.approx(120.0)
    assert tempo_around(half, 50.0) == pytest.approx(60.0)


def test_no_tempo_that_nobody_counts() -> None:
    with pytest.raises(ValueError, match="480 bpm"):
        double_tempo(double_tempo(steady()))
    slow = half_tempo(half_tempo(half_tempo(steady())))
    with pytest.raises(ValueError, match="8 bpm"):
        half_tempo(slow)


def test_nudging_takes_edges_on_beats_along() -> None:
    edge = steady().sections[1].start_s
    after = nudged(replace(steady(), edges_s=(edge,)), 0.005)
    assert after.bars_s == pytest.approx([bar + 0.005 for bar in steady().bars_s])
    assert after.sections[1].start_s == after.bars_s[4]
    assert after.edges_s == (after.bars_s[4],)
    assert nudged(steady(), -0.005).beats_s[0] == pytest.approx(STEP_S - 0.005), "nothing before the song"
    assert half_a_beat_on(steady()).beats_s[:2] == (0.25, 0.75)


def test_taps_in_a_song_without_beats_make_a_grid_all_along() -> None:
    taps = [10.0 + 0.6 * n + (0.02 if n % 2 else -0.02) for n in range(8)]
    after = tapped(SongMap(), taps, END_S)
    assert after.tempo_bpm == pytest.approx(100.0, abs=1.0)
    assert after.beats_s[0] < 0.6
    assert after.beats_s[-1] > END_S - 0.7
    assert min(abs(bar - 10.0) for bar in after.bars_s) < 0.03, "the first tap is a one"
    assert after.tempo_by_hand


def test_taps_leave_what_is_before_them_and_after_the_next_fixed_one() -> None:
    fixed = downbeat_here(steady(), 41.0)
    after = tapped(fixed, [20.0, 20.4, 20.8, 21.2], END_S)
    assert [b for b in after.beats_s if b < 19.7] == [b for b in fixed.beats_s if b < 19.7]
    assert [b for b in after.bars_s if b >= 41.0] == [b for b in fixed.bars_s if b >= 41.0]
    assert tempo_around(after, 30.0) == pytest.approx(150.0)
    assert after.downbeats_s == fixed.downbeats_s


@pytest.mark.parametrize(
    ("taps", "why"),
    [
        ([1.0, 2.0], "at least 3"),
        ([1.0, 2.0, 1.5], "one beat after the other"),
        ([1.0, 9.0, 17.0], "8 bpm"),
    ],
)
def test_taps_that_tell_no_tempo_are_refused(taps: list[float], why: str) -> None:
    with pytest.raises(ValueError, match=why):
        tapped(steady(), taps, END_S)


@pytest.mark.parametrize(
    "edit", [downbeat_here, lambda m, s: metre_from_here(m, s, 3), half_tempo, double_tempo]
)
def test_without_beats_a_sentence_says_what_to_do(edit: object) -> None:
    with pytest.raises(ValueError, match="Tap the tempo first"):
        edit(SongMap(), 1.0)  # type: ignore[operator]


@given(maps(), st.floats(0, 1), st.booleans())
def test_a_one_is_a_one_and_only_bar_lines_move(song_map: SongMap, share: float, onward: bool) -> None:
    at_s = share * song_map.beats_s[-1]
    after = downbeat_here(song_map, at_s, onward=onward)
    here = grid_of(song_map).beats[grid_of(song_map).nearest(at_s)]
    assert here in after.bars_s
    assert after.beats_s == song_map.beats_s
    assert set(after.bars_s) <= set(after.beats_s)
    if onward:
        assert {bar for bar in after.bars_s if bar < here} <= set(song_map.bars_s)
    again = downbeat_here(after, at_s, onward=onward)
    assert again == after, "saying it twice changes nothing"


@given(
    maps(), st.lists(st.tuples(st.floats(0, 1), st.sampled_from((0, 2, 3, 5))), max_size=4), st.floats(0, 1)
)
def test_every_correction_leaves_a_map_in_order_and_what_was_fixed(
    song_map: SongMap, deeds: list[tuple[float, int]], share: float
) -> None:
    end_s = song_map.beats_s[-1]
    for where, metre in deeds:
        edit = (
            (lambda m, s: downbeat_here(m, s))
            if not metre
            else (lambda m, s, k=metre: metre_from_here(m, s, k))
        )
        before = song_map
        song_map = edit(song_map, where * end_s)
        assert set(before.downbeats_s) <= set(song_map.bars_s)
    for edit in (
        lambda m: downbeat_here(m, share * end_s),
        lambda m: metre_from_here(m, share * end_s, 3),
        lambda m: half_tempo(m, share * end_s),
        half_tempo,
        double_tempo,
        half_a_beat_on,
        lambda m: nudged(m, -0.005),
    ):
        after = edit(song_map)
        for times in (after.beats_s, after.bars_s, after.downbeats_s):
            assert all(one < later for one, later in pairwise(times))
        assert set(after.bars_s) <= set(after.beats_s)
        assert set(after.downbeats_s) <= set(after.bars_s)
        assert {metre.from_s for metre in after.metres} <= set(after.bars_s)
        assert after.sections[0].start_s == 0
        assert all(one.end_s == later.start_s for one, later in pairwise(after.sections))


@given(maps())
def test_double_and_half_come_back(song_map: SongMap) -> None:
    assume(song_map.bars_s)
    again = half_tempo(double_tempo(song_map))
    assert set(song_map.bars_s) <= {*again.bars_s, *double_tempo(song_map).bars_s}
    assert len(again.beats_s) == pytest.approx(len(song_map.beats_s), abs=1)
