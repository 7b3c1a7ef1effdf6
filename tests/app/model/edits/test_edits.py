"""Edits of the shoot: what they change, what they say they changed, and what they leave alone."""

from collections.abc import Callable
from dataclasses import fields, replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.model.answers import Answer
from app.model.document.angle import Angle
from app.model.document.change import NOTHING, Change
from app.model.document.decisions import Action, Decided, Decision, TakeSettings
from app.model.document.findings import LagPoint, Rival
from app.model.document.marks import FaultReason, MarkKind
from app.model.document.media_ref import MediaRef
from app.model.document.shoot import Shoot
from app.model.document.song import SongMap
from app.model.document.store import from_text, to_text
from app.model.document.verdict import Verdict
from app.model.edits import angle_edits, deciding, mark_edits, shoot_edits, take_settings
from app.model.on_song import Clip, SongView, Take, on_song
from app.model.reasons import NO_REASON, Reason, in_words, sentence
from tests.app import random_shoots
from tests.app.documents import answer, document
from tests.app.random_shoots import clip, media, sensible_shoots, take, waltz

AT = "2031-05-04T18:20:00Z"
T, T2 = "clip-1-take-1", "clip-1-take-2"
"""Ids of the takes found in the first clip."""


def shoot(*clips: Clip, **more: Any) -> Shoot:
    return document(random_shoots.shoot(*clips, **more))


def found_in(path: str, *takes: Take, **more: Any) -> Answer:
    """What was found in a file."""
    return answer(Clip("", media(path), "", takes=takes, **more))


def names(value: Shoot) -> list[str]:
    return [angle.name for angle in value.angles]


def test_clips_are_added_once_with_ids_and_angles_from_their_names() -> None:
    paths = ["/s/fiddle_01.mov", "/s/Safety wide.mp4", "/s/Fiddle_02.mov", "/s/fiddle_01.mov"]
    value, change = shoot_edits.add_clips(Shoot(), [media(path) for path in paths])
    assert change == Change.CLIPS | Change.ANGLES
    assert [c.id for c in value.clips] == ["clip-1", "clip-2", "clip-3"]
    assert [(a.id, a.name, a.safety) for a in value.angles] == [
        ("angle-1", "Fiddle", False),
        ("angle-2", "Safety wide", True),
    ]
    assert [c.angle_id for c in value.clips] == ["angle-1", "angle-2", "angle-1"]
    assert shoot_edits.add_clips(value, [media(path) for path in paths]) == (value, NOTHING)
    more, change = shoot_edits.add_clips(value, [media("/s/fiddle_09.mov")])
    assert change == Change.CLIPS
    assert more.clips[-1].id == "clip-4"
    fewer, _ = shoot_edits.remove_clips(more, ["clip-1"])
    again, _ = shoot_edits.add_clips(fewer, [media(paths[0])])
    assert again.clips[-1].id == "clip-5"


def test_an_answer_fills_the_clip_and_gives_takes_ids_of_their_own() -> None:
    value, _ = shoot_edits.add_clips(Shoot(songs=(waltz(),)), [media("/s/a.mov"), media("/s/b.mov")])
    takes = take("x", 0, 4), replace(take("x", 5, 9), clip_start_s=5.0, clip_end_s=9.0)
    found = found_in("/s/b.mov", *takes, duration_s=9.0, verdict=Verdict.PLACED)
    value, change = shoot_edits.answer_clip(value, found)
    assert change == Change.CLIPS | Change.TAKES
    second = on_song(value).clips[1]
    assert (second.id, second.angle_id, second.duration_s) == ("clip-2", value.angles[1].id, 9.0)
    assert [t.id for t in second.takes] == ["clip-2-take-1", "clip-2-take-2"]
    assert shoot_edits.answer_clip(value, found) == (value, NOTHING)


def test_an_answer_for_a_clip_or_song_that_is_gone_changes_nothing() -> None:
    value = shoot(clip(1))
    assert shoot_edits.answer_clip(value, found_in("/gone.mov")) == (value, NOTHING)
    late = answer(clip(1, take("", 0, 5)))
    assert shoot_edits.answer_clip(value, late, heard_on="other digest") == (value, NOTHING)
    assert shoot_edits.answer_clip(value, late, heard_on="00")[1] != NOTHING


