"""Decisions leave a record, outlive new answers, and are taken back whole; pins and marked stretches."""

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.model.document.change import NOTHING, Change
from app.model.document.decisions import Action, Decided, Decision, Pin
from app.model.document.findings import LagPoint, Rival
from app.model.document.history import History
from app.model.document.shoot import Shoot
from app.model.document.verdict import Verdict
from app.model.edits import deciding, marking, pins, shoot_edits
from app.model.on_song import SAID_NO_SONG, Clip, Refused, Take, on_song
from app.model.reasons import NO_REASON, in_words
from tests.app import random_shoots
from tests.app.documents import answer, document
from tests.app.random_shoots import clip, waltz

AT, LATER = "2031-05-04T18:20:00Z", "2031-05-04T18:21:00Z"
SONG_S = waltz().duration_s
T, T2 = "clip-1-take-1", "clip-1-take-2"
"""Ids of the takes found in the clip."""


def shoot(*clips: Clip) -> Shoot:
    return document(random_shoots.shoot(*clips))


def one_take(**more: object) -> Take:
    lags = (LagPoint(5.0, 0.001, 9.0), LagPoint(25.0, -0.002, 9.0))
    rivals = (Rival(4.0, 0.9),)
    take = Take(
        T, 2.0, 32.0, 1.0, speed=1.00004, uncertainty_s=0.0008, verdict=Verdict.DOUBTFUL,
        reason=in_words("Twins."), rivals=rivals, lags=lags,
    )  # fmt: skip
    return replace(take, **more)  # type: ignore[arg-type]


def with_one(**more: object) -> Shoot:
    held = clip(1, one_take(**more), verdict=Verdict.DOUBTFUL, reason=in_words("Twins."), duration_s=40.0)
    return shoot(replace(held, frame_rate=Fraction(25)))


def silent() -> Shoot:
    """A clip without sound, in which nothing was found."""
    held = clip(1, verdict=Verdict.NO_SONG, reason=in_words("No sound."), duration_s=20.0)
    return shoot(replace(held, frame_rate=Fraction(25)))


def the_take(value: Shoot) -> Take:
    (found,) = on_song(value).clips[0].takes
    return found


DEEDS: list[tuple[Action, Callable[[Shoot], tuple[Shoot, Change]]]] = [
    (Action.CONFIRMED, lambda s: deciding.confirm_take(s, T, AT)),
    (Action.CHOSE_RIVAL, lambda s: deciding.choose_rival(s, T, 0, AT)),
    (Action.MOVED, lambda s: deciding.move_take(s, T, 1.04, AT)),
    (Action.SETTLED, lambda s: deciding.settle_take(s, T, 1.02, 1.00003, 0.0004, AT)),
    (Action.PINNED, lambda s: pins.pin(s, "clip-1", T, 12.0, 13.0, AT)),
    (Action.MARKED, lambda s: marking.mark_stretch(s, "clip-1", 2.0, 20.0, AT)),
]


@pytest.mark.parametrize(("deed", "decide"), DEEDS)
def test_every_decision_is_recorded_outlives_an_answer_and_can_be_taken_back(
    deed: Action, decide: Callable[[Shoot], tuple[Shoot, Change]]
) -> None:
    before = with_one()
    after, change = decide(before)
    assert Change.TAKES in change
    assert on_song(after).clips[0].takes[0].decided == Decided(deed, AT)
    found = clip(1, one_take(song_start_s=9.0, decided=None), duration_s=40.0)
    answered, _ = shoot_edits.answer_clip(after, answer(found))
    assert on_song(answered).clips[0].takes == on_song(after).clips[0].takes
    history = History(before)
    history.push("Decide", after, change)
    history.undo()
    assert history.shoot == before


def test_a_refusal_is_recorded() -> None:
    after, _ = deciding.set_verdict_no_song(with_one(), "clip-1", AT)
    assert on_song(after).clips[0].decided == Decided(Action.REFUSED, AT)
    assert deciding.set_verdict_no_song(after, "clip-1", LATER) == (after, NOTHING)


def with_two() -> Shoot:
    """A second start in the clip, found in doubt beside a sure first one."""
    first = one_take(verdict=Verdict.PLACED, reason=in_words(""), clip_end_s=15.0)
    second = one_take(clip_start_s=20.0, clip_end_s=35.0)
    held = clip(1, first, second, verdict=Verdict.DOUBTFUL, reason=in_words("Twins."), duration_s=40.0)
    return shoot(held)


