"""Coverage against bars counted by hand, and against a slower count by sampling."""

from dataclasses import replace

import pytest
from hypothesis import given, settings

from app.model.coverage.coverage import coverage
from app.model.document.angle import Angle
from app.model.document.song import Song, SongMap
from app.model.document.verdict import Verdict
from app.model.on_song import SongView
from app.model.song_map.bar_spans import bar_spans
from tests.app.random_shoots import clip, media, sensible_shoots, shoot, take, waltz

WIDE = Angle("angle-2", "Wide", safety=True)
FIDDLE = Angle("angle-1", "Fiddle")


def depths(value: SongView) -> list[list[int]]:
    return [[bar.depth for bar in section.bars] for section in coverage(value)]


def thin(value: SongView) -> list[str]:
    return [place.words for section in coverage(value) for place in section.thin]


def test_bars_are_numbered_and_the_last_ends_like_the_one_before() -> None:
    song = Song(media("/s.wav"), 9.0, SongMap(bars_s=(1.0, 3.0, 5.0)))
    assert [(b.number, b.start_s, b.end_s) for b in bar_spans(song)] == [(1, 1, 3), (2, 3, 5), (3, 5, 7)]
    song = Song(media("/s.wav"), 6.0, SongMap(bars_s=(1.0, 3.0, 5.0)))
    assert bar_spans(song)[-1].end_s == 6.0
    assert [(b.start_s, b.end_s) for b in bar_spans(Song(media("/s.wav"), 6.0, SongMap(bars_s=(1.0,))))] == [
        (1, 6)
    ]
    song = Song(media("/s.wav"), 4.0, SongMap(bars_s=(1.0, 3.0, 5.0, 7.0)))
    assert [(b.start_s, b.end_s) for b in bar_spans(song)] == [(1, 3), (3, 4)]


def test_without_bars_each_section_is_one_span() -> None:
    song = Song(media("/s.wav"), 24.0, SongMap(sections=waltz().map.sections))
    assert [(b.number, b.start_s, b.end_s) for b in bar_spans(song)] == [(1, 0, 8), (2, 8, 24)]
    value = shoot(clip(1, take("t", 0, 8)), song=song)
    assert thin(value) == ["whole section: one angle only (Fiddle)", "whole section: nothing"]


def test_without_bars_others_that_show_parts_are_not_told_away() -> None:
    song = Song(media("/s.wav"), 24.0)
    parts = clip(2, take("first", 0, 12), take("second", 11, 24))
    wide = clip(1, take("wide", 0, 24))
    safe = replace(shoot(wide, parts, song=song), angles=(replace(FIDDLE, safety=True), WIDE))
    assert thin(shoot(parts, song=song)) == ["whole section: no take shows all of it"]
    assert thin(shoot(wide, parts, song=song)) == ["whole section: only Fiddle shows all of it"]
    assert thin(safe) == ["whole section: safety only for all of it"]


def test_without_a_map_the_song_is_one_span_and_without_a_song_there_is_none() -> None:
    value = shoot(clip(1, take("t", 0, 24)), song=Song(media("/s.wav"), 24.0))
    assert depths(value) == [[1]]
    assert coverage(SongView()) == ()
    assert coverage(shoot(song=Song(media("/s.wav"), 0.0))) == ()


def test_depth_section_by_section() -> None:
    # Bars of 2 s; A holds bars 1 to 4, B bars 5 to 12.
    value = shoot(clip(1, take("one", 0, 9)), clip(2, take("two", 4, 24)))
    assert depths(value) == [[1, 1, 2, 2], [1] * 8]
    assert coverage(value)[0].bars[2].takes == ("one", "two")


@pytest.mark.parametrize(("end_s", "covered"), [(2.0, 1), (1.8, 1), (1.79, 0)])
def test_nine_tenths_of_a_bar_are_enough_and_less_is_not(end_s: float, covered: int) -> None:
    assert depths(shoot(clip(1, take("t", 0, end_s))))[0][0] == covered


