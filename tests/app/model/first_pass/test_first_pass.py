"""First passes of random and of small made shoots: what must never be in them, and what they say."""

import random
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.model.coverage.time_spans import common, union
from app.model.coverage.usable import usable_takes
from app.model.document.angle import Angle
from app.model.document.cut import Lock, Setting, Version
from app.model.document.looks import Look
from app.model.document.marks import Mark, MarkKind
from app.model.document.media_ref import MediaRef
from app.model.document.plan import Need, Passage, Plan
from app.model.document.song import FIRST_SONG, LyricLine, Section, Song, SongMap
from app.model.document.verdict import Verdict
from app.model.first_pass.candidates import sections_of, table
from app.model.first_pass.pace import energy_paces
from app.model.first_pass.result import FirstPass, first_pass_told
from app.model.first_pass.rules import DEFAULT, Rules, RulesError, rules_of
from app.model.first_pass.solver import solve, solve_version
from app.model.on_song import SongView
from app.model.timebase import nearest_frame
from tests.app.model.coverage.test_sample_needs import sample_view
from tests.app.model.first_pass.random_cuts import RATES, random_locks, random_rules, random_view
from tests.app.random_shoots import clip, take

RATE = Fraction(25)


def check(view: SongView, result: FirstPass, rate: Fraction) -> None:
    """No fault, no doubt, no gap where something can be used; whole, in order, to the frame."""
    assert view.song is not None
    total = nearest_frame(view.song.duration_s, rate)
    pieces = sorted((one.song_start_s, one.song_end_s, one) for one in (*result.shots, *result.gaps))
    frames = [(nearest_frame(start, rate), nearest_frame(end, rate)) for start, end, _ in pieces]
    assert frames[0][0] == 0
    assert frames[-1][1] == total
    assert [end for _, end in frames[:-1]] == [start for start, _ in frames[1:]]
    assert all(start < end for start, end in frames)
    usable = {one.take.id: one for one in usable_takes(view)}
    for shot in result.shots:
        for take_id in (shot.take_id, *shot.others):
            one = usable[take_id]
            assert one.take.verdict is Verdict.PLACED
            first, last = (nearest_frame(s, rate) / rate for s in (shot.song_start_s, shot.song_end_s))
            last = min(last, Fraction(view.song.duration_s))
            inside = [low - 0.001 <= first and last <= high + 0.001 for low, high in one.usable]
            assert any(inside), (shot, one.usable)
        assert usable[shot.take_id].angle_id == shot.angle_id
        assert shot.take_id not in shot.others
        assert shot.reason
    sure = union(span for one in usable.values() if not one.doubtful for span in one.usable)
    slack = float(2 / rate + Fraction(1, 10))
    for gap in result.gaps:
        left = common(sure, ((gap.song_start_s, gap.song_end_s),))
        # A frame is whole or not at all, and source frames lie up to half of one beside their place.
        assert all(high - low < slack for low, high in left), (gap, left)


@given(seed=st.integers(0, 10**6), rate=st.sampled_from(RATES), bars=st.integers(1, 24))
def test_no_fault_no_doubt_no_hole_and_as_long_as_the_song(seed: int, rate: Fraction, bars: int) -> None:
    view = random_view(seed, bars, takes=seed % 8)
    rules = random_rules(seed)
    if seed % 2:
        rules = rules_of([Setting("cuts", "beats"), Setting("frames before", str(seed % 5))])
    result = solve(view, rules, seed % 3, random_locks(seed, bars), rate=rate)
    check(view, result, rate)
    assert result == solve(view, rules, seed % 3, random_locks(seed, bars), rate=rate)


@settings(max_examples=30)
@given(seed=st.integers(0, 10**6), rate=st.sampled_from(RATES), early=st.integers(0, 4))
def test_cuts_fall_on_downbeats_within_half_a_frame(seed: int, rate: Fraction, early: int) -> None:
    view = random_view(seed, bars=16, takes=6, gaps=False)
    assert view.song is not None
    rules = rules_of([Setting("frames before", str(early))])
    for shot in solve(view, rules, rate=rate).shots[1:]:
        off = min(abs(shot.song_start_s + float(early / rate) - bar) for bar in view.song.map.bars_s)
        assert off < 1e-9
        shown_s = float(nearest_frame(shot.song_start_s, rate) / rate)
        assert abs(shown_s - shot.song_start_s) <= float(0.5 / rate) + 1e-9