def test_one_take_is_refused_and_the_others_stay() -> None:
    before = with_two()
    after, change = deciding.refuse_take(before, T2, AT)
    assert change == Change.CLIPS | Change.TAKES
    held = on_song(after).clips[0]
    assert [take.id for take in held.takes] == [T]
    assert held.refused == (Refused(20.0, 35.0, AT, on_song(before).clips[0].takes[1]),)
    assert (held.verdict, held.reason, held.decided) == (Verdict.PLACED, NO_REASON, None)


def test_what_was_refused_is_taken_back_as_it_was() -> None:
    before = with_two()
    one, _ = deciding.refuse_take(before, T2, AT)
    both, _ = deciding.refuse_take(one, T, LATER)
    assert (on_song(both).clips[0].verdict, on_song(both).clips[0].takes) == (Verdict.NO_SONG, ())
    back, change = deciding.take_back(both, "clip-1", on_song(both).clips[0].refused[1])
    assert change == Change.CLIPS | Change.TAKES
    assert on_song(back).clips[0].takes == on_song(one).clips[0].takes
    assert (on_song(back).clips[0].decision, on_song(back).clips[0].decided) == (Decision.COMPUTED, None)
    back, _ = deciding.take_back(back, "clip-1", on_song(back).clips[0].refused[0])
    assert on_song(back).clips[0].takes == on_song(before).clips[0].takes
    assert (on_song(back).clips[0].verdict, on_song(back).clips[0].refused) == (Verdict.DOUBTFUL, ())
    assert back == before, "nothing of it is left"


def test_a_clip_without_a_take_is_refused_and_taken_back() -> None:
    before = shoot(clip(1, verdict=Verdict.NO_SONG, reason=in_words("Nothing."), duration_s=40.0))
    refused, _ = deciding.set_verdict_no_song(before, "clip-1", AT)
    assert on_song(refused).clips[0].decision is Decision.BY_HAND
    back, change = deciding.take_back_clip(refused, "clip-1")
    assert change == Change.CLIPS | Change.TAKES
    assert back == before
    assert deciding.take_back_clip(before, "clip-1") == (before, NOTHING)


def test_a_clip_taken_back_has_the_takes_that_were_refused_with_it() -> None:
    before = with_two()
    one, _ = deciding.refuse_take(before, T2, AT)
    all_of_it, _ = deciding.set_verdict_no_song(one, "clip-1", LATER)
    back, _ = deciding.take_back_clips(all_of_it, ["clip-1"])
    assert back == one, "what was refused by itself stays so"
    at_once, _ = deciding.set_verdict_no_song(before, "clip-1", AT)
    back, _ = deciding.take_back_clip(at_once, "clip-1")
    assert on_song(back).clips[0].takes == on_song(before).clips[0].takes
    assert (on_song(back).clips[0].refused, on_song(back).clips[0].decision) == ((), Decision.COMPUTED)


def test_what_is_no_longer_found_is_taken_back_all_the_same() -> None:
    refused, _ = deciding.refuse_take(with_two(), T2, AT)
    lost, _ = shoot_edits.answer_clip(refused, answer(clip(1, on_song(refused).clips[0].takes[0])))
    back, _ = deciding.take_back(lost, "clip-1", on_song(lost).clips[0].refused[0])
    assert on_song(back).clips[0].takes == on_song(with_two()).clips[0].takes
    # Found anew since, it is not there twice.
    found, _ = shoot_edits.answer_clip(back, answer(on_song(with_two()).clips[0]))
    assert on_song(found).clips[0].takes == on_song(with_two()).clips[0].takes


def test_a_decided_take_that_was_refused_comes_back_as_it_was_decided() -> None:
    moved, _ = deciding.move_take(with_two(), T2, 5.0, AT)
    refused, _ = deciding.refuse_take(moved, T2, LATER)
    back, _ = deciding.take_back(refused, "clip-1", on_song(refused).clips[0].refused[0])
    assert on_song(back) == on_song(moved)


@pytest.mark.parametrize("decide", [deed[1] for deed in DEEDS[2:5]])
def test_the_computed_place_stays_a_rival(decide: Callable[[Shoot], tuple[Shoot, Change]]) -> None:
    before = with_one()
    old = the_take(before)
    after, _ = decide(before)
    take = the_take(after)
    first = take.rivals[0]
    assert first.computed
    assert first.song_start_s == pytest.approx(old.song_time(take.clip_start_s))
    again, _ = deciding.move_take(after, T, 2.0, LATER)
    assert [one.computed for one in the_take(again).rivals] == [True, False], "once"
    back, _ = deciding.choose_rival(again, T, 0, LATER)
    assert the_take(back).decision is Decision.CONFIRMED
    assert the_take(back).decided == Decided(Action.CONFIRMED, LATER)


