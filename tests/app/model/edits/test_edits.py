"""Edits of the shoot: what they change, what they say they changed, and what they leave alone."""

from collections.abc import Callable
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.model.document.shoot import (
    Angle,
    Clip,
    Decided,
    Decision,
    Deed,
    LagPoint,
    MediaRef,
    Rival,
    Shoot,
    SongMap,
    Take,
    Verdict,
)
from app.model.edits import angle_edits, decisions, shoot_edits
from app.model.edits.change import NOTHING, Change
from tests.app.random_shoots import clip, media, sensible_shoots, shoot, take, waltz

AT = "2031-05-04T18:20:00Z"


def fresh(path: str) -> Clip:
    return Clip("", media(path), "")


def names(value: Shoot) -> list[str]:
    return [angle.name for angle in value.angles]


def test_clips_are_added_once_with_ids_and_angles_from_their_names() -> None:
    paths = ["/s/fiddle_01.mov", "/s/Safety wide.mp4", "/s/Fiddle_02.mov", "/s/fiddle_01.mov"]
    value, change = shoot_edits.add_clips(Shoot(), [fresh(path) for path in paths])
    assert change == Change.CLIPS | Change.ANGLES
    assert [c.id for c in value.clips] == ["clip-1", "clip-2", "clip-3"]
    assert [(a.id, a.name, a.safety) for a in value.angles] == [
        ("angle-1", "Fiddle", False),
        ("angle-2", "Safety wide", True),
    ]
    assert [c.angle_id for c in value.clips] == ["angle-1", "angle-2", "angle-1"]
    assert shoot_edits.add_clips(value, [fresh(path) for path in paths]) == (value, NOTHING)
    more, change = shoot_edits.add_clips(value, [fresh("/s/fiddle_09.mov")])
    assert change == Change.CLIPS
    assert more.clips[-1].id == "clip-4"
    fewer, _ = shoot_edits.remove_clips(more, ["clip-1"])
    again, _ = shoot_edits.add_clips(fewer, [fresh(paths[0])])
    assert again.clips[-1].id == "clip-5"


def test_a_clip_keeps_an_angle_that_is_there_and_only_such() -> None:
    given_one, unknown = (
        replace(fresh("/s/a.mov"), angle_id="angle-1"),
        replace(fresh("/s/b.mov"), angle_id="gone"),
    )
    value, _ = shoot_edits.add_clips(shoot(clip(1)), [given_one, unknown])
    assert [c.angle_id for c in value.clips] == ["angle-1", "angle-1", "angle-2"]


def test_an_answer_fills_the_clip_and_gives_takes_ids_of_their_own() -> None:
    value, _ = shoot_edits.add_clips(Shoot(song=waltz()), [fresh("/s/a.mov"), fresh("/s/b.mov")])
    answer = replace(
        fresh("/s/b.mov"), duration_s=9.0, verdict=Verdict.PLACED, takes=(take("x", 0, 4), take("x", 5, 9))
    )
    value, change = shoot_edits.answer_clip(value, answer)
    assert change == Change.CLIPS | Change.TAKES
    second = value.clips[1]
    assert (second.id, second.angle_id, second.duration_s) == ("clip-2", "angle-2", 9.0)
    assert [t.id for t in second.takes] == ["clip-2-take-1", "clip-2-take-2"]
    assert shoot_edits.answer_clip(value, answer) == (value, NOTHING)


def test_an_answer_for_a_clip_or_song_that_is_gone_changes_nothing() -> None:
    value = shoot(clip(1))
    assert shoot_edits.answer_clip(value, fresh("/gone.mov")) == (value, NOTHING)
    late = clip(1, take("", 0, 5))
    assert shoot_edits.answer_clip(value, late, heard_on="other digest") == (value, NOTHING)
    assert shoot_edits.answer_clip(value, late, heard_on="00")[1] != NOTHING


