"""Carried takes held against the sound: agreed, in doubt or kept unheard, never lost; undo is not touched."""

from dataclasses import replace

import pytest

from app.model.answers import Answer
from app.model.document.clip import FileFacts
from app.model.document.findings import Rival, TakePlacement
from app.model.document.history import History
from app.model.document.masters import MasterPiece
from app.model.document.shoot import Shoot
from app.model.document.verdict import Verdict
from app.model.edits import deciding, shoot_edits
from app.model.edits.renewing import renew
from app.model.on_song import Take, on_song
from app.model.reasons import Reason, sentence
from app.model.renewing.carried_reasons import BY_CODE, ELSEWHERE, HERE, NOT_HEARD, NOT_YET
from app.model.renewing.what_changes import heard_words, unheard
from tests.app.model.renewing.test_renewing import AT, CLIP, next_master, shoot

LEAD = [MasterPiece(0.0, 80.0, 4.0)]
WHOLE = TakePlacement(5.0, 85.0, 4.0, uncertainty_s=0.001, verdict=Verdict.PLACED)
"""As the clip of the whole song is heard on the next master."""


def carried() -> Shoot:
    """The shoot on a master with a lead-in of four seconds more, nothing heard on it yet."""
    return renew(shoot(), next_master(84.0), LEAD, AT)[0]


def heard(now: Shoot, *takes: TakePlacement, verdict: Verdict = Verdict.PLACED) -> Shoot:
    answer = Answer(CLIP, FileFacts(90.0), verdict=verdict, takes=takes)
    return shoot_edits.answer_clip(now, answer, heard_on="next")[0]


def only(now: Shoot) -> Take:
    (take,) = on_song(now).clips[0].takes
    return take


def test_what_is_heard_where_it_was_carried_to_is_placed() -> None:
    now = carried()
    assert unheard(now) == {"clip-1", "clip-2"}
    assert only(now).reason.code == NOT_YET
    now = heard(now, replace(WHOLE, song_start_s=4.0004))
    take = only(now)
    assert (take.verdict, take.reason.code, take.song_start_s) == (Verdict.PLACED, HERE, 4.0004)
    assert "heard here, 0.4 ms off" in sentence(take.reason)
    assert unheard(now) == {"clip-2"}
    assert heard_words(on_song(now)).startswith(
        "2 takes carried over: 1 heard where they were carried to, 1 still"
    )
    # Comparing clips may answer once more; that says the same.
    again = heard(now, replace(WHOLE, song_start_s=4.0005))
    assert (only(again).verdict, only(again).reason.code) == (Verdict.PLACED, HERE)


@pytest.mark.parametrize("code", ["fits elsewhere", "faint", "leap"])
def test_two_witnesses_settle_what_sound_alone_leaves_open(code: str) -> None:
    doubtful = replace(WHOLE, verdict=Verdict.DOUBTFUL, reason=Reason(code), uncertainty_s=0.012)
    take = only(heard(carried(), doubtful))
    assert (take.verdict, take.reason.code, take.uncertainty_s) == (Verdict.PLACED, HERE, 0.001)
    # It was heard in a place that the next master has twice; the carried one is among the two.
    rival = Rival(4.0003, 0.99, as_well=True)
    take = only(heard(carried(), replace(doubtful, song_start_s=44.0, rivals=(rival,))))
    assert (take.verdict, take.song_start_s) == (Verdict.PLACED, 4.0)
    assert [one.song_start_s for one in take.rivals] == [44.0]


DOUBLED = [
    MasterPiece(0.0, 40.0, 0.0),
    MasterPiece(20.0, 40.0, 40.0, again=True),
    MasterPiece(40.0, 80.0, 60.0),
]
"""The chorus from 20 to 40 s comes twice."""


