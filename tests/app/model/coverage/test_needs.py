"""Needs on a waltz of twelve bars, counted by hand."""

from dataclasses import replace
from fractions import Fraction

from app.model.coverage.cut_aways import cut_aways
from app.model.coverage.needs import NeedResult, NeedState, need_results
from app.model.coverage.offered_needs import offered_needs
from app.model.coverage.set_ups_done import set_up_results
from app.model.coverage.usable import usable_takes
from app.model.document.angle import Angle
from app.model.document.marks import Mark, MarkKind
from app.model.document.plan import Need, Passage, Plan, SetUp
from app.model.document.song import Section, Song, SongMap
from app.model.document.verdict import Verdict
from app.model.on_song import SongView
from tests.app.random_shoots import clip, media, shoot, take, waltz

ANGLES = (
    Angle("angle-1", "Fiddle close"),
    Angle("angle-2", "Stage left", subjects=("accordion", "fiddle")),
    Angle("angle-3", "Balcony", safety=True, subjects=("whole band",)),
)
SECTIONS = (
    Section("A", "Verse", 0.0, 8.0, "A", id="section-1"),
    Section("B", "Chorus", 8.0, 12.0, "B", id="section-2"),
    Section("C", "Chorus", 12.0, 24.0, "B", id="section-3"),
)
CHORUSES = Passage(family="B")


def song() -> Song:
    return replace(waltz(), map=replace(waltz().map, sections=SECTIONS))


def view(*needs: Need, set_ups: tuple[SetUp, ...] = ()) -> SongView:
    """Balcony all through; Stage left bars 1 to 7; Fiddle close bars 5 to 8, and 9 to 12 in doubt."""
    clips = (
        clip(1, take("close", 8, 16), take("unsure", 16, 24, verdict=Verdict.DOUBTFUL)),
        clip(2, take("left", 0, 14), angle="angle-2"),
        clip(3, take("high", 0, 24), angle="angle-3"),
    )
    return replace(shoot(*clips, angles=ANGLES, song=song()), plan=Plan(needs, set_ups))


def result(passage: Passage, subject: str, bars: int = 0, angles: int = 1) -> NeedResult:
    (one,) = need_results(view(Need("n", "song-1", passage, subject, bars, angles)))
    return one


def test_met_partly_and_unmet() -> None:
    verse = Passage(section_id="section-1")
    assert result(verse, "Accordion").state is NeedState.MET
    partly = result(Passage(first_bar=6, last_bar=9), "accordion")
    assert (partly.state, partly.missing_bars) == (NeedState.PARTLY, (8, 9))
    assert partly.angles == ("angle-2",)
    unmet = result(Passage(), "drums")
    assert (unmet.state, unmet.missing_bars, unmet.angles) == (NeedState.UNMET, tuple(range(1, 13)), ())


def test_each_section_of_a_family_must_have_it() -> None:
    one = result(CHORUSES, "accordion", bars=1)
    assert [part.state for part in one.parts] == [NeedState.MET, NeedState.MET]
    two = result(CHORUSES, "accordion", bars=2)
    assert [part.state for part in two.parts] == [NeedState.MET, NeedState.PARTLY]
    assert (two.state, two.missing_bars) == (NeedState.PARTLY, (8, 9, 10, 11, 12))


def test_by_so_many_angles() -> None:
    both = result(Passage(first_bar=4, last_bar=8), "fiddle", angles=2)
    assert (both.state, both.missing_bars) == (NeedState.PARTLY, (4, 8))


def test_a_name_is_a_subject_only_where_none_was_told() -> None:
    assert result(Passage(), "Stage left").state is NeedState.UNMET
    assert result(Passage(first_bar=5, last_bar=8), "FIDDLE  close").state is NeedState.MET


def test_takes_in_doubt_are_told_apart() -> None:
    one = result(Passage(first_bar=5, last_bar=12), "fiddle close")
    assert one.missing_bars == (9, 10, 11, 12)
    assert [part.in_doubt for part in one.parts] == [(8, 9, 10, 11)]


def test_safety_and_any_angle() -> None:
    assert result(Passage(), "safety").state is NeedState.MET
    two = result(Passage(), "any angle", angles=2)
    assert two.missing_bars == (9, 10, 11, 12)


def test_more_bars_than_there_are_means_all() -> None:
    assert result(Passage(section_id="section-1"), "accordion", bars=99).state is NeedState.MET


def test_a_section_that_is_gone_is_unmet() -> None:
    gone = result(Passage(section_id="section-9"), "accordion")
    assert (gone.state, gone.parts) == (NeedState.UNMET, ())


def test_set_ups() -> None:
    first = SetUp("s", "song-1", "stage LEFT", passage=Passage(section_id="section-1"))
    results = set_up_results(
        view(set_ups=(first, replace(first, passage=CHORUSES), replace(first, speed=Fraction(5, 4))))
    )
    assert [(one.state, one.missing_bars) for one in results] == [
        (NeedState.MET, ()),
        (NeedState.PARTLY, (8, 9, 10, 11, 12)),
        (NeedState.UNMET, (1, 2, 3, 4)),
    ]


def test_offered_needs_are_one_for_a_family() -> None:
    offered = offered_needs(song())
    assert [(one.passage.family, one.subject, one.least_angles) for one in offered] == [
        ("A", "safety", 1),
        ("A", "any angle", 2),
        ("B", "safety", 1),
        ("B", "any angle", 2),
    ]
    bare = Song(media("/s.wav"), 9.0, SongMap())
    assert [one.passage for one in offered_needs(bare)] == [Passage(), Passage()]


def test_where_to_cut_away() -> None:
    shown = view()
    keeper = Mark("m", "clip-3", MarkKind.KEEPER, 9.0, 10.0)
    spoilt = Mark("m", "clip-2", MarkKind.FAULT, 13.0, 14.0)
    clips = (
        shown.clips[0],
        replace(shown.clips[1], marks=(spoilt,)),
        replace(shown.clips[2], marks=(keeper,)),
    )
    shown = replace(shown, clips=clips)
    found = cut_aways(shown, usable_takes(shown), 9.0, 15.0)
    assert [(one.take_id, one.wholly, one.usable_s, one.safety) for one in found] == [
        ("close", True, 6.0, False),
        ("left", False, 4.0, False),
        ("high", True, 6.0, True),
    ]
    assert [one.take_id for one in cut_aways(shown, usable_takes(shown), 9.0, 15.0, "close")] == [
        "left",
        "high",
    ]
    liked = replace(
        shown, clips=(clips[0], replace(clips[1], marks=(replace(keeper, clip_id="clip-2"),)), clips[2])
    )
    assert cut_aways(liked, usable_takes(liked), 9.0, 15.0)[0].take_id == "left"