@settings(max_examples=20)
@given(seed=st.integers(0, 10**6))
def test_a_lock_is_met_wherever_its_angle_can_be_used_and_told_where_not(seed: int) -> None:
    view = random_view(seed, bars=16, takes=6, gaps=False)
    lock = Lock("lock-1", FIRST_SONG, Passage(first_bar=5, last_bar=8), f"angle-{seed % 5}")
    result = solve(view, locks=[lock], rate=RATE)
    there = {
        bar
        for shot in result.shots
        if shot.angle_id == lock.angle_id
        for bar in range(shot.first_bar, shot.last_bar + 1)
    }
    told = [one for one in result.unsatisfied if "locked to" in one.words]
    refused = {bar for one in told for bar in range(one.first_bar, one.last_bar + 1)}
    assert {5, 6, 7, 8} <= there | refused
    if told:
        assert told[0].words.endswith("which cannot be used there")


def song(bars: int = 16, family: str = "", levels: tuple[float, ...] = ()) -> Song:
    starts = tuple(2.0 * n for n in range(bars))
    half = float(bars)
    sections = (
        Section("A", "Verse", 0.0, half, family, id="s1"),
        Section("B", "Chorus", half, 2 * half, family, id="s2"),
    )
    return Song(
        MediaRef("/invented/song.wav", 1, "00"),
        2.0 * bars,
        SongMap(120.0, (), starts, sections, levels_db=levels),
    )


ANGLES = tuple(Angle(f"angle-{n}", name) for n, name in enumerate(("Singer", "Drums", "Fiddle", "Wide"), 1))


def made(count: int = 3, *, of: Song | None = None, **more: object) -> SongView:
    """So many angles, each with a take over the whole song."""
    value = of or song()
    clips = tuple(
        clip(n, take(f"take-{n}", -1.0, value.duration_s + 1), angle=f"angle-{n}")
        for n in range(1, count + 1)
    )
    return SongView("invented", value, ANGLES, clips, **more)  # type: ignore[arg-type]


def rules(**values: object) -> Rules:
    return rules_of(Setting(name.replace("_", " "), str(value)) for name, value in values.items())


def angles(result: FirstPass) -> list[str]:
    return [shot.angle_id for shot in result.shots]


def seen(result: FirstPass, bar: int) -> str:
    return next(one.angle_id for one in result.shots if one.first_bar <= bar <= one.last_bar)


def test_a_need_is_shown_and_told_as_the_reason() -> None:
    need = Need("need-1", FIRST_SONG, Passage(first_bar=5, last_bar=7), "drums")
    result = solve(made(plan=Plan((need,))), rules(again="never"), rate=RATE)
    [shot] = [one for one in result.shots if one.reason.startswith("need")]
    # Cuts fall at every second bar, so bar 8 belongs to it too.
    assert (shot.angle_id, shot.first_bar, shot.last_bar) == ("angle-2", 5, 8)
    assert shot.reason == "need: drums in bars 5–7; 4 bars"
    without = solve(made(plan=Plan((need,))), rules(needs="never"), rate=RATE)
    assert not [one for one in without.shots if "need" in one.reason]


def test_a_need_for_few_bars_is_met_beside_one_for_the_whole_song() -> None:
    needs = (
        Need("need-1", FIRST_SONG, Passage(), "singer"),
        Need("need-2", FIRST_SONG, Passage(first_bar=9, last_bar=12), "drums", least_bars=3),
    )
    result = solve(made(plan=Plan(needs)), rate=RATE)
    assert not [one for one in result.unsatisfied if "need:" in one.words]
    assert sum(seen(result, bar) == "angle-2" for bar in range(9, 13)) >= 3


def test_a_need_that_nothing_shows_is_told() -> None:
    need = Need("need-1", FIRST_SONG, Passage(section_id="s2"), "bass")
    [told] = solve(made(plan=Plan((need,))), rate=RATE).unsatisfied
    assert told.words == "bars 9–16: need: bass in B is not met: nothing that can be used shows it"
    assert (told.first_bar, told.last_bar, told.gap) == (9, 16, False)