@pytest.mark.parametrize("decision", [Decision.CONFIRMED, Decision.BY_HAND])
def test_an_answer_never_overwrites_what_a_person_decided(decision: Decision) -> None:
    mine = Take("clip-1-take-1", 10.0, 20.0, 3.0, decision=decision)
    value = shoot(clip(1, mine, Take("clip-1-take-2", 30.0, 40.0, 5.0)))
    found = (
        Take("", 10.1, 20.1, 15.0),
        Take("", 50.0, 60.0, 7.0, verdict=Verdict.DOUBTFUL, reason=in_words("Weak.")),
    )
    value, _ = shoot_edits.answer_clip(
        value, answer(clip(1, *found, verdict=Verdict.DOUBTFUL, reason=in_words("Weak.")))
    )
    assert [(t.id, t.song_start_s) for t in on_song(value).clips[0].takes] == [
        ("clip-1-take-1", 3.0),
        ("clip-1-take-2", 7.0),
    ]
    assert on_song(value).clips[0].verdict is Verdict.DOUBTFUL
    value, _ = shoot_edits.answer_clip(
        value, answer(clip(1, verdict=Verdict.NO_SONG, reason=in_words("Silence.")))
    )
    assert on_song(value).clips[0].takes == (mine,)
    assert on_song(value).clips[0].verdict is Verdict.PLACED
    value, _ = shoot_edits.answer_clip(
        value, answer(clip(1, verdict=Verdict.UNREADABLE, reason=in_words("Cut off.")))
    )
    assert on_song(value).clips[0].takes == (mine,)
    assert (on_song(value).clips[0].verdict, sentence(on_song(value).clips[0].reason)) == (
        Verdict.UNREADABLE,
        "Cut off.",
    )


def test_no_song_said_by_a_person_outlives_an_answer() -> None:
    value, change = deciding.set_verdict_no_song(shoot(clip(1, take(T, 0, 5))), "clip-1", AT)
    assert change == Change.CLIPS | Change.TAKES
    assert (on_song(value).clips[0].verdict, on_song(value).clips[0].takes) == (Verdict.NO_SONG, ())
    assert on_song(value).clips[0].reason
    assert on_song(value).clips[0].decided == Decided(Action.REFUSED, AT)
    value, change = shoot_edits.answer_clip(value, answer(clip(1, take(T, 0, 5), duration_s=77.0)))
    assert change == Change.CLIPS
    assert on_song(value).clips[0].decided == Decided(Action.REFUSED, AT)
    assert (
        on_song(value).clips[0].verdict,
        on_song(value).clips[0].takes,
        on_song(value).clips[0].duration_s,
    ) == (
        Verdict.NO_SONG,
        (),
        77.0,
    )
    assert deciding.set_verdict_no_song(value, "clip-1", AT) == (value, NOTHING)


def test_a_recording_named_by_path_is_kept_by_id_and_survives_its_first_clip() -> None:
    value = shoot(clip(1), clip(2), clip(3))
    for n in (1, 2, 3):
        value, _ = shoot_edits.answer_clip(value, answer(clip(n, recording="/shoot/clip_01.mov")))
    assert [c.recording for c in value.clips] == ["clip-1"] * 3
    value, _ = shoot_edits.remove_clips(value, ["clip-1"])
    assert [c.recording for c in value.clips] == ["clip-2"] * 2


def test_another_song_sends_clips_back_and_keeps_decisions_as_doubts() -> None:
    mine = take("m", 0, 5, decision=Decision.CONFIRMED)
    value = shoot(
        clip(1, take(T, 0, 5)), clip(2, mine), clip(3, verdict=Verdict.UNREADABLE, reason=in_words("Cut."))
    )
    other = replace(waltz(), media=MediaRef("/new.wav", 1001, "11"))
    after, change = shoot_edits.set_song(value, other)
    assert change == Change.SONG | Change.MAP | Change.CLIPS | Change.TAKES
    seen = on_song(after)
    assert [c.verdict for c in seen.clips] == [Verdict.WAITING, Verdict.DOUBTFUL, Verdict.UNREADABLE]
    assert [len(c.takes) for c in seen.clips] == [0, 1, 0]
    kept = on_song(after).clips[1].takes[0]
    assert (kept.verdict, kept.decision, kept.song_start_s) == (Verdict.DOUBTFUL, Decision.CONFIRMED, 0)
    moved, change = shoot_edits.set_song(value, replace(waltz(), media=MediaRef("/moved.wav", 1000, "00")))
    assert change == Change.SONG | Change.MAP
    assert on_song(moved).clips == on_song(value).clips
    back, _ = shoot_edits.set_song(after, waltz())
    assert on_song(back).clips == on_song(value).clips, "what was known of the old file comes back with it"
    assert shoot_edits.set_song(value, waltz()) == (value, NOTHING)


