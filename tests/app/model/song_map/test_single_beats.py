"""Single beats added, moved and removed."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.model.document.song import Metre, Section, SongMap
from app.model.song_map.single_beats import CLOSEST_S, beat_added, beat_moved, beat_removed, room
from tests.app.model.song_map.random_maps import END_S, check_order, wavering_maps

STEADY = SongMap(
    120.0,
    tuple(n / 2 for n in range(2, 42)),
    tuple(n / 2 for n in range(2, 42, 4)),
    (Section("A", "Verse", 0.0, 5.0), Section("B", "Chorus", 5.0, END_S)),
)


def test_a_beat_is_added_and_bars_stay() -> None:
    after = beat_added(STEADY, 3.2, END_S)
    assert set(after.beats_s) - set(STEADY.beats_s) == {3.2}
    assert after.bars_s == STEADY.bars_s
    assert beat_added(STEADY, 0.3, END_S).beats_s[:2] == (0.3, 1.0)
    assert beat_added(SongMap(), 3.0, END_S).beats_s == (3.0,)
    with pytest.raises(ValueError, match="a beat here already"):
        beat_added(STEADY, 3.0 + CLOSEST_S / 2, END_S)


def test_a_beat_is_moved_as_far_as_its_neighbours_let_it() -> None:
    assert beat_moved(STEADY, 3.6, 3.62, END_S).beats_s[5] == 3.62
    assert beat_moved(STEADY, 3.5, 9.0, END_S).beats_s[5] == 4.0 - CLOSEST_S
    assert beat_moved(STEADY, 1.0, -4.0, END_S).beats_s[0] == 0.0
    assert beat_moved(STEADY, 3.5, 3.5, END_S) is STEADY
    close = replace(STEADY, beats_s=(1.0, 1.01, 1.02), bars_s=())
    assert room(close, 1.01, END_S) == (1.01, 1.01)


def test_a_moved_bar_line_is_fixed_and_takes_its_section_along() -> None:
    after = beat_moved(replace(STEADY, edges_s=(5.0,)), 5.0, 5.1, END_S)
    assert after.downbeats_s == (5.1,)
    assert after.bars_s[2] == after.sections[1].start_s == after.sections[0].end_s == 5.1
    assert after.edges_s == (5.1,)
    assert beat_moved(STEADY, 3.5, 3.6, END_S).downbeats_s == (), "a beat within a bar is not a bar line"


def test_a_removed_bar_line_is_gone_and_a_count_goes_on() -> None:
    counted = replace(STEADY, metres=(Metre(5.0, 4),), downbeats_s=(5.0,))
    after = beat_removed(counted, 5.1)
    assert after.bars_s == tuple(bar for bar in STEADY.bars_s if bar != 5.0)
    assert after.downbeats_s == ()
    assert after.metres == (Metre(7.0, 4),)
    assert after.sections == STEADY.sections
    assert beat_removed(STEADY, 3.5).bars_s == STEADY.bars_s
    assert beat_removed(SongMap(beats_s=(2.0,)), 2.0).beats_s == ()


@pytest.mark.parametrize("where_s", [0.2, 30.0])
def test_far_from_any_beat_nothing_is_taken_hold_of(where_s: float) -> None:
    with pytest.raises(ValueError, match="no beat near"):
        beat_removed(STEADY, where_s)
    with pytest.raises(ValueError, match="no beat near"):
        beat_moved(STEADY, where_s, where_s, END_S)
    with pytest.raises(ValueError, match="Tap the tempo"):
        beat_removed(SongMap(), where_s)


@given(wavering_maps(), st.floats(0, END_S), st.floats(-2, 2), st.sampled_from(("add", "move", "remove")))
def test_one_beat_and_nothing_else(song_map: SongMap, at_s: float, by_s: float, what: str) -> None:
    try:
        if what == "add":
            after = beat_added(song_map, at_s, END_S)
        elif what == "move":
            after = beat_moved(song_map, at_s, at_s + by_s, END_S)
        else:
            after = beat_removed(song_map, at_s)
    except ValueError:
        return
    check_order(after)
    gone, come = set(song_map.beats_s) - set(after.beats_s), set(after.beats_s) - set(song_map.beats_s)
    assert (len(gone), len(come)) in {
        "add": {(0, 1)},
        "move": {(1, 1), (0, 0)},
        "remove": {(1, 0)},
    }[what]
    assert set(song_map.bars_s) - set(after.bars_s) <= gone, "no other bar line moves"
    assert set(after.bars_s) - set(song_map.bars_s) <= come
    assert set(song_map.downbeats_s) - set(after.downbeats_s) <= gone


@given(wavering_maps(), st.floats(0, END_S))
def test_what_was_added_can_be_removed(song_map: SongMap, at_s: float) -> None:
    try:
        more = beat_added(song_map, at_s, END_S)
    except ValueError:
        return
    back = beat_removed(more, at_s)
    assert (back.beats_s, back.bars_s, back.downbeats_s, back.metres) == (
        song_map.beats_s,
        song_map.bars_s,
        song_map.downbeats_s,
        song_map.metres,
    )
