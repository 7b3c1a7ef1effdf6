"""Still missing: passes that meet every need, against exhaustive search where that is small enough."""

import random
from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations

import pytest

from app.model.coverage.missing import still_missing
from app.model.coverage.missing_words import nothing_missing_words, reason_of, subjects_of
from app.model.coverage.needs import NeedState, need_results
from app.model.coverage.set_cover import Candidate, Wanted, greedy_cover
from app.model.coverage.set_ups_done import set_up_results
from app.model.document.angle import Angle
from app.model.document.marks import Mark, MarkKind
from app.model.document.plan import Need, Passage, Plan, SetUp
from app.model.document.verdict import Verdict
from app.model.on_song import SongView
from app.model.song_map.bar_spans import bar_spans
from tests.app.model.coverage.test_needs import ANGLES, CHORUSES, view
from tests.app.random_shoots import clip, shoot, take


def need(passage: Passage, subject: str, bars: int = 0, angles: int = 1) -> Need:
    return Need("n", "song-1", passage, subject, bars, angles)


def told(shown: SongView) -> list[tuple[int, int, str, tuple[str, ...]]]:
    return [(one.first_bar, one.last_bar, one.angle, one.subjects) for one in still_missing(shown)]


def test_nothing_is_missing_where_all_is_shown() -> None:
    assert still_missing(view()) == ()
    assert still_missing(SongView()) == ()


def test_bars_that_nothing_shows_are_asked_for_without_a_plan() -> None:
    shown = shoot(clip(1, take("t", 4, 20)))
    assert told(shown) == [(1, 12, "Fiddle", ("any angle",))]
    near = replace(shown, plan=Plan(lead_in_s=0.0, reset_s=1.0))
    assert [one[:2] for one in told(near)] == [(1, 2), (11, 12)]


def test_an_angle_that_is_there_shoots_what_it_lacks() -> None:
    shown = view(need(Passage(section_id="section-3"), "accordion"))
    (one,) = still_missing(shown)
    assert (one.first_bar, one.last_bar, one.angle, one.subjects) == (8, 12, "Stage left", ("accordion",))
    (why,) = one.why
    assert (why.need, why.bars, why.in_doubt) == (shown.plan.needs[0], (8, 9, 10, 11, 12), ())
    # Ten seconds of song, ten of lead-in, two minutes of reset.
    assert one.minutes == pytest.approx((10 + 10 + 120) / 60)


def test_one_pass_serves_several_needs() -> None:
    everything = view(need(Passage(), "drums"), need(Passage(), "bass"))
    duo = Angle("angle-4", "Rhythm", subjects=("drums", "bass"))
    assert told(replace(everything, angles=(*ANGLES, duo))) == [(1, 12, "Rhythm", ("drums", "bass"))]


def test_what_gains_most_for_its_minutes_comes_first() -> None:
    verse = Passage(section_id="section-1")
    shown = view(need(verse, "fiddle", angles=2), need(CHORUSES, "accordion"))
    # Five bars in 140 s on set, then four in 128 s.
    assert [one[:2] for one in told(shown)] == [(8, 12), (1, 4)]


def test_fewer_bars_than_all_are_asked_for_in_one_piece() -> None:
    (one,) = still_missing(view(need(Passage(section_id="section-3"), "drums", bars=3)))
    assert one.last_bar - one.first_bar + 1 == 3


def test_bars_of_which_any_would_do_are_shot_with_those_beside_them() -> None:
    # One bar anywhere in bars 1–4, and one anywhere in bars 5–6: bars 4 and 5 are one pick-up.
    verse, chorus = Passage(section_id="section-1"), Passage(section_id="section-2")
    shown = view(need(verse, "drums", bars=1), need(chorus, "drums", bars=1))
    (one,) = still_missing(shown)
    assert (one.first_bar, one.last_bar) == (4, 5)
    assert reason_of(one) == "Drums is not seen in any bar of A, and in any bar of B."
    shown = view(need(verse, "drums", bars=1), need(Passage(first_bar=5, last_bar=5), "drums"))
    (one,) = still_missing(shown)
    assert (one.first_bar, one.last_bar) == (4, 5)
    assert reason_of(one) == "Drums is not seen in any bar of A, and in bar 5."


def test_where_some_of_the_bars_are_there_more_are_asked_for() -> None:
    # Stage left shows the accordion in bar 7 of the last chorus, bars 7–12.
    (one,) = still_missing(view(need(Passage(section_id="section-3"), "accordion", bars=3)))
    assert (one.first_bar, one.last_bar) == (8, 9)
    assert reason_of(one) == "Accordion is not seen in 2 more bars of C."


def test_one_more_angle_is_any_angle() -> None:
    (one,) = still_missing(view(need(Passage(section_id="section-3"), "any angle", angles=2)))
    assert subjects_of(one) == "one more angle (e.g. Fiddle close)"


def test_a_set_up_for_any_angle_is_done_when_no_bar_lacks_one() -> None:
    last = Passage(section_id="section-3")
    planned = (SetUp("s", "song-1", "One more angle", ("any angle",), last),)
    two = need(last, "any angle", angles=2)
    shown = view(two, set_ups=planned)
    assert set_up_results(shown)[0].missing_bars == tuple(range(9, 13))
    (one,) = still_missing(shown)
    assert subjects_of(one) == "one more angle (e.g. Fiddle close)", "the set-up is no angle of its own"
    more = (*shown.clips, clip(9, take("new", 16, 24)))
    assert set_up_results(replace(shown, clips=more))[0].state is NeedState.MET


