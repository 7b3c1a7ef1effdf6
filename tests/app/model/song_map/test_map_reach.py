"""Bars before the first beat that was found, and past the last."""

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.model.document.history import History
from app.model.document.media_ref import MediaRef
from app.model.document.shoot import Shoot
from app.model.document.song import Song, SongMap
from app.model.edits import map_edits
from app.model.song_map.map_beats import bar_one_here, downbeat_here
from app.model.song_map.map_grid import metres_along
from app.model.song_map.map_reach import beyond, reaching, stepped_on
from app.model.song_map.map_sections import Snap
from tests.app.model.song_map.random_maps import END_S, bare, check_order, wavering_maps

STEP_S = 0.4375
FIRST_S = 3.45
LATE = SongMap(
    60 / STEP_S,
    tuple(FIRST_S + n * STEP_S for n in range(80)),
    tuple(FIRST_S + n * STEP_S for n in range(0, 80, 4)),
)
"""The music begins a bar earlier, at 1.7 s; the first beat that was found is at 3.45 s, the last at 38 s."""


def shoot_with(song_map: SongMap) -> Shoot:
    return Shoot(songs=(Song(MediaRef("/song.wav", 0, ""), END_S, song_map),))


def map_of(shoot: Shoot) -> SongMap:
    song = shoot.song()
    assert song is not None
    return song.map


def bar_at(song_map: SongMap, song_s: float, **how: bool) -> SongMap:
    return map_of(map_edits.downbeat_here(shoot_with(song_map), song_s, **how)[0])


def test_a_bar_before_the_first_beat_is_had_at_once() -> None:
    after = bar_at(LATE, 1.7)
    assert after.bars_s[:2] == (1.7, FIRST_S)
    assert after.beats_s[:5] == pytest.approx([1.7 + n * STEP_S for n in range(5)])
    assert after.bars_s[1:] == LATE.bars_s, "what was right stays"
    assert after.downbeats_s == (1.7,)
    assert metres_along(after) == ((1, 4),)


def test_several_bars_before_the_first_beat() -> None:
    after = bar_at(replace(LATE, beats_s=LATE.beats_s[40:], bars_s=LATE.bars_s[10:]), 1.7)
    assert after.bars_s == pytest.approx((1.7, *LATE.bars_s))
    assert after.beats_s == pytest.approx((*(1.7 + n * STEP_S for n in range(4)), *LATE.beats_s))


def test_the_moment_counts_at_rest_and_the_tempo_while_it_plays() -> None:
    assert bar_at(LATE, 1.78).bars_s[0] == 1.78
    assert bar_at(LATE, 1.78, in_time=True).bars_s[0] == pytest.approx(1.7)
    assert bar_at(LATE, 0.0).bars_s[0] == 0.0
    assert bar_at(LATE, 0.01, in_time=True).bars_s[0] == pytest.approx(FIRST_S - 7 * STEP_S)


def test_bars_that_nobody_fixed_move_along_and_those_that_somebody_fixed_stay() -> None:
    three = FIRST_S - 3 * STEP_S
    after = bar_at(LATE, three)
    assert after.bars_s[:3] == pytest.approx((three, FIRST_S + STEP_S, FIRST_S + 5 * STEP_S))
    fixed = downbeat_here(LATE, LATE.bars_s[5])
    again = bar_at(fixed, three)
    assert [bar for bar in again.bars_s if bar >= LATE.bars_s[5]] == list(LATE.bars_s[5:])
    assert again.bars_s[0] == pytest.approx(three)


def test_past_the_last_beat_bars_go_on_to_the_end_of_the_song() -> None:
    last_s = LATE.beats_s[-1]
    wanted = last_s + 5 * STEP_S
    after = bar_at(LATE, wanted)
    assert [bar for bar in after.bars_s if bar <= last_s] == list(LATE.bars_s), "those found stay"
    assert wanted in after.bars_s
    assert END_S - STEP_S <= after.beats_s[-1] < END_S
    late = [bar for bar in after.bars_s if bar >= wanted]
    assert [b - a for a, b in pairwise(late)] == pytest.approx([4 * STEP_S] * (len(late) - 1))