def test_keepers_come_first_and_faults_never() -> None:
    view = made()
    keeper = Mark("mark-1", "clip-3", MarkKind.KEEPER, 9.0, 13.0)  # bars 5 and 6
    fault = Mark("mark-2", "clip-1", MarkKind.FAULT, 0.0, 40.0)
    clips = (replace(view.clips[0], marks=(fault,)), view.clips[1], replace(view.clips[2], marks=(keeper,)))
    result = solve(replace(view, clips=clips), rate=RATE)
    assert "angle-1" not in angles(result)
    assert seen(result, 5) == seen(result, 6) == "angle-3"
    assert any("keeper" in one.reason for one in result.shots)


def test_the_safety_is_shown_where_nothing_else_is() -> None:
    view = made(2)
    wide = clip(3, take("take-3", -1.0, 40.0), angle="angle-4")
    short = [replace(one, takes=(take(one.takes[0].id, -1.0, 20.0),)) for one in view.clips]
    staves = (*ANGLES[:3], replace(ANGLES[3], safety=True))
    result = solve(replace(view, angles=staves, clips=(*short, wide)), rate=RATE)
    assert [(one.first_bar, one.angle_id) for one in result.shots][-1][1] == "angle-4"
    assert result.shots[-1].reason.startswith("safety; nothing else can be used")
    assert angles(result).count("angle-4") == 1
    assert result.shots[-1].first_bar == 10  # bar 10 ends at 20 s, where the takes have no handle


def test_a_gap_is_told_in_words_and_only_where_nothing_is() -> None:
    view = made(1)
    parts = (take("take-1", -1.0, 9.0), take("take-2", 15.0, 40.0))
    clips = tuple(clip(n, one, angle="angle-1") for n, one in enumerate(parts))
    result = solve(replace(view, clips=clips), rate=RATE)
    [gap] = result.gaps
    assert gap.words == "bars 5–8: nothing can be used here, so there is no picture"
    # Half a frame of the clip is left at either side, and the timeline has whole frames.
    assert gap.song_start_s == pytest.approx(9.0, abs=0.05)
    assert gap.song_end_s == pytest.approx(15.0, abs=0.05)


def test_a_bar_without_a_whole_take_is_cut_off_the_beat_and_told() -> None:
    parts = (take("take-1", -1.0, 9.1), take("take-2", 8.5, 40.0))
    clips = tuple(clip(n, one, angle=f"angle-{n}") for n, one in enumerate(parts, 1))
    result = solve(SongView("", song(), ANGLES, clips), rate=RATE)
    assert len(result.shots) == 2
    assert 8.5 < result.shots[1].song_start_s < 9.1
    assert any("off the beat" in one.words for one in result.unsatisfied)


def test_a_song_without_bars_is_cut_where_sections_begin() -> None:
    bare = song()
    bare = replace(bare, map=replace(bare.map, bars_s=()))
    result = solve(made(of=bare), rate=RATE)
    assert [one.song_start_s for one in result.shots] == [0.0, 16.0]
    assert result.shots[0].reason.endswith("whole section")


def test_there_is_no_cut_of_a_shoot_without_a_song_and_only_a_gap_without_pictures() -> None:
    assert solve(SongView(), rate=RATE) == FirstPass("first pass", (), ())
    result = solve(SongView("", song()), rate=RATE)
    assert result.shots == ()
    assert [(one.song_start_s, one.song_end_s) for one in result.gaps] == [(0.0, 32.0)]


def test_two_views_that_look_alike_do_not_follow_each_other() -> None:
    alike = ("take-1", "take-2")

    def follows(view: SongView) -> bool:
        cuts = [[one.take_id for one in solve(view, seed=seed, rate=RATE).shots] for seed in range(4)]
        return any({a, b} == set(alike) for shots in cuts for a, b in pairwise(shots))

    def seen(view: SongView, *groups: str) -> SongView:
        looks = {f"clip-{n}": Look(f"clip-{n}", "", group) for n, group in enumerate(groups, 1)}
        return replace(view, clips=tuple(replace(one, look=looks.get(one.id)) for one in view.clips))

    view = made(4)
    assert follows(view)
    assert not follows(seen(view, "left", "left"))
    same = tuple(replace(one, subjects=("voice",)) for one in ANGLES[:2])
    assert not follows(replace(view, angles=(*same, *ANGLES[2:])))
    # What the pictures tell counts for more than subjects.
    assert follows(seen(replace(view, angles=(*same, *ANGLES[2:])), "left", "right"))