def test_the_same_recording_chosen_again_keeps_the_map_somebody_worked_on() -> None:
    value, _ = shoot_edits.set_map(shoot(clip(1, take(T, 0, 5))), SongMap(99.0, downbeats_s=(1.5,)))
    again, _ = shoot_edits.set_song(value, replace(waltz(), media=MediaRef("/moved.wav", 1000, "00")))
    (song,) = again.songs
    assert song.media.path == "/moved.wav"
    assert song.map == SongMap(99.0, downbeats_s=(1.5,))
    assert shoot_edits.set_song(value, waltz()) == (value, NOTHING)


def test_a_map_needs_a_song() -> None:
    value, change = shoot_edits.set_map(shoot(), SongMap(99.0))
    assert (value.songs[0].map.tempo_bpm, change) == (99.0, Change.MAP)
    with pytest.raises(ValueError, match="no song yet"):
        shoot_edits.set_map(Shoot(), SongMap())


def test_angles_left_without_clips_vanish() -> None:
    value = shoot(
        clip(1), clip(2, angle="angle-2"), angles=(Angle("angle-1", "Fiddle"), Angle("angle-2", "Wide"))
    )
    gone, change = shoot_edits.remove_clips(value, ["clip-1"])
    assert (names(gone), change) == (["Wide"], Change.CLIPS | Change.ANGLES)
    put, change = angle_edits.assign_angle(value, ["clip-1"], " wide ")
    assert (names(put), [c.angle_id for c in put.clips]) == (["Wide"], ["angle-2", "angle-2"])
    assert change == Change.CLIPS | Change.ANGLES
    new, change = angle_edits.assign_angle(value, ["clip-1"], "Singer")
    assert (names(new), change) == (["Wide", "Singer"], Change.CLIPS | Change.ANGLES)
    assert angle_edits.assign_angle(value, ["clip-1"], "FIDDLE") == (value, NOTHING)


def test_an_angle_renamed_to_another_joins_it() -> None:
    value = shoot(
        clip(1), clip(2, angle="angle-2"), angles=(Angle("angle-1", "Fiddle"), Angle("angle-2", "Wide"))
    )
    named, change = angle_edits.rename_angle(value, "angle-1", "Violin ")
    assert (names(named), change) == (["Violin", "Wide"], Change.ANGLES)
    joined, change = angle_edits.rename_angle(value, "angle-1", "wide")
    assert (names(joined), change) == (["Wide"], Change.CLIPS | Change.ANGLES)
    respelt, change = angle_edits.rename_angle(value, "angle-1", "FIDDLE")
    assert (names(respelt), change) == (["FIDDLE", "Wide"], Change.ANGLES)
    with pytest.raises(ValueError, match="needs a name"):
        angle_edits.rename_angle(value, "angle-1", "  ")


def test_safety_of_angles() -> None:
    angles = tuple(Angle(f"angle-{n}", str(n)) for n in (1, 2, 3))
    value = shoot(*(clip(n, angle=f"angle-{n}") for n in (1, 2, 3)), angles=angles)
    marked, change = angle_edits.mark_safety(value, "angle-2", True)
    assert (marked.angles[1].safety, change) == (True, Change.ANGLES)
    assert angle_edits.mark_safety(marked, "angle-2", True) == (marked, NOTHING)


def doubtful() -> Shoot:
    rivals = (Rival(40.0, 0.8), Rival(80.0, 0.4))
    lags = (LagPoint(1.0, 0.001, 9.0),)
    one = Take(T, 0, 30, 10.0, verdict=Verdict.DOUBTFUL, reason=in_words("Twins."), rivals=rivals, lags=lags)
    return shoot(
        clip(1, one, verdict=Verdict.DOUBTFUL, reason=in_words("Twins.")), clip(2, take("other", 0, 5))
    )


def test_confirming_settles_a_take_and_its_clip() -> None:
    value, change = deciding.confirm_take(doubtful(), T, AT)
    one = on_song(value).clips[0].takes[0]
    assert (one.verdict, one.decision, one.reason, one.song_start_s) == (
        Verdict.PLACED,
        Decision.CONFIRMED,
        NO_REASON,
        10.0,
    )
    assert (on_song(value).clips[0].verdict, on_song(value).clips[0].reason) == (Verdict.PLACED, NO_REASON)
    assert change == Change.CLIPS | Change.TAKES
    assert deciding.confirm_take(value, T, AT) == (value, NOTHING)