def test_a_refused_take_is_not_found_again() -> None:
    after, _ = deciding.refuse_take(with_two(), T2, AT)
    first, second = on_song(with_two()).clips[0].takes
    again, _ = shoot_edits.answer_clip(after, answer(clip(1, first, replace(second, clip_start_s=21.0))))
    assert [take.clip_start_s for take in on_song(again).clips[0].takes] == [2.0]
    assert on_song(again).clips[0].verdict is Verdict.PLACED
    # Another take, found elsewhere in the clip, was never refused.
    elsewhere = replace(second, clip_start_s=34.0, clip_end_s=39.0)
    again, _ = shoot_edits.answer_clip(after, answer(clip(1, first, elsewhere)))
    assert len(on_song(again).clips[0].takes) == 2
    # Where all that is found was refused, nothing of the song is left in the clip.
    again, _ = shoot_edits.answer_clip(after, answer(clip(1, second)))
    assert (on_song(again).clips[0].verdict, on_song(again).clips[0].takes) == (Verdict.NO_SONG, ())
    assert on_song(again).clips[0].reason == SAID_NO_SONG


def test_the_last_take_of_a_clip_takes_the_clip_along() -> None:
    after, _ = deciding.refuse_take(with_one(), T, AT)
    assert after == deciding.set_verdict_no_song(with_one(), "clip-1", AT)[0]


def test_another_song_knows_nothing_of_refusals() -> None:
    after, _ = deciding.refuse_take(with_two(), T2, AT)
    other = replace(waltz(), media=replace(waltz().media, digest="ff"))
    on_other, _ = shoot_edits.set_song(after, other)
    assert on_song(on_other).clips[0].refused == ()
    back, _ = shoot_edits.set_song(on_other, waltz())
    assert on_song(back).clips == on_song(after).clips, (
        "they come back with the song file that they were said of"
    )


def test_settling_takes_over_what_was_measured() -> None:
    after, _ = deciding.settle_take(with_one(), T, 1.02, 1.00003, 0.0004, AT)
    take = the_take(after)
    assert (take.song_start_s, take.speed, take.uncertainty_s) == (1.02, 1.00003, 0.0004)
    old = one_take()
    for was, now in zip(old.lags, take.lags, strict=True):
        measured = old.song_time(was.clip_s) + was.lag_s
        assert take.song_time(now.clip_s) + now.lag_s == pytest.approx(measured, abs=1e-12)


def test_one_pin_keeps_the_speed_and_a_later_move_lets_the_pin_go() -> None:
    after, _ = pins.pin(with_one(), "clip-1", T, 12.0, 13.0, AT)
    take = the_take(after)
    assert take.song_time(12.0) == pytest.approx(13.0, abs=1e-12)
    assert (take.speed, take.pins, take.decision) == (1.00004, (Pin(12.0, 13.0),), Decision.BY_HAND)
    assert take.uncertainty_s == pytest.approx(0.02)  # half a frame at 25 a second
    moved, _ = deciding.move_take(after, T, 0.5, LATER)
    assert the_take(moved).pins == ()


@given(st.floats(0.3, 3.5), st.floats(0, 4), st.floats(1.0, 12.0), st.floats(0, 8.0))
def test_two_pins_lie_on_the_line(speed: float, clip_s: float, apart_s: float, song_s: float) -> None:
    one, _ = pins.pin(silent(), "clip-1", None, clip_s, song_s, AT)
    name = the_take(one).id
    second = song_s + apart_s * speed
    if second > SONG_S:
        with pytest.raises(ValueError, match="outside the song"):
            pins.pin(one, "clip-1", name, clip_s + apart_s, second, LATER)
        return
    two, _ = pins.pin(one, "clip-1", name, clip_s + apart_s, second, LATER)
    take = the_take(two)
    assert take.speed == pytest.approx(speed)
    for pin in take.pins:
        assert take.song_time(pin.clip_s) == pytest.approx(pin.song_s, abs=1e-9)
    # All of the clip that the song runs through, and nothing else.
    assert 0 <= take.clip_start_s < take.clip_end_s <= 20.0
    assert take.song_start_s >= -1e-9
    assert take.song_end_s <= SONG_S + 1e-9
    assert take.clip_start_s == 0 or take.song_start_s == pytest.approx(0, abs=1e-9)


def test_a_silent_clip_gets_a_take_by_one_pin_and_keeps_it() -> None:
    before = silent()
    after, change = pins.pin(before, "clip-1", None, 3.0, 5.0, AT)
    take = the_take(after)
    assert change == Change.TAKES | Change.CLIPS
    assert (on_song(after).clips[0].verdict, on_song(after).clips[0].reason) == (Verdict.PLACED, NO_REASON)
    assert (take.clip_start_s, take.song_start_s, take.speed) == (0.0, 2.0, 1.0)
    assert take.uncertainty_s > 0.02  # half a frame, and a clock nobody measured
    found = replace(clip(1, verdict=Verdict.NO_SONG, reason=in_words("No sound.")), duration_s=20.0)
    answered, _ = shoot_edits.answer_clip(after, answer(found))
    assert on_song(answered).clips[0].takes == (take,)