@pytest.mark.parametrize("decision", [Decision.CONFIRMED, Decision.BY_HAND])
def test_an_answer_never_overwrites_what_a_person_decided(decision: Decision) -> None:
    mine = Take("clip-1-take-1", 10.0, 20.0, 3.0, decision=decision)
    value = shoot(clip(1, mine, Take("clip-1-take-2", 30.0, 40.0, 5.0)))
    found = (Take("", 10.1, 20.1, 15.0), Take("", 50.0, 60.0, 7.0, verdict=Verdict.DOUBTFUL, reason="Weak."))
    value, _ = shoot_edits.answer_clip(value, clip(1, *found, verdict=Verdict.DOUBTFUL, reason="Weak."))
    assert [(t.id, t.song_start_s) for t in value.clips[0].takes] == [
        ("clip-1-take-1", 3.0),
        ("clip-1-take-2", 7.0),
    ]
    assert value.clips[0].verdict is Verdict.DOUBTFUL
    value, _ = shoot_edits.answer_clip(value, clip(1, verdict=Verdict.NO_SONG, reason="Silence."))
    assert value.clips[0].takes == (mine,)
    assert value.clips[0].verdict is Verdict.PLACED
    value, _ = shoot_edits.answer_clip(value, clip(1, verdict=Verdict.UNREADABLE, reason="Cut off."))
    assert value.clips[0].takes == (mine,)
    assert (value.clips[0].verdict, value.clips[0].reason) == (Verdict.UNREADABLE, "Cut off.")


def test_no_song_said_by_a_person_outlives_an_answer() -> None:
    value, change = decisions.set_verdict_no_song(shoot(clip(1, take("t", 0, 5))), "clip-1", AT)
    assert change == Change.CLIPS | Change.TAKES
    assert (value.clips[0].verdict, value.clips[0].takes) == (Verdict.NO_SONG, ())
    assert value.clips[0].reason
    assert value.clips[0].decided == Decided(Deed.REFUSED, AT)
    value, change = shoot_edits.answer_clip(value, clip(1, take("t", 0, 5), duration_s=77.0))
    assert change == Change.CLIPS
    assert value.clips[0].decided == Decided(Deed.REFUSED, AT)
    assert (value.clips[0].verdict, value.clips[0].takes, value.clips[0].duration_s) == (
        Verdict.NO_SONG,
        (),
        77.0,
    )
    assert decisions.set_verdict_no_song(value, "clip-1", AT) == (value, NOTHING)


def test_a_recording_named_by_path_is_kept_by_id_and_survives_its_first_clip() -> None:
    value = shoot(clip(1), clip(2), clip(3))
    for n in (1, 2, 3):
        value, _ = shoot_edits.answer_clip(value, clip(n, recording="/shoot/clip_01.mov"))
    assert [c.recording for c in value.clips] == ["clip-1"] * 3
    value, _ = shoot_edits.remove_clips(value, ["clip-1"])
    assert [c.recording for c in value.clips] == ["clip-2"] * 2


def test_another_song_sends_clips_back_and_keeps_decisions_as_doubts() -> None:
    mine = take("m", 0, 5, decision=Decision.CONFIRMED)
    value = shoot(clip(1, take("t", 0, 5)), clip(2, mine), clip(3, verdict=Verdict.UNREADABLE, reason="Cut."))
    other = replace(waltz(), media=MediaRef("/new.wav", 1001, "11"))
    after, change = shoot_edits.set_song(value, other)
    assert change == Change.SONG | Change.MAP | Change.CLIPS | Change.TAKES
    assert [c.verdict for c in after.clips] == [Verdict.WAITING, Verdict.DOUBTFUL, Verdict.UNREADABLE]
    assert [len(c.takes) for c in after.clips] == [0, 1, 0]
    kept = after.clips[1].takes[0]
    assert (kept.verdict, kept.decision, kept.song_start_s) == (Verdict.DOUBTFUL, Decision.CONFIRMED, 0)
    moved, change = shoot_edits.set_song(value, replace(waltz(), media=MediaRef("/moved.wav", 1000, "00")))
    assert change == Change.SONG | Change.MAP
    assert moved.clips == value.clips
    assert shoot_edits.set_song(value, waltz()) == (value, NOTHING)


def test_the_same_recording_chosen_again_keeps_the_map_somebody_worked_on() -> None:
    value, _ = shoot_edits.set_map(shoot(clip(1, take("t", 0, 5))), SongMap(99.0, ones_s=(1.5,)))
    again, _ = shoot_edits.set_song(value, replace(waltz(), media=MediaRef("/moved.wav", 1000, "00")))
    assert again.song is not None
    assert again.song.media.path == "/moved.wav"
    assert again.song.map == SongMap(99.0, ones_s=(1.5,))
    assert shoot_edits.set_song(value, waltz()) == (value, NOTHING)


def test_a_map_needs_a_song() -> None:
    value, change = shoot_edits.set_map(shoot(), SongMap(99.0))
    assert (value.song and value.song.map.tempo_bpm, change) == (99.0, Change.MAP)
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
    one = Take("t", 0, 30, 10.0, verdict=Verdict.DOUBTFUL, reason="Twins.", rivals=rivals, lags=lags)
    return shoot(clip(1, one, verdict=Verdict.DOUBTFUL, reason="Twins."), clip(2, take("other", 0, 5)))