def test_a_take_that_sways_still_does_once_it_is_confirmed() -> None:
    figures = (("sway_largest_s", 0.006), ("sway_typical_s", 0.004))
    doubt = replace(on_song(doubtful()).clips[0].takes[0], reason=Reason("fits elsewhere", figures))
    value, _ = deciding.confirm_take(shoot(clip(1, doubt, verdict=Verdict.DOUBTFUL)), T, AT)
    assert on_song(value).clips[0].takes[0].reason == Reason("sways", figures)


def test_a_clip_stays_doubtful_as_long_as_one_take_is() -> None:
    first = on_song(doubtful()).clips[0].takes[0]
    second = replace(first, clip_start_s=40, clip_end_s=60, reason=in_words("Weak."))
    value = shoot(clip(1, first, second, verdict=Verdict.DOUBTFUL))
    assert sentence(on_song(value).clips[0].reason) == "2 of 2 takes: Twins."
    value, _ = deciding.confirm_take(value, T, AT)
    assert on_song(value).clips[0].verdict is Verdict.DOUBTFUL
    assert sentence(on_song(value).clips[0].reason) == "1 of 2 takes: Weak."


def test_choosing_a_rival_changes_places_with_it() -> None:
    value, _ = deciding.choose_rival(doubtful(), T, 0, AT)
    one = on_song(value).clips[0].takes[0]
    assert (one.song_start_s, one.verdict, one.decision, one.lags) == (
        40.0,
        Verdict.PLACED,
        Decision.BY_HAND,
        (),
    )
    assert one.rivals == (Rival(10.0, pytest.approx(1.25), computed=True), Rival(80.0, pytest.approx(0.5)))
    back, _ = deciding.choose_rival(value, T, 0, AT)
    assert on_song(back).clips[0].takes[0].song_start_s == 10.0
    assert on_song(back).clips[0].takes[0].decision is Decision.CONFIRMED, "it is the computed place"
    assert on_song(back).clips[0].takes[0].rivals == (
        Rival(40.0, pytest.approx(0.8)),
        Rival(80.0, pytest.approx(0.4)),
    )
    assert deciding.confirm_take(value, T, AT) == (value, NOTHING)  # by hand stays by hand
    for index in (-1, 2):
        with pytest.raises(IndexError):
            deciding.choose_rival(doubtful(), T, index, AT)


def test_moving_a_take_by_hand_keeps_what_was_measured() -> None:
    value = doubtful()
    moved, change = deciding.move_take(value, T, 10.25, AT)
    one, old = on_song(moved).clips[0].takes[0], on_song(value).clips[0].takes[0]
    assert (one.song_start_s, one.decision, one.verdict) == (10.25, Decision.BY_HAND, Verdict.PLACED)
    assert one.song_time(1.0) + one.lags[0].lag_s == pytest.approx(
        old.song_time(1.0) + old.lags[0].lag_s, abs=1e-12
    )
    assert change == Change.CLIPS | Change.TAKES
    assert deciding.move_take(value, T, 10.0, AT) == (value, NOTHING)


def test_found_files_take_the_place_of_lost_ones() -> None:
    value = shoot(clip(1), clip(2))
    new = MediaRef("/found/b.mov", 1000, "00")
    after, change = shoot_edits.relink(value, {"/shoot/clip_02.mov": new})
    assert (after.clips[1].media, after.clips[0], change) == (new, value.clips[0], Change.CLIPS)
    song = MediaRef("/found/waltz.wav", 1000, "00")
    after, change = shoot_edits.relink(value, {"/shoot/waltz.wav": song})
    assert (after.songs[0].media, change) == (song, Change.SONG)
    assert shoot_edits.relink(value, {"/else": new}) == (value, NOTHING)


def test_the_shoot_is_named() -> None:
    assert shoot_edits.set_name(Shoot("a"), "b") == (Shoot("b"), Change.NAME)
    assert shoot_edits.set_name(Shoot("a"), "a") == (Shoot("a"), NOTHING)


@pytest.mark.parametrize(
    "edit",
    [
        lambda s: shoot_edits.remove_clips(s, ["no"]),
        lambda s: angle_edits.assign_angle(s, ["no"], "x"),
        lambda s: angle_edits.rename_angle(s, "no", "x"),
        lambda s: angle_edits.mark_safety(s, "no", True),
        lambda s: deciding.confirm_take(s, "no", AT),
        lambda s: deciding.choose_rival(s, "no", 0, AT),
        lambda s: deciding.move_take(s, "no", 0, AT),
        lambda s: deciding.set_verdict_no_song(s, "no", AT),
    ],
)
def test_unknown_ids_are_told(edit: Callable[[Shoot], object]) -> None:
    with pytest.raises(KeyError, match="no"):
        edit(shoot(clip(1)))