def test_doubtful_takes_are_listed_and_not_counted() -> None:
    value = shoot(clip(1, take("t", 0, 24, verdict=Verdict.DOUBTFUL)))
    bar = coverage(value)[0].bars[0]
    assert (bar.depth, bar.takes, bar.doubtful, bar.angles) == (0, (), ("t",), 0)
    assert not bar.safety_only
    assert thin(value) == ["bars 1–4: nothing", "bars 5–12: nothing"]


def test_thin_places_are_told_in_words() -> None:
    third = Angle("angle-3", "Singer")
    value = shoot(
        clip(1, take("wide", 0, 20), angle="angle-2"),
        clip(2, take("fiddle", 2, 8)),
        clip(3, take("singer", 4, 6), angle="angle-3"),
        clip(4, take("singer 2", 20, 22), angle="angle-3"),
        angles=(WIDE, FIDDLE, third),
    )
    assert thin(value) == [
        "bar 1: safety only",
        "bars 5–10: safety only",
        "bar 11: one angle only (Singer)",
        "bar 12: nothing",
    ]
    places = coverage(value)[1].thin
    assert [(p.first_bar, p.last_bar, p.kind) for p in places] == [
        (5, 10, "safety only"),
        (11, 11, "one angle"),
        (12, 12, "nothing"),
    ]


def test_neighbours_on_different_single_angles_are_two_places() -> None:
    value = shoot(
        clip(1, take("a", 0, 4)),
        clip(2, take("b", 4, 8), angle="angle-3"),
        angles=(FIDDLE, Angle("angle-3", "Singer")),
    )
    assert thin(value)[:2] == ["bars 1–2: one angle only (Fiddle)", "bars 3–4: one angle only (Singer)"]


def test_two_takes_of_one_angle_are_depth_two_and_one_angle() -> None:
    value = shoot(clip(1, take("a", 0, 24)), clip(2, take("b", 0, 24)))
    bar = coverage(value)[0].bars[0]
    assert (bar.depth, bar.angles) == (2, 1)
    assert thin(value)[0] == "bars 1–4: one angle only (Fiddle)"


def test_takes_stand_in_stave_order_with_safeties_last() -> None:
    value = shoot(
        clip(1, take("wide", 0, 24), angle="angle-2"), clip(2, take("fiddle", 0, 24)), angles=(WIDE, FIDDLE)
    )
    assert coverage(value)[0].bars[0].takes == ("fiddle", "wide")


def test_sound_alone_shows_nothing_where_there_are_pictures() -> None:
    recorder = clip(1, take("sound", 0, 24), rate=None)
    assert depths(shoot(recorder, clip(2, take("picture", 0, 2))))[0] == [1, 0, 0, 0]
    assert depths(shoot(recorder))[0] == [1, 1, 1, 1]


def test_a_bar_across_a_border_belongs_where_its_middle_lies() -> None:
    sections = waltz().map.sections
    for bars, numbers in (
        ((0.0, 6.5, 9.0, 12.0), [[1, 2], [3, 4]]),
        ((0.0, 7.0, 11.0, 14.0), [[1], [2, 3, 4]]),
    ):
        song = Song(media("/s.wav"), 24.0, SongMap(bars_s=bars, sections=sections))
        found = [[bar.bar.number for bar in s.bars] for s in coverage(shoot(song=song))]
        assert found == numbers


@settings(max_examples=30)
@given(sensible_shoots())
def test_no_bar_is_lost_and_depth_agrees_with_counting_moments(value: SongView) -> None:
    assert value.song is not None
    found = [bar for section in coverage(value) for bar in section.bars]
    assert [bar.bar.number for bar in found] == list(range(1, 91))
    pictures = any(clip.frame_rate for clip in value.clips)
    moments = 400
    for bar in found[::17]:
        start_s, length_s = bar.bar.start_s, bar.bar.end_s - bar.bar.start_s
        least = most = 0
        for one in (t for c in value.clips if c.frame_rate or not pictures for t in c.takes):
            inside = sum(
                one.clip_start_s <= one.clip_time(start_s + (n + 0.5) / moments * length_s) <= one.clip_end_s
                for n in range(moments)
            )
            least += one.verdict is Verdict.PLACED and inside > 0.9 * moments + 1
            most += one.verdict is Verdict.PLACED and inside >= 0.9 * moments - 1
        assert least <= bar.depth <= most