def test_a_third_pin_takes_the_place_of_the_nearer_and_one_on_a_frame_of_the_older() -> None:
    value, _ = pins.pin(silent(), "clip-1", None, 1.0, 1.0, AT)
    name = the_take(value).id
    for clip_s, song_s in ((9.0, 9.0), (8.0, 8.1), (8.01, 8.2)):
        value, _ = pins.pin(value, "clip-1", name, clip_s, song_s, AT)
    assert the_take(value).pins == (Pin(1.0, 1.0), Pin(8.01, 8.2))


@pytest.mark.parametrize(
    ("clip_s", "song_s", "sentence"),
    [
        (1.5, 1.5, "less than a second"),
        (9.0, 0.5, "backwards"),
        (3.0, 10.9, "speed of 4.95"),
        (25.0, 5.0, "outside the clip"),
        (5.0, SONG_S + 1, "outside the song"),
    ],
)
def test_pins_that_cannot_be_are_told(clip_s: float, song_s: float, sentence: str) -> None:
    value, _ = pins.pin(silent(), "clip-1", None, 1.0, 1.0, AT)
    with pytest.raises(ValueError, match=sentence):
        pins.pin(value, "clip-1", the_take(value).id, clip_s, song_s, AT)


def test_pins_need_a_song_and_some_of_it_in_the_clip() -> None:
    with pytest.raises(ValueError, match="no song yet"):
        pins.pin(replace(silent(), songs=()), "clip-1", None, 1.0, 1.0, AT)
    with pytest.raises(ValueError, match="half a second of the song"):
        pins.pin(silent(), "clip-1", None, 19.8, 0.0, AT)


def test_pinning_takes_back_a_refusal() -> None:
    refused, _ = deciding.set_verdict_no_song(silent(), "clip-1", AT)
    after, _ = pins.pin(refused, "clip-1", None, 1.0, 1.0, LATER)
    assert (on_song(after).clips[0].decision, on_song(after).clips[0].decided) == (Decision.COMPUTED, None)


@given(st.floats(0, 40), st.floats(0, 40))
def test_a_marked_stretch_is_a_take_on_the_same_line(one: float, other: float) -> None:
    before = with_one()
    from_s, to_s = min(one, other), max(one, other)
    old = the_take(before)
    try:
        after, change = marking.mark_stretch(before, "clip-1", one, other, AT)
    except ValueError:
        assert to_s - from_s < 0.5 or to_s <= 2.0 or from_s >= 32.0
        return
    takes = on_song(after).clips[0].takes
    assert (from_s, to_s) in [(t.clip_start_s, t.clip_end_s) for t in takes]
    assert bool(change) == (after != before)
    assert len({take.id for take in takes}) == len(takes)
    for left, right in pairwise(takes):
        assert left.clip_end_s <= right.clip_start_s
    for take in takes:
        assert take.clip_end_s - take.clip_start_s >= 0.5
        assert take.song_start_s == pytest.approx(old.song_time(take.clip_start_s), abs=1e-9)
        assert all(take.clip_start_s <= point.clip_s <= take.clip_end_s for point in take.lags)
        assert take.rivals[0].song_start_s - take.song_start_s == pytest.approx(3.0)


def test_a_stretch_shortens_what_it_overlaps_and_leaves_the_rest() -> None:
    held = clip(1, one_take(), one_take(clip_start_s=35.0, clip_end_s=39.0, lags=()), duration_s=40.0)
    after, _ = marking.mark_stretch(shoot(held), "clip-1", 20.0, 36.0, AT)
    spans = [(t.id, t.clip_start_s, t.clip_end_s) for t in on_song(after).clips[0].takes]
    assert spans == [(T, 2.0, 20.0), ("clip-1-take-3", 20.0, 36.0), (T2, 36.0, 39.0)]
    with pytest.raises(ValueError, match="No take covers that part"):
        marking.mark_stretch(after, "clip-1", 0.0, 1.5, AT)


def test_a_note_outlives_an_answer() -> None:
    noted = with_one()
    noted = replace(noted, clips=(replace(noted.clips[0], note="Lens flare."),))
    answered, _ = shoot_edits.answer_clip(
        noted, answer(Clip("", noted.clips[0].media, "", verdict=Verdict.NO_SONG))
    )
    assert answered.clips[0].note == "Lens flare."