def told(before: Shoot, after: Shoot) -> Change:
    """What changed between two shoots, by looking at them."""
    change = NOTHING
    was, now = on_song(before), on_song(after)
    old = {c.id: c for c in was.clips}
    new = {c.id: c for c in now.clips}
    if before.angles != after.angles:
        change |= Change.ANGLES
    if [replace(c, takes=()) for c in was.clips] != [replace(c, takes=()) for c in now.clips]:
        change |= Change.CLIPS
    if {i: c.takes for i, c in old.items() if c.takes} != {i: c.takes for i, c in new.items() if c.takes}:
        change |= Change.TAKES
    return change


@given(sensible_shoots(), st.data())
def test_every_edit_says_what_it_changed_and_keeps_the_document_whole(
    written: SongView, data: st.DataObject
) -> None:
    before = document(written)
    clips, angles = [c.id for c in before.clips], [a.id for a in before.angles]
    takes = [t.id for c in on_song(before).clips for t in c.takes]
    wishes: list[Callable[[], tuple[Shoot, Change]]] = [
        lambda: shoot_edits.remove_clips(before, data.draw(st.sets(st.sampled_from(clips)))),
        lambda: angle_edits.assign_angle(
            before, data.draw(st.sets(st.sampled_from(clips))), data.draw(st.sampled_from("ab"))
        ),
        lambda: angle_edits.rename_angle(before, data.draw(st.sampled_from(angles)), "Angle 1"),
        lambda: angle_edits.step_angle(
            before, data.draw(st.sampled_from(angles)), data.draw(st.sampled_from((-1, 1)))
        ),
        lambda: angle_edits.place_angle(before, data.draw(st.sampled_from(angles)), None),
        lambda: angle_edits.hide_angles(before, data.draw(st.sets(st.sampled_from(angles))), True),
        lambda: deciding.set_verdict_no_song(before, data.draw(st.sampled_from(clips)), AT),
        lambda: shoot_edits.add_clips(
            before, [media(f"/n/{n}.mov") for n in data.draw(st.lists(st.integers(0, 3)))]
        ),
        lambda: shoot_edits.answer_clip(
            before,
            answer(replace(data.draw(st.sampled_from(on_song(before).clips)), takes=(take("", 0, 3),))),
        ),
    ]
    if takes:
        wishes.append(lambda: deciding.confirm_take(before, data.draw(st.sampled_from(takes)), AT))
        wishes.append(
            lambda: deciding.move_take(
                before, data.draw(st.sampled_from(takes)), data.draw(st.floats(0, 9)), AT
            )
        )
    after, change = data.draw(st.sampled_from(wishes))()
    seen = told(before, after)
    assert seen in change  # never more than was said
    assert bool(change) == (after != before)
    ids = [t.id for c in on_song(after).clips for t in c.takes]
    assert len(set(ids)) == len(ids)
    assert len({c.id for c in after.clips}) == len(after.clips)
    assert {c.angle_id for c in after.clips} <= {a.id for a in after.angles}
    for old in on_song(before).clips:
        decided = {t for t in old.takes if t.decision is not Decision.COMPUTED}
        now = next((c for c in on_song(after).clips if c.id == old.id), None)
        if now is not None and now.decision is Decision.COMPUTED:
            assert {t.id for t in decided} <= {t.id for t in now.takes}


def test_a_note_is_written_to_several_clips_and_taken_away() -> None:
    value, _ = shoot_edits.add_clips(Shoot(), [media(f"/s/{name}.mov") for name in "abc"])
    noted, change = shoot_edits.set_note(value, ["clip-1", "clip-3"], "  second lens, a little soft ")
    assert change == Change.CLIPS
    assert [c.note for c in noted.clips] == ["second lens, a little soft", "", "second lens, a little soft"]
    assert shoot_edits.set_note(noted, ["clip-1"], "second lens, a little soft") == (noted, NOTHING)
    assert shoot_edits.set_note(noted, ["clip-1", "clip-3"], " ")[0] == value
    with pytest.raises(KeyError):
        shoot_edits.set_note(value, ["clip-9"], "x")


