"""Sections corrected by hand: no gaps, letters in order, what a person made is known as such."""

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.model.document.change import Change
from app.model.document.history import History
from app.model.document.shoot import Shoot
from app.model.document.song import Section, SongMap
from app.model.edits import map_edits
from app.model.on_song import SongView
from app.model.song_map.map_sections import (
    NO_EDGE,
    Snap,
    edge_moved,
    joined,
    lettered,
    lettered_again,
    renamed,
    snapped,
    split,
    stepped,
)
from tests.app.documents import document
from tests.app.random_shoots import sensible_shoots

BEATS = tuple(n / 2 for n in range(80))
BARS = BEATS[2::4]
PARTS = (
    Section("A", "Intro", 0.0, 9.0, "A", suggested=True),
    Section("B", "Verse", 9.0, 21.0, "B", suggested=True),
    Section("C", "Chorus", 21.0, 40.0, "C", suggested=True),
)
SONG = SongMap(120.0, BEATS, BARS, PARTS)


def letters(song_map: SongMap) -> str:
    return "".join(section.letter for section in song_map.sections)


@pytest.mark.parametrize(("snap", "where"), [(Snap.BAR, 11.0), (Snap.BEAT, 10.5), (Snap.FREE, 10.3)])
def test_an_edge_is_drawn_to_bars_to_beats_or_to_nothing(snap: Snap, where: float) -> None:
    after = edge_moved(SONG, 1, snapped(SONG, 10.3, snap))
    assert (after.sections[0].end_s, after.sections[1].start_s) == (where, where)
    assert after.edges_s == (where,)
    again = edge_moved(after, 1, 12.0)
    assert again.edges_s == (12.0,), "an edge moved twice is one edge"


def test_an_edge_goes_bar_by_bar_and_beat_by_beat() -> None:
    assert stepped(SONG, 9.0, Snap.BAR, 1) == 11.0
    assert stepped(SONG, 9.3, Snap.BAR, -1) == 9.0
    assert stepped(SONG, 9.0, Snap.BEAT, -1) == 8.5
    assert stepped(SONG, 1.0, Snap.BAR, -1) == 1.0


def test_an_edge_never_passes_its_neighbours() -> None:
    assert edge_moved(SONG, 1, 99.0).sections[1].start_s == pytest.approx(20.9)
    assert edge_moved(SONG, 1, -5.0).sections[1].start_s == pytest.approx(0.1)
    with pytest.raises(ValueError, match=NO_EDGE):
        edge_moved(SONG, 0, 1.0)


def test_splitting_and_joining_keep_letters_in_order() -> None:
    four = split(SONG, 13.0)
    assert letters(four) == "ABCD"
    assert [section.name for section in four.sections] == ["Intro", "Verse", "", "Chorus"]
    assert four.edges_s == (13.0,)
    assert four.sections[2].family == "B"
    three = joined(four, 2)
    assert letters(three) == "ABC"
    assert three.edges_s == ()
    assert three.sections[1].by_hand
    assert (three.sections[1].start_s, three.sections[1].end_s) == (9.0, 21.0)
    with pytest.raises(ValueError, match="already starts here"):
        split(SONG, 9.0)


def test_a_name_and_a_letter_given_are_no_guess() -> None:
    named = renamed(SONG, 2, " Last chorus ")
    assert (named.sections[2].name, named.sections[2].suggested) == ("Last chorus", False)
    own = lettered(SONG, 2, "x")
    assert letters(split(own, 13.0)) == "ABCX"
    assert letters(lettered(split(own, 13.0), 3, "")) == "ABCD"
    assert letters(lettered_again(split(own, 13.0))) == "ABCD"
    taken = lettered(SONG, 2, "B")
    assert letters(split(taken, 3.0)) == "ACDB", "no other section gets a letter that was given"
    with pytest.raises(ValueError, match="2 characters"):
        lettered(SONG, 1, "Chorus")


@given(st.lists(st.tuples(st.sampled_from("smj"), st.floats(0, 40), st.integers(0, 9)), max_size=12))
def test_sections_have_no_gaps_whatever_is_done(deeds: list[tuple[str, float, int]]) -> None:
    song_map = SONG
    for deed, song_s, number in deeds:
        try:
            if deed == "s":
                song_map = split(song_map, song_s)
            elif deed == "m":
                song_map = edge_moved(song_map, number, song_s)
            else:
                song_map = joined(song_map, number)
        except ValueError:
            continue
        assert (song_map.sections[0].start_s, song_map.sections[-1].end_s) == (0.0, 40.0)
        assert all(one.end_s == later.start_s for one, later in pairwise(song_map.sections))
        assert all(one.end_s > one.start_s for one in song_map.sections)
        assert set(song_map.edges_s) <= {section.start_s for section in song_map.sections[1:]}


EDITS = {
    "one": lambda shoot: map_edits.downbeat_here(shoot, 30.2),
    "one from here": lambda shoot: map_edits.downbeat_here(shoot, 31.0, onward=True),
    "metre": lambda shoot: map_edits.set_metre(shoot, 30.0, 3),
    "half": lambda shoot: map_edits.half_tempo(shoot),
    "double": lambda shoot: map_edits.double_tempo(shoot, 30.0),
    "nudge": lambda shoot: map_edits.nudge(shoot, 0.005),
    "half a beat": map_edits.half_a_beat_on,
    "tap": lambda shoot: map_edits.tap(shoot, [1.0, 1.5, 2.0, 2.5]),
    "edge": lambda shoot: map_edits.move_edge(shoot, 1, 20.3, Snap.BAR),
    "edge by a bar": lambda shoot: map_edits.step_edge(shoot, 1, Snap.BAR, 1),
    "split": lambda shoot: map_edits.split(shoot, 30.0, Snap.BAR),
    "join": lambda shoot: map_edits.join(shoot, 1),
    "rename": lambda shoot: map_edits.rename(shoot, 0, "Prelude"),
    "letter": lambda shoot: map_edits.set_letter(shoot, 1, "Z"),
    "rest": lambda shoot: map_edits.take_rest(shoot, SONG, 20.0),
}


@pytest.mark.parametrize("name", EDITS)
@settings(max_examples=15)
@given(written=sensible_shoots())
def test_placements_never_move_with_the_map_and_undo_restores(name: str, written: SongView) -> None:
    value = document(written)
    after, change = EDITS[name](value)
    assert change == Change.MAP, "each of them does something to the waltz"
    assert (after.clips, after.angles, after.name) == (value.clips, value.angles, value.name)
    (song,), (old,) = after.songs, value.songs
    assert (song.media, song.duration_s, song.id) == (old.media, old.duration_s, old.id)
    assert (after.findings, after.decisions, after.marks) == (value.findings, value.decisions, value.marks)
    history = History(value)
    history.push(name, after, change)
    history.undo()
    assert history.shoot == value
    history.redo()
    assert history.shoot == after


@pytest.mark.parametrize("name", EDITS)
def test_without_a_song_a_sentence_says_so(name: str) -> None:
    with pytest.raises(ValueError, match="no song yet"):
        EDITS[name](Shoot())