def test_confirming_settles_a_take_and_its_clip() -> None:
    value, change = decisions.confirm_take(doubtful(), "t", AT)
    one = value.clips[0].takes[0]
    assert (one.verdict, one.decision, one.reason, one.song_start_s) == (
        Verdict.PLACED,
        Decision.CONFIRMED,
        "",
        10.0,
    )
    assert (value.clips[0].verdict, value.clips[0].reason) == (Verdict.PLACED, "")
    assert change == Change.CLIPS | Change.TAKES
    assert decisions.confirm_take(value, "t", AT) == (value, NOTHING)


def test_a_clip_stays_doubtful_as_long_as_one_take_is() -> None:
    value = doubtful()
    second = replace(value.clips[0].takes[0], id="t2", clip_start_s=40, clip_end_s=60, reason="Weak.")
    value = replace(value, clips=(replace(value.clips[0], takes=(*value.clips[0].takes, second)),))
    value, change = decisions.confirm_take(value, "t", AT)
    assert (value.clips[0].verdict, change) == (Verdict.DOUBTFUL, Change.TAKES)


def test_choosing_a_rival_changes_places_with_it() -> None:
    value, _ = decisions.choose_rival(doubtful(), "t", 0, AT)
    one = value.clips[0].takes[0]
    assert (one.song_start_s, one.verdict, one.decision, one.lags) == (
        40.0,
        Verdict.PLACED,
        Decision.BY_HAND,
        (),
    )
    assert one.rivals == (Rival(10.0, pytest.approx(1.25), computed=True), Rival(80.0, pytest.approx(0.5)))
    back, _ = decisions.choose_rival(value, "t", 0, AT)
    assert back.clips[0].takes[0].song_start_s == 10.0
    assert back.clips[0].takes[0].decision is Decision.CONFIRMED, "it is the computed place"
    assert back.clips[0].takes[0].rivals == (Rival(40.0, pytest.approx(0.8)), Rival(80.0, pytest.approx(0.4)))
    assert decisions.confirm_take(value, "t", AT) == (value, NOTHING)  # by hand stays by hand
    for index in (-1, 2):
        with pytest.raises(IndexError):
            decisions.choose_rival(doubtful(), "t", index, AT)


def test_moving_a_take_by_hand_keeps_what_was_measured() -> None:
    value = doubtful()
    moved, change = decisions.move_take(value, "t", 10.25, AT)
    one, old = moved.clips[0].takes[0], value.clips[0].takes[0]
    assert (one.song_start_s, one.decision, one.verdict) == (10.25, Decision.BY_HAND, Verdict.PLACED)
    assert one.song_time(1.0) + one.lags[0].lag_s == pytest.approx(
        old.song_time(1.0) + old.lags[0].lag_s, abs=1e-12
    )
    assert change == Change.CLIPS | Change.TAKES
    assert decisions.move_take(value, "t", 10.0, AT) == (value, NOTHING)


def test_found_files_take_the_place_of_lost_ones() -> None:
    value = shoot(clip(1), clip(2))
    new = MediaRef("/found/b.mov", 1000, "00")
    after, change = shoot_edits.relink(value, {"/shoot/clip_02.mov": new})
    assert (after.clips[1].media, after.clips[0], change) == (new, value.clips[0], Change.CLIPS)
    song = MediaRef("/found/waltz.wav", 1000, "00")
    after, change = shoot_edits.relink(value, {"/shoot/waltz.wav": song})
    assert (after.song and after.song.media, change) == (song, Change.SONG)
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
        lambda s: decisions.confirm_take(s, "no", AT),
        lambda s: decisions.choose_rival(s, "no", 0, AT),
        lambda s: decisions.move_take(s, "no", 0, AT),
        lambda s: decisions.set_verdict_no_song(s, "no", AT),
    ],
)
def test_unknown_ids_are_told(edit: Callable[[Shoot], object]) -> None:
    with pytest.raises(KeyError, match="no"):
        edit(shoot(clip(1)))


def told(before: Shoot, after: Shoot) -> Change:
    """What changed between two shoots, by looking at them."""
    change = NOTHING
    old = {c.id: c for c in before.clips}
    new = {c.id: c for c in after.clips}
    if before.angles != after.angles:
        change |= Change.ANGLES
    if [replace(c, takes=()) for c in before.clips] != [replace(c, takes=()) for c in after.clips]:
        change |= Change.CLIPS
    if {i: c.takes for i, c in old.items() if c.takes} != {i: c.takes for i, c in new.items() if c.takes}:
        change |= Change.TAKES
    return change