def test_without_a_plan_it_is_told_what_only_the_safety_has() -> None:
    assert nothing_missing_words(view()) == "Nothing is planned yet. Only the safety has bars 9–12."
    met = view(need(Passage(), "whole band"))
    assert nothing_missing_words(met) == "Nothing: every need is met, and every bar is shown."


def test_what_takes_in_doubt_would_show_is_told() -> None:
    (one,) = still_missing(view(need(Passage(first_bar=9, last_bar=10), "fiddle close")))
    assert one.why[0].in_doubt == (9, 10)


@pytest.mark.parametrize("seed", range(60))
def test_what_is_missing_meets_every_need_once_it_is_shot(seed: int) -> None:
    shown = random_plan(seed)
    assert shown.song is not None
    passes = still_missing(shown)
    bars = {bar.number: bar for bar in bar_spans(shown.song)}
    angles, clips = list(shown.angles), list(shown.clips)
    for number, one in enumerate(passes):
        angle = next((a for a in angles if a.name == one.angle), None)
        if angle is None:
            safety = "safety" in one.subjects
            angle = Angle(f"new-{number}", f"New {number}", safety=safety, subjects=one.subjects)
            angles.append(angle)
        start_s, end_s = bars[one.first_bar].start_s, bars[one.last_bar].end_s
        clips.append(clip(100 + number, take(f"shot-{number}", start_s, end_s), angle=angle.id))
    after = replace(shown, angles=tuple(angles), clips=tuple(clips))
    assert still_missing(after) == ()
    assert all(one.state is NeedState.MET for one in need_results(after))
    # And none of the passes is needless.
    for number in range(len(passes)):
        fewer = [one for one in clips if one.id != f"clip-{100 + number}"]
        assert still_missing(replace(after, clips=tuple(fewer))) != ()


def random_plan(seed: int) -> SongView:
    draw = random.Random(seed)
    subjects = ("fiddle", "accordion", "drums", "safety", "any angle")
    clips = []
    for number in range(draw.randint(0, 5)):
        first = draw.randint(0, 10)
        verdict = draw.choice((Verdict.PLACED, Verdict.PLACED, Verdict.DOUBTFUL))
        held = take(f"t{number}", 2.0 * first, 2.0 * draw.randint(first + 1, 12), verdict=verdict)
        fault = Mark("m", f"clip-{number}", MarkKind.FAULT, 2.0, draw.randint(3, 9))
        marks = (fault,) if draw.random() < 0.4 else ()
        clips.append(clip(number, held, angle=draw.choice(ANGLES).id, marks=marks))
    needs = []
    for _ in range(draw.randint(0, 4)):
        first = draw.randint(1, 12)
        passage = draw.choice(
            (Passage(first_bar=first, last_bar=draw.randint(first, 12)), CHORUSES, Passage())
        )
        needs.append(need(passage, draw.choice(subjects), draw.choice((0, 0, 2)), draw.choice((1, 1, 2))))
    plan = Plan(tuple(needs), reset_s=draw.choice((0.0, 5.0, 120.0)))
    return replace(view(), clips=tuple(clips), plan=plan)


@pytest.mark.parametrize("seed", range(200))
def test_greedy_is_within_its_bound_of_the_best(seed: int) -> None:
    draw = random.Random(seed)
    size = draw.randint(3, 9)
    layers = [draw.getrandbits(size) | 1]
    layers.append(layers[0] & draw.getrandbits(size))
    candidates = [
        Candidate(draw.getrandbits(size), draw.choice((1.0, 1.5, 2.0, 4.0)), draw.choice(("", "", "a")))
        for _ in range(draw.randint(3, 9))
    ]
    chosen = greedy_cover(layers, candidates)
    every = range(len(candidates))
    most = covered(layers, candidates, every)
    best = min(
        sum(candidates[n].cost for n in some)
        for count in range(len(candidates) + 1)
        for some in combinations(every, count)
        if covered(layers, candidates, some) == most
    )
    assert covered(layers, candidates, chosen) == most
    largest = max(one.mask.bit_count() for one in candidates)
    harmonic = sum(1 / n for n in range(1, largest + 1))
    assert sum(candidates[n].cost for n in chosen) <= harmonic * best + 1e-9


def covered(layers: Sequence[int], candidates: Sequence[Candidate], chosen: Sequence[int]) -> int:
    """How many coverings that are wanted a choice makes, counted element by element."""
    count = 0
    for bit in range(12):
        wanted = sum(layer >> bit & 1 for layer in layers)
        names = [candidates[n].once for n in chosen if candidates[n].mask >> bit & 1]
        count += min(wanted, len([name for name in names if not name]) + len({*names} - {""}))
    return count


def test_layers_are_taken_one_at_a_time() -> None:
    wanted = Wanted([0b11, 0b01])
    assert wanted.take(Candidate(0b11, 1.0)) == 0b11
    assert wanted.gain(Candidate(0b11, 1.0)) == 1