def test_several_clips_are_refused_in_one_edit() -> None:
    value = shoot(*(clip(n, take("", 5.0, 50.0)) for n in (1, 2, 3)))
    ids = [value.clips[0].id, value.clips[1].id]
    refused, change = deciding.refuse_clips(value, ids, AT)
    assert change == Change.CLIPS | Change.TAKES
    assert all(c.verdict is Verdict.NO_SONG and not c.takes for c in on_song(refused).clips if c.id in ids)
    assert deciding.refuse_clips(refused, ids, AT) == (refused, NOTHING)


def test_an_answer_leaves_note_record_frame_guide_and_marks_as_they_are() -> None:
    value = shoot(clip(1, take("", 5.0, 50.0), note="dawn"))
    value, _ = take_settings.shift_take(value, T, 0.25, -0.5)
    value, _ = mark_edits.add_mark(value, "clip-1", MarkKind.FAULT, 3.0, 4.0, FaultReason.FOCUS)
    found = answer(clip(1, replace(take("", 5.0, 50.0), song_start_s=99.0)))
    new, _ = shoot_edits.answer_clip(value, found)
    seen = on_song(new).clips[0]
    assert seen.note == "dawn"
    assert (seen.takes[0].song_start_s, seen.takes[0].settings) == (99.0, TakeSettings(0.25, -0.5))
    assert [mark.reason for mark in seen.marks] == [FaultReason.FOCUS]
    refused, _ = deciding.set_verdict_no_song(value, "clip-1", AT)
    again, _ = shoot_edits.answer_clip(refused, found)
    assert on_song(again).clips[0].decided == Decided(Action.REFUSED, AT)
    assert again.clips[0].note == "dawn"


def test_what_is_set_on_a_take_stays_whatever_happens_to_files_map_and_song() -> None:
    value = shoot(clip(1, take("", 5.0, 50.0)))
    wanted = replace(TakeSettings(), shift_x=0.25, shift_y=-0.5, transfer="srgb", power=True, saturation=True)
    unset = [one.name for one in fields(TakeSettings) if getattr(wanted, one.name) == one.default]
    assert not unset, "every setting is looked at here"

    def kept(now: Shoot) -> list[TakeSettings]:
        return [one.settings for one in on_song(now).clips[0].takes]

    value, _ = take_settings.set_on_take(value, "clip-1", on_song(value).clips[0].takes[0], wanted)
    assert kept(value) == [wanted]
    mapped, change = shoot_edits.set_map(value, SongMap(99.0, beats_s=(1.5, 2.5)))
    assert (kept(mapped), change) == ([wanted], Change.MAP)
    moved, change = shoot_edits.relink(mapped, {"/shoot/clip_01.mov": MediaRef("/found/a.mov", 1000, "00")})
    assert (kept(moved), change) == ([wanted], Change.CLIPS)
    assert kept(from_text(to_text(moved, Path("/shoot")), Path("/shoot"))) == [wanted]
    other = replace(waltz(), media=MediaRef("/new.wav", 1001, "11"))
    waiting, _ = shoot_edits.set_song(moved, other)
    assert kept(waiting) == [], "nothing is placed on the other file yet"
    back, _ = shoot_edits.set_song(waiting, waltz())
    assert kept(back) == [wanted]
    file = moved.clips[0].media
    found = answer(replace(clip(1, take("", 80.0, 124.5)), media=file))
    elsewhere, _ = shoot_edits.answer_clip(waiting, found, heard_on="11")
    assert (kept(elsewhere), on_song(elsewhere).clips[0].takes[0].song_start_s) == ([wanted], 80.0)
    back, _ = shoot_edits.set_song(elsewhere, waltz())
    placed, _ = shoot_edits.answer_clip(back, answer(replace(clip(1, take("", 5.0, 49.5)), media=file)))
    assert (kept(placed), on_song(placed).clips[0].takes[0].song_start_s) == ([wanted], 5.0)


def test_removed_clips_take_along_all_that_is_known_of_them() -> None:
    value = shoot(clip(1, take("", 0.0, 9.0)), clip(2, take("", 0.0, 9.0)))
    value, _ = deciding.confirm_take(value, T, AT)
    value, _ = mark_edits.add_mark(value, "clip-1", MarkKind.KEEPER, 3.0, 4.0)
    left, change = shoot_edits.remove_clips(value, ["clip-1"])
    assert change == Change.CLIPS | Change.TAKES | Change.MARKS
    assert left == shoot(clip(2, take("", 0.0, 9.0)))