def test_sections_of_a_family_do_not_show_the_same_angles_in_order() -> None:
    needs = tuple(
        Need(f"need-{n}", FIRST_SONG, Passage(first_bar=n, last_bar=n + 3), "singer", note=str(n))
        for n in (1, 9)
    )
    ranked = tuple(replace(one, rank=n) for n, one in enumerate(ANGLES, 1))
    view = replace(made(4, of=song(family="B"), plan=Plan(needs)), angles=ranked)

    def the_same(weight: object) -> int:
        others = dict.fromkeys(("everyone", "again", "ends", "wides"), "never")
        result = solve(view, rules(families=weight, pace=4, **others), rate=RATE)
        return sum(seen(result, bar) == seen(result, bar + 8) for bar in range(1, 9))

    assert the_same("never") == 8
    assert the_same(10) == 4


def test_pace_is_told_in_bars_or_by_loudness() -> None:
    def lengths(asked: Rules) -> list[int]:
        return [one.last_bar - one.first_bar + 1 for one in solve(made(), asked, rate=RATE).shots]

    assert set(lengths(rules(pace="2"))) == {2}
    assert set(lengths(rules(pace="4"))) == {4}
    by_section = solve(made(), rules_of([Setting("pace A", "4"), Setting("pace B", "2")]), rate=RATE)
    assert [one.first_bar for one in by_section.shots] == [1, 5, 9, 11, 13, 15]
    quiet_then_loud = (-20.0,) * 64 + (-9.0,) * 64
    assert energy_paces(song(levels=quiet_then_loud)) == ("slow", "fast")
    assert energy_paces(song(levels=(-9.0,) * 128)) == ("medium", "medium")
    assert energy_paces(song()) == ("medium", "medium")


def test_every_angle_is_seen_at_least_once_where_it_can_be() -> None:
    ranked = tuple(replace(one, rank=n) for n, one in enumerate(ANGLES, 1))
    view = replace(made(4), angles=ranked)
    ranked_only = dict.fromkeys(("ends", "wides", "again"), "never")
    every = {one.id for one in ANGLES}
    assert set(angles(solve(view, rules(rank="5", ends="never", wides="never"), rate=RATE))) == every
    assert set(angles(solve(view, rules(rank="5", everyone="never", **ranked_only), rate=RATE))) < every


def test_handles_are_kept_where_there_is_another_way() -> None:
    # The second take begins 5 frames before bar 5: it can be cut to in bar 6 with more.
    parts = (take("take-1", -1.0, 40.0), take("take-2", 7.75, 40.0), take("take-3", -1.0, 40.0))
    clips = tuple(clip(n, one, angle=f"angle-{n}") for n, one in enumerate(parts, 1))
    need = Need("need-1", FIRST_SONG, Passage(first_bar=5, last_bar=8), "drums")
    view = SongView("", song(), ANGLES, clips, Plan((need,)))
    first = next(one for one in solve(view, rate=RATE).shots if one.angle_id == "angle-2")
    assert first.first_bar == 5
    kept = solve(view, rules(handles="always"), rate=RATE)
    assert next(one for one in kept.shots if one.angle_id == "angle-2").first_bar > 5


def test_of_two_locks_on_one_bar_the_later_counts() -> None:
    locks = [
        Lock("lock-1", FIRST_SONG, Passage(first_bar=3, last_bar=6), "angle-1"),
        Lock("lock-2", FIRST_SONG, Passage(first_bar=5, last_bar=8), "angle-2"),
        Lock("lock-3", FIRST_SONG, Passage(first_bar=90, last_bar=91), "angle-2"),
        Lock("lock-4", FIRST_SONG, Passage(section_id="s2"), "angle-9"),
    ]
    result = solve(made(), locks=locks, rate=RATE)
    assert [seen(result, bar) for bar in (3, 4, 5, 8)] == ["angle-1", "angle-1", "angle-2", "angle-2"]
    assert [one.words for one in result.unsatisfied if "shot" not in one.words] == [
        "The lock on bars 90–91 has no place in the song any more. Remove it.",
        "bars 5–6: locked to Singer and to another angle; the later lock counts",
        "B Chorus: the locked angle no longer exists. Remove the lock.",
    ]
    assert any(one.reason.startswith("locked") for one in result.shots)