@settings(max_examples=60)
@given(sensible_shoots(), st.data())
def test_every_edit_says_what_it_changed_and_keeps_the_document_whole(
    before: Shoot, data: st.DataObject
) -> None:
    clips, angles = [c.id for c in before.clips], [a.id for a in before.angles]
    takes = [t.id for c in before.clips for t in c.takes]
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
        lambda: decisions.set_verdict_no_song(before, data.draw(st.sampled_from(clips)), AT),
        lambda: shoot_edits.add_clips(
            before, [fresh(f"/n/{n}.mov") for n in data.draw(st.lists(st.integers(0, 3)))]
        ),
        lambda: shoot_edits.answer_clip(
            before, replace(data.draw(st.sampled_from(before.clips)), takes=(take("", 0, 3),))
        ),
    ]
    if takes:
        wishes.append(lambda: decisions.confirm_take(before, data.draw(st.sampled_from(takes)), AT))
        wishes.append(
            lambda: decisions.move_take(
                before, data.draw(st.sampled_from(takes)), data.draw(st.floats(0, 9)), AT
            )
        )
    after, change = data.draw(st.sampled_from(wishes))()
    seen = told(before, after)
    assert seen in change  # never more than was said
    assert bool(change) == (after != before)
    ids = [t.id for c in after.clips for t in c.takes]
    assert len(set(ids)) == len(ids)
    assert len({c.id for c in after.clips}) == len(after.clips)
    assert {c.angle_id for c in after.clips} <= {a.id for a in after.angles}
    for old in before.clips:
        decided = {t for t in old.takes if t.decision is not Decision.COMPUTED}
        now = next((c for c in after.clips if c.id == old.id), None)
        if now is not None and now.decision is Decision.COMPUTED:
            assert {t.id for t in decided} <= {t.id for t in now.takes}


def test_a_note_is_written_to_several_clips_and_taken_away() -> None:
    value, _ = shoot_edits.add_clips(Shoot(), [fresh("/s/a.mov"), fresh("/s/b.mov"), fresh("/s/c.mov")])
    noted, change = shoot_edits.set_note(value, ["clip-1", "clip-3"], "  second lens, a little soft ")
    assert change == Change.CLIPS
    assert [c.note for c in noted.clips] == ["second lens, a little soft", "", "second lens, a little soft"]
    assert shoot_edits.set_note(noted, ["clip-1"], "second lens, a little soft") == (noted, NOTHING)
    assert shoot_edits.set_note(noted, ["clip-1", "clip-3"], " ")[0] == value
    with pytest.raises(KeyError):
        shoot_edits.set_note(value, ["clip-9"], "x")


def test_several_clips_are_refused_in_one_edit() -> None:
    value, _ = shoot_edits.add_clips(
        Shoot(), [replace(fresh(f"/s/{name}.mov"), takes=(take("", 5.0, 50.0),)) for name in "abc"]
    )
    ids = [value.clips[0].id, value.clips[1].id]
    refused, change = shoot_edits.refuse_clips(value, ids, AT)
    assert change == Change.CLIPS | Change.TAKES
    assert all(c.verdict is Verdict.NO_SONG and not c.takes for c in refused.clips if c.id in ids)
    assert shoot_edits.refuse_clips(refused, ids, AT) == (refused, NOTHING)


def test_an_answer_leaves_note_record_and_frame_guide_as_they_are() -> None:
    value, _ = shoot_edits.add_clips(Shoot(), [fresh("/s/a.mov")])
    framed = replace(take("t", 5.0, 50.0), shift_x=0.25, shift_y=-0.5)
    old = replace(value.clips[0], note="dawn", takes=(framed,))
    value = replace(value, clips=(old,))
    answer = replace(fresh("/s/a.mov"), takes=(replace(take("new", 5.0, 50.0), song_start_s=99.0),))
    new, _ = shoot_edits.answer_clip(value, answer)
    assert new.clips[0].note == "dawn"
    assert (new.clips[0].takes[0].shift_x, new.clips[0].takes[0].shift_y) == (0.25, -0.5)
    refused, _ = decisions.set_verdict_no_song(value, old.id, AT)
    again, _ = shoot_edits.answer_clip(refused, answer)
    assert again.clips[0].decided == Decided(Deed.REFUSED, AT)
    assert again.clips[0].note == "dawn"
