"""Random maps for the tests of corrections."""

from dataclasses import replace
from itertools import pairwise

from hypothesis import strategies as st

from app.model.document.song import Metre, Section, SongMap

END_S = 60.0


@st.composite
def wavering_maps(draw: st.DrawFn) -> SongMap:
    """Songs of a minute at most whose beats waver, whose first beat comes late and last beat early, with bars
    counted in several ways, some bar lines and an edge fixed by a person, and a count that a person gave."""
    steps = draw(st.lists(st.floats(0.35, 0.8), min_size=4, max_size=50))
    # No sound file has moments between its first sample and a fraction of a millisecond.
    moments = [draw(st.just(0.0) | st.floats(0.001, 8))]
    for step in steps:
        moments.append(moments[-1] + step)
    at, starts = draw(st.integers(0, 3)), []
    while at < len(moments):
        starts.append(at)
        at += draw(st.sampled_from((4, 4, 4, 3, 2, 5)))
    edge = moments[draw(st.sampled_from(starts))] or 30.0
    sections = (Section("A", "", 0.0, edge), Section("B", "", edge, END_S))
    fixed = sorted(draw(st.sets(st.sampled_from(starts), max_size=3)))
    counted = draw(st.sampled_from([None, *starts]))
    return SongMap(
        120.0,
        tuple(moments),
        tuple(moments[n] for n in starts),
        sections,
        downbeats_s=tuple(moments[n] for n in fixed),
        metres=() if counted is None else (Metre(moments[counted], 4),),
        edges_s=draw(st.sampled_from([(), (edge,)])),
    )


def check_order(song_map: SongMap) -> None:
    """What holds for every map: beats rise strictly, bars are beats, what a person fixed is a bar, sections
    touch."""
    for times in (song_map.beats_s, song_map.bars_s, song_map.downbeats_s):
        assert all(one < later for one, later in pairwise(times))
    assert set(song_map.bars_s) <= set(song_map.beats_s)
    assert set(song_map.downbeats_s) <= set(song_map.bars_s)
    assert {metre.from_s for metre in song_map.metres} <= set(song_map.bars_s)
    assert all(0 <= beat <= END_S for beat in song_map.beats_s)
    assert song_map.sections[0].start_s == 0
    assert all(one.end_s == later.start_s for one, later in pairwise(song_map.sections))
    assert all(section.start_s < section.end_s for section in song_map.sections)


def bare(song_map: SongMap) -> SongMap:
    """The map with nothing fixed by a person."""
    return replace(song_map, downbeats_s=(), metres=(), edges_s=())