def test_a_lock_can_name_one_of_several_takes_of_an_angle() -> None:
    view = made(3)
    second = clip(4, take("take-4", -1.0, 20.0), angle="angle-1")
    view = replace(view, clips=(*view.clips, second))

    def at_bar_6(clip_id: str, last_bar: int = 8) -> tuple[str, list[str]]:
        passage = Passage(first_bar=5, last_bar=last_bar)
        lock = Lock("lock-1", FIRST_SONG, passage, "angle-1", clip_id, clip_s=12.0)
        result = solve(view, locks=[lock], rate=RATE)
        [shot] = [one for one in result.shots if one.first_bar <= 6 <= one.last_bar]
        return shot.take_id, [one.words for one in result.unsatisfied if "locked take" in one.words]

    assert at_bar_6("") == ("take-1", [])
    assert at_bar_6("clip-4") == ("take-4", [])
    assert at_bar_6("clip-1") == ("take-1", [])
    # It ends with bar 10.
    told = ["bars 5–12: the locked take cannot be used in the whole shot"]
    assert at_bar_6("clip-4", 12) == ("take-1", told)
    assert at_bar_6("clip-9") == ("take-1", ["bars 5–8: the locked take cannot be used in the whole shot"])


def test_details_are_short_unless_they_may_be_long() -> None:
    staves = (replace(ANGLES[0], name="Fiddle hands", rank=1), *(replace(a, rank=3) for a in ANGLES[1:]))

    def longest(**more: object) -> int:
        result = solve(replace(made(3), angles=staves), rules(pace="2-8", rank=10, **more), rate=RATE)
        own = [one for one in result.shots if one.angle_id == "angle-1"]
        return max(one.last_bar - one.first_bar + 1 for one in own)

    assert longest() == 4
    assert longest(detail_bars=2) == 2
    assert longest(detail_bars=8) == 6


def test_the_song_opens_and_ends_wide_and_shows_a_wide_angle_in_every_section() -> None:
    low = tuple(replace(one, rank=9 if one.name == "Wide" else 1) for one in ANGLES)
    view = replace(made(4), angles=low)
    result = solve(view, rate=RATE)
    assert seen(result, 1) == seen(result, 16) == "angle-4"
    assert "opens wide" in result.shots[0].reason
    assert "ends wide" in result.shots[-1].reason
    inside = solve(view, rules(ends="never", everyone="never"), rate=RATE)
    assert "angle-4" in {seen(inside, bar) for bar in range(1, 9)}
    assert "angle-4" in {seen(inside, bar) for bar in range(9, 17)}
    others = dict.fromkeys(("ends", "everyone", "wides", "again"), "never")
    without = solve(view, rules(**others), rate=RATE)
    assert "angle-4" not in angles(without)


def test_who_sings_or_gives_a_section_its_name_is_seen_there() -> None:
    value = song()
    named = replace(value.map.sections[1], name="Drums solo")
    value = replace(
        value,
        map=replace(value.map, sections=(value.map.sections[0], named)),
        lyrics=(LyricLine("la", 4.0, 12.0),),  # bars 3 to 6
    )
    quiet = {"ends": "never", "wides": "never"}
    result = solve(made(4, of=value), rules(**quiet), rate=RATE)
    assert sum(seen(result, bar) == "angle-1" for bar in range(3, 7)) >= 2
    assert sum(seen(result, bar) == "angle-2" for bar in range(9, 17)) >= 4
    assert any(one.reason.startswith("heard in front") for one in result.shots)
    always = solve(made(4, of=value), rules(featured="always", **quiet), rate=RATE)
    assert {seen(always, bar) for bar in range(3, 7)} == {"angle-1"}
    assert {seen(always, bar) for bar in range(9, 17)} == {"angle-2"}


