"""How the plan stands bar by bar, and what is said of it."""

from app.model.coverage.need_bars import SubjectBars, missing_remarks, open_starts, subject_bars
from app.model.coverage.needs import NeedState
from app.model.document.plan import Need, Passage
from tests.app.model.coverage.test_needs import view

MET, PARTLY, UNMET = NeedState.MET, NeedState.PARTLY, NeedState.UNMET


def test_of_several_needs_for_one_subject_the_worst_counts_in_each_bar() -> None:
    """Three angles show bars 5 to 7, two bar 8, one the rest."""
    needs = (
        Need("n1", "song-1", Passage(first_bar=5, last_bar=8), "any angle", least_angles=2),
        Need("n2", "song-1", Passage(first_bar=7, last_bar=10), "Any angle", least_angles=3),
    )
    (one,) = subject_bars(view(*needs))
    assert one.states == {5: MET, 6: MET, 7: MET, 8: PARTLY, 9: PARTLY, 10: PARTLY}
    assert missing_remarks([one], 1, 9) == ("more angles needed in bars 8–9",)
    assert subject_bars(view()) == ()


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