def test_a_beat_of_the_lead_in_begins_bar_one_without_moving_bars_by_whole_bars() -> None:
    counted_in = replace(LATE, bars_s=LATE.bars_s[2:])
    after = downbeat_here(counted_in, LATE.beats_s[0])
    assert after.bars_s == LATE.bars_s
    assert downbeat_here(counted_in, LATE.beats_s[5]).bars_s == LATE.beats_s[5::4]


def test_bar_one_later_makes_what_is_before_it_the_lead_in() -> None:
    after = bar_one_here(LATE, LATE.bars_s[2])
    assert after.bars_s == LATE.bars_s[2:]
    assert after.beats_s == LATE.beats_s
    assert bar_one_here(LATE, LATE.beats_s[9]).bars_s == LATE.beats_s[9::4]
    fixed = downbeat_here(LATE, LATE.bars_s[1])
    with pytest.raises(ValueError, match="You fixed a bar line"):
        bar_one_here(fixed, LATE.bars_s[2])
    assert bar_one_here(fixed, LATE.bars_s[1]).bars_s == LATE.bars_s[1:]


def test_no_tempo_to_go_on_from() -> None:
    assert beyond(SongMap(beats_s=(9.0,), bars_s=(9.0,)), 1.0) == 0, "one beat tells no tempo"
    close = SongMap(beats_s=tuple(5 + n / 50 for n in range(20)))
    with pytest.raises(ValueError, match="Tap the tempo"):
        reaching(close, 1.0, 20.0)


def test_steps_go_on_beyond_what_was_found() -> None:
    first, bar = LATE.bars_s[0], 4 * STEP_S
    assert stepped_on(LATE, first, Snap.BAR, -1, END_S) == pytest.approx(first - bar)
    assert stepped_on(LATE, first - bar, Snap.BAR, 1, END_S) == pytest.approx(first)
    assert stepped_on(LATE, 0.0, Snap.BAR, 1, END_S) == first, "from anywhere else to what was found"
    assert stepped_on(LATE, 0.3, Snap.BAR, -1, END_S) == 0.3, "nothing before the song"
    last = LATE.beats_s[-1]
    assert stepped_on(LATE, last, Snap.BEAT, 1, END_S) == pytest.approx(last + STEP_S)
    assert stepped_on(LATE, END_S, Snap.BEAT, 1, END_S) == END_S
    assert stepped_on(LATE, LATE.beats_s[3], Snap.BEAT, 1, END_S) == LATE.beats_s[4]
    assert stepped_on(SongMap(), 4.0, Snap.BEAT, 1, END_S) == 4.0


@given(wavering_maps(), st.floats(0, END_S), st.booleans(), st.booleans())
def test_a_bar_anywhere_in_the_song(song_map: SongMap, at_s: float, onward: bool, in_time: bool) -> None:
    shoot = shoot_with(song_map)
    changed, change = map_edits.downbeat_here(shoot, at_s, onward=onward, in_time=in_time)
    after = map_of(changed)
    check_order(after)
    assert set(song_map.beats_s) <= set(after.beats_s), "no beat that was found moves"
    assert set(song_map.downbeats_s) <= set(after.downbeats_s), "nothing that a person fixed moves"
    new = set(after.downbeats_s) - set(song_map.downbeats_s)
    assert len(new) <= 1
    if beyond(song_map, at_s) and not in_time:
        assert new == {at_s}
    if beyond(song_map, at_s) < 0 and new:
        assert {after.bars_s[0]} == new, "bar 1"
    if beyond(song_map, at_s) > 0 and new:
        # The last one found may go: a bar of a single beat is none.
        found = song_map.bars_s[:-1]
        assert after.bars_s[: len(found)] == found
    history = History(shoot)
    history.push("Bar Starts Here", changed, change)
    history.undo()
    assert map_of(history.shoot) == song_map


@given(wavering_maps(), st.floats(0, END_S))
def test_bar_one_anywhere_in_the_song(song_map: SongMap, at_s: float) -> None:
    song_map = bare(song_map)
    after = map_of(map_edits.bar_one_here(shoot_with(song_map), at_s)[0])
    check_order(after)
    assert after.downbeats_s == after.bars_s[:1]
    assert set(song_map.beats_s) <= set(after.beats_s)