def test_who_the_plan_asks_for_in_a_solo_is_heard_in_front() -> None:
    value = song()
    solo = replace(value.map.sections[1], name="Solo")
    value = replace(value, map=replace(value.map, sections=(value.map.sections[0], solo)))
    need = Need("need-1", FIRST_SONG, Passage(section_id="s2"), "fiddle", least_bars=2)
    result = solve(made(4, of=value, plan=Plan((need,))), rate=RATE)
    own = [one for one in result.shots if one.angle_id == "angle-3" and one.first_bar >= 9]
    assert sum(one.last_bar - one.first_bar + 1 for one in own) >= 4
    assert "heard in front" in own[0].reason


def test_a_need_that_is_met_lets_go() -> None:
    few = Need("need-1", FIRST_SONG, Passage(section_id="s1"), "drums", least_bars=2)
    every = replace(few, least_bars=0)
    for need, least in ((few, 2), (every, 3)):
        result = solve(made(4, plan=Plan((need,))), rate=RATE)
        assert least <= sum(seen(result, bar) == "angle-2" for bar in range(1, 9)) <= 4


def test_sections_with_one_name_are_a_family() -> None:
    value = song()
    first, second = value.map.sections
    sections = (replace(first, name="Verse 1"), replace(second, name="Verse 2"))
    named = replace(value, map=replace(value.map, sections=sections))
    assert sections_of(table(made(2, of=named), named, DEFAULT, RATE)) == ([0, 1],)
    guessed = replace(
        named, map=replace(named.map, sections=tuple(replace(s, suggested=True) for s in sections))
    )
    assert sections_of(table(made(2, of=guessed), guessed, DEFAULT, RATE)) == ()


def test_versions_are_repeatable_and_differ_by_seed_and_rules() -> None:
    view = made(4)
    cuts = [solve(view, seed=seed, rate=RATE) for seed in (0, 1, 2, 3)]
    assert len({tuple(angles(one)) for one in cuts}) > 2
    version = Version("version-1", FIRST_SONG, "Fast", 2, (Setting("pace", "1"),))
    fast = solve_version(view, version, RATE)
    assert (fast.name, fast) == ("Fast", solve_version(view, version, RATE))
    assert len(fast.shots) > len(cuts[2].shots)
    assert solve_version(view, None, RATE) == replace(cuts[0], name="first pass")
    with pytest.raises(RulesError, match="'tempo'"):
        solve_version(view, replace(version, settings=(Setting("tempo", "1"),)), RATE)


def test_what_is_told_to_other_programs() -> None:
    result = solve(made(1), rate=RATE)
    told = first_pass_told(result, {"angle-1": "Singer"})
    [shot] = told["shots"]  # type: ignore[misc]
    assert list(shot) == [  # type: ignore[has-type]
        "song_start_s",
        "song_end_s",
        "first_bar",
        "last_bar",
        "take",
        "angle",
        "reason",
    ]
    assert (shot["angle"], shot["take"], shot["last_bar"]) == ("Singer", "take-1", 16)  # type: ignore[has-type]
    [overlong] = told["unsatisfied"]  # type: ignore[misc]
    assert "nothing else can be used" in overlong["words"]  # type: ignore[has-type]


def test_the_sample_shoot_shows_all_its_plan_can_show() -> None:
    view = sample_view(Verdict.DOUBTFUL)
    result = solve(view, DEFAULT, rate=Fraction(24000, 1001))
    check(view, result, Fraction(24000, 1001))
    assert result.gaps == ()
    not_met = [one.words for one in result.unsatisfied if "need:" in one.words]
    # Only takes in doubt show the bass in chorus 2, and no camera on the drums ran to the end.
    assert [words.split(" is not met")[0] for words in not_met] == [
        "bars 65–80: need: bass in F",
        "bars 81–86: need: drums in G",
    ]
    names = {angle.id: angle.name for angle in view.angles}
    shown = {names[shot.angle_id] for shot in result.shots}
    assert {"Fiddle", "Accordion", "Drums", "Bass", "Fiddle hands", "Roaming"} <= shown


def test_random_shoots_hold_what_the_tests_are_about() -> None:
    views = [random_view(seed, 16, 6) for seed in range(40)]
    assert any(mark.kind is MarkKind.FAULT for v in views for c in v.clips for mark in c.marks)
    assert any(one.takes[0].verdict is Verdict.DOUBTFUL for v in views for one in v.clips)
    results = [solve(v, rate=random.Random(0).choice(RATES)) for v in views]
    assert any(one.gaps for one in results)
    assert sum(len(one.shots) for one in results) > 100