def test_a_take_that_goes_on_from_what_was_doubled_stays_whole() -> None:
    """As far as it can: where it begins in the chorus, it lies on the second one, and so it is heard."""
    chorus = TakePlacement(5.0, 25.0, 20.0, verdict=Verdict.PLACED)
    before = shoot_edits.answer_clip(
        shoot(),
        Answer(CLIP, FileFacts(90.0), verdict=Verdict.PLACED, takes=(replace(chorus, clip_end_s=60.0),)),
    )[0]
    now, _ = renew(before, next_master(100.0), DOUBLED, AT)
    assert only(now).song_start_s == 40.0
    # One of the chorus alone has two places that are as good, heard on either.
    before = shoot_edits.answer_clip(
        shoot(), Answer(CLIP, FileFacts(90.0), verdict=Verdict.PLACED, takes=(chorus,))
    )[0]
    now, _ = renew(before, next_master(100.0), DOUBLED, AT)
    assert (only(now).song_start_s, [one.song_start_s for one in only(now).rivals]) == (20.0, [40.0])
    for at_s in (20.0003, 40.0003):
        take = only(heard(now, replace(chorus, song_start_s=at_s)))
        assert (take.verdict, take.reason.code, take.song_start_s) == (Verdict.PLACED, HERE, at_s)
    assert only(heard(now, replace(chorus, song_start_s=60.0))).reason.code == ELSEWHERE


def test_a_take_from_before_what_was_doubled_is_heard_on_the_second_and_nothing_is_lost() -> None:
    """It begins a little before the chorus; the sound says the second chorus and what follows."""
    take = TakePlacement(5.0, 48.0, 17.0, verdict=Verdict.PLACED)
    answer = Answer(CLIP, FileFacts(90.0), verdict=Verdict.PLACED, takes=(take,))
    before, _ = shoot_edits.answer_clip(shoot(), answer)
    now, _ = renew(before, next_master(100.0), DOUBLED, AT)
    assert [one.song_start_s for one in on_song(now).clips[0].takes] == [17.0, 60.0]
    now = heard(now, TakePlacement(8.0, 48.0, 40.0, verdict=Verdict.PLACED))
    first, second = on_song(now).clips[0].takes
    assert (second.clip_start_s, second.clip_end_s, second.song_start_s) == (8.0, 48.0, 40.0)
    assert (second.verdict, second.reason.code) == (Verdict.PLACED, HERE)
    assert (first.clip_start_s, first.clip_end_s, first.song_start_s) == (5.0, 8.0, 17.0)
    assert first.reason.code == NOT_HEARD


def test_what_was_cut_is_not_placed_where_it_only_sounds_alike() -> None:
    pieces = [MasterPiece(0.0, 40.0, 0.0), MasterPiece(60.0, 80.0, 40.0)]
    now, _ = renew(shoot(), next_master(60.0), pieces, AT)
    takes = (TakePlacement(5.0, 45.0, 0.0), TakePlacement(46.0, 64.0, 21.0), TakePlacement(65.0, 85.0, 40.0))
    found = on_song(heard(now, *takes)).clips[0].takes
    assert [one.reason.code for one in found] == [HERE, "cut, heard here", HERE]
    assert found[1].verdict is Verdict.DOUBTFUL


def test_a_soft_end_reaches_as_far_as_either_tells() -> None:
    take = only(heard(carried(), replace(WHOLE, clip_start_s=6.0, song_start_s=5.0003, clip_end_s=83.0)))
    assert (take.clip_start_s, take.clip_end_s) == (5.0, 85.0)
    assert take.song_start_s == pytest.approx(4.0003)


def test_a_rival_that_was_ruled_out_stays_so() -> None:
    """What the sound alone had left open on the old master is no second place on the new one."""
    rival = Rival(40.0, 1.0, as_well=True)
    placed = TakePlacement(5.0, 25.0, 0.0, verdict=Verdict.PLACED, rivals=(rival,))
    before = shoot_edits.answer_clip(
        shoot(), Answer(CLIP, FileFacts(90.0), verdict=Verdict.PLACED, takes=(placed,))
    )[0]
    now, _ = renew(before, next_master(84.0), LEAD, AT)
    doubtful = replace(
        placed, song_start_s=44.0, rivals=(), verdict=Verdict.DOUBTFUL, reason=Reason("fits elsewhere")
    )
    take = only(heard(now, doubtful))
    assert (take.verdict, take.reason.code, take.song_start_s) == (Verdict.DOUBTFUL, ELSEWHERE, 4.0)


def test_what_other_clips_say_against_it_stays_in_doubt() -> None:
    said = Reason("contradicted", (("clip", "b.mov"), ("off_s", 0.5)))
    take = only(heard(carried(), replace(WHOLE, verdict=Verdict.DOUBTFUL, reason=said)))
    assert (take.verdict, take.reason) == (Verdict.DOUBTFUL, said)


