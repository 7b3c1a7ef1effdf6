"""How the plan stands bar by bar, and what is said of it."""

from app.model.coverage.need_bars import SubjectBars, missing_remarks, open_starts, subject_bars
from app.model.coverage.needs import NeedState
from app.model.document.plan import Need, Passage
from app.model.document.song import FIRST_SONG
from app.model.edits import planning
from app.model.on_song import on_song
from tests.app.window.made_up import make_shoot

MET, PARTLY, UNMET = NeedState.MET, NeedState.PARTLY, NeedState.UNMET


def test_of_several_needs_for_one_subject_the_worst_counts_in_each_bar() -> None:
    shoot = make_shoot()
    for first, last, least in ((17, 20, 1), (19, 22, 9)):
        need = Need("", FIRST_SONG, Passage(first_bar=first, last_bar=last), "any angle", least_angles=least)
        shoot, _ = planning.add_need(shoot, need)
    (one,) = subject_bars(on_song(shoot))
    assert one.states == {17: MET, 18: MET, 19: PARTLY, 20: PARTLY, 21: PARTLY, 22: PARTLY}
    assert missing_remarks([one], 1, 20) == ("more angles needed in bars 19–20",)
    assert subject_bars(on_song(make_shoot())) == ()


def test_words_tell_what_is_missing_and_where() -> None:
    fiddle = SubjectBars("fiddle", {11: MET, 12: UNMET, 13: UNMET, 14: PARTLY, 20: UNMET})
    voice = SubjectBars("voice", {12: PARTLY})
    assert missing_remarks([fiddle, voice], 11, 16) == (
        "fiddle missing in bars 12–14",
        "more angles of voice needed in bar 12",
    )
    assert missing_remarks([fiddle], 20, 20, where=False) == ("fiddle missing",)
    assert missing_remarks([fiddle, voice], 1, 11) == ()


def test_what_is_missing_across_the_edge_of_a_section_begins_anew_there() -> None:
    fiddle = SubjectBars("fiddle", dict.fromkeys(range(6, 12), UNMET))
    voice = SubjectBars("voice", {7: PARTLY, 8: MET})
    assert open_starts([fiddle, voice], [(1, 8), (9, 16)]) == (6, 7, 9)
