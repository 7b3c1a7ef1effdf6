"""Ids of sections: they live as long as the section does, whatever is corrected about it."""

from dataclasses import replace
from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from app.model.document.media_ref import MediaRef
from app.model.document.plan import Need, Passage
from app.model.document.shoot import Shoot
from app.model.document.song import Section, Song, SongMap
from app.model.edits import map_edits, planning, shoot_edits
from app.model.song_map.section_ids import with_ids

PARTS = tuple(Section(letter, name, start, start + 10.0) for letter, name, start in zip(
    "ABC", ("Intro", "Verse", "Chorus"), (0.0, 10.0, 20.0), strict=True
))  # fmt: skip
BARS = tuple(float(n) for n in range(0, 30, 2))


def evening() -> Shoot:
    song = Song(MediaRef("/waltz.wav", 1, "00"), 30.0, SongMap(120.0, BARS, BARS, PARTS))
    return shoot_edits.set_song(Shoot(), song)[0]


def ids(shoot: Shoot) -> list[str]:
    (song,) = shoot.songs
    return [section.id for section in song.map.sections]


def test_sections_get_ids_when_the_song_comes() -> None:
    assert ids(evening()) == ["section-1", "section-2", "section-3"]


def test_renaming_lettering_and_moving_edges_keep_ids() -> None:
    shoot = evening()
    for edit in (
        lambda s: map_edits.rename(s, 1, "Verse 1"),
        lambda s: map_edits.set_letter(s, 1, "X"),
        lambda s: map_edits.letter_again(s),
        lambda s: map_edits.move_edge(s, 1, 3.0),
        lambda s: map_edits.step_edge(s, 2, map_edits.Snap.BAR, 1),
    ):
        shoot, _ = edit(shoot)
    assert ids(shoot) == ["section-1", "section-2", "section-3"]


def test_of_a_split_section_the_first_part_keeps_the_id_and_of_joined_ones_the_first() -> None:
    parted, _ = map_edits.split(evening(), 15.0)
    assert ids(parted) == ["section-1", "section-2", "section-4", "section-3"]
    joined, _ = map_edits.join(parted, 2)
    assert ids(joined) == ["section-1", "section-2", "section-3"]
    joined, _ = map_edits.join(joined, 1)
    assert ids(joined) == ["section-1", "section-3"]


def test_an_id_that_the_plan_holds_on_to_is_not_given_again() -> None:
    parted, _ = map_edits.split(evening(), 15.0)
    need = Need("", "song-1", Passage(section_id="section-4"), "fiddle")
    planned, _ = planning.add_need(parted, need)
    joined, _ = map_edits.join(planned, 2)
    again, _ = map_edits.split(joined, 25.0)
    assert ids(again) == ["section-1", "section-2", "section-3", "section-5"]


def test_sections_found_anew_take_over_the_ids_of_those_they_are() -> None:
    found = (Section("A", "", 0.0, 8.0), Section("B", "", 8.0, 14.0), Section("C", "", 14.0, 30.0))
    again, _ = shoot_edits.set_map(evening(), SongMap(120.0, BARS, BARS, found))
    assert ids(again) == ["section-1", "section-2", "section-3"]
    whole, _ = shoot_edits.set_map(evening(), SongMap(120.0, BARS, BARS, (Section("A", "", 0.0, 30.0),)))
    assert len(ids(whole)) == 1
    assert ids(whole)[0] in ids(evening())


@given(st.lists(st.floats(0.5, 29.5), max_size=6, unique=True), st.sets(st.integers(0, 2)))
def test_no_id_is_there_twice_and_none_is_missing(edges: list[float], unnamed: set[int]) -> None:
    before = SongMap(
        sections=tuple(
            replace(part, id="" if n in unnamed else f"section-{n}") for n, part in enumerate(PARTS)
        )
    )
    marks = [0.0, *sorted(edges), 30.0]
    sections = tuple(Section("", "", start, end) for start, end in pairwise(marks))
    after = with_ids(SongMap(sections=sections), before)
    found = [section.id for section in after.sections]
    assert all(found)
    assert len(set(found)) == len(found)
    assert with_ids(after, before) == after