def test_what_is_heard_elsewhere_is_in_doubt_with_both_places() -> None:
    now = heard(carried(), replace(WHOLE, song_start_s=4.3))
    take = only(now)
    assert (take.verdict, take.reason.code, take.song_start_s) == (Verdict.DOUBTFUL, ELSEWHERE, 4.0)
    assert [one.song_start_s for one in take.rivals] == [4.3]
    assert "heard 0.300 s later" in sentence(take.reason)
    assert "Look at those in doubt in Check" in heard_words(on_song(now))
    # Asked once more it is not suddenly right.
    assert only(heard(now, replace(WHOLE, song_start_s=4.3))).reason.code == ELSEWHERE


def test_what_is_not_heard_is_kept() -> None:
    now = heard(carried(), verdict=Verdict.NO_SONG)
    take = only(now)
    assert (take.verdict, take.reason.code, take.song_start_s) == (Verdict.DOUBTFUL, NOT_HEARD, 4.0)
    assert not unheard(now) & {"clip-1"}
    # Beside it, what was heard of the rest of the clip.
    beside = TakePlacement(86.0, 90.0, 0.0, verdict=Verdict.PLACED)
    assert len(on_song(heard(carried(), beside)).clips[0].takes) == 2


def test_a_file_that_cannot_be_read_now_is_heard_later() -> None:
    now = carried()
    assert heard(now, verdict=Verdict.UNREADABLE) is now
    assert unheard(now) == {"clip-1", "clip-2"}


def test_a_silent_clip_stays_placed_by_the_code_of_the_earlier_master() -> None:
    answer = Answer(CLIP, FileFacts(90.0), verdict=Verdict.NO_SONG, reason=Reason("code of another song"))
    take = only(shoot_edits.answer_clip(carried(), answer, heard_on="next")[0])
    assert (take.verdict, take.reason.code, take.song_start_s) == (Verdict.PLACED, BY_CODE, 4.0)


def test_a_take_that_was_split_is_heard_part_by_part() -> None:
    pieces = [MasterPiece(0.0, 40.0, 0.0), MasterPiece(60.0, 80.0, 40.0)]
    now, _ = renew(shoot(), next_master(60.0), pieces, AT)
    first, second = (TakePlacement(5.0, 45.0, 0.0), TakePlacement(64.9, 85.0, 39.9))
    now = heard(now, first, replace(second, verdict=Verdict.DOUBTFUL, reason=Reason("leap")))
    assert [one.reason.code for one in on_song(now).clips[0].takes] == [HERE, HERE]
    # One line over both, as if nothing had been cut: right before the cut, not behind it.
    now = heard(renew(shoot(), next_master(60.0), pieces, AT)[0], replace(WHOLE, song_start_s=0.0))
    assert [one.reason.code for one in on_song(now).clips[0].takes] == [HERE, ELSEWHERE]


def test_a_decided_take_says_whether_it_was_heard_and_stays() -> None:
    decided, _ = deciding.confirm_take(shoot(), on_song(shoot()).clips[0].takes[0].id, AT)
    now, _ = renew(decided, next_master(84.0), LEAD, AT)
    for answer, code in (
        ((replace(WHOLE, song_start_s=4.0004),), HERE),
        ((replace(WHOLE, song_start_s=4.3),), ELSEWHERE),
        ((), NOT_HEARD),
    ):
        take = only(heard(now, *answer, verdict=Verdict.PLACED if answer else Verdict.NO_SONG))
        assert (take.verdict, take.song_start_s) == (Verdict.PLACED, 4.0), "a person said so"
        assert take.reason.code == code


def test_what_is_heard_after_it_does_not_reach_the_shoot_before() -> None:
    before = shoot()
    history = History(before)
    history.push("Replace", *renew(before, next_master(84.0), LEAD, AT))
    answer = Answer(CLIP, FileFacts(90.0), verdict=Verdict.PLACED, takes=(WHOLE,))
    history.apply_everywhere(lambda one: shoot_edits.answer_clip(one, answer, heard_on="next"))
    assert only(history.shoot).reason.code == HERE
    history.undo()
    assert history.shoot == before
    history.redo()
    assert only(history.shoot).reason.code == HERE
