"""The rules of judging, on answers made up for them."""

import numpy as np
import pytest

from audio.files.media import Sound
from tests.quality.judging import Fit, Score, judge, judge_pair
from tests.quality.scene import Example, Take
from tests.quality.songs import ENGINE_RATE


def _example(takes: tuple[Take, ...]) -> Example:
    sound = Sound(np.zeros((1, 8), dtype=np.float32), ENGINE_RATE, 0.0, ("track 1, channel 1",))
    return Example(sound, takes)


def _judged(takes: tuple[Take, ...], fits: list[Fit], kind: str = "pick-up") -> Score:
    result = Score("x", "x", kind, "-", False)
    verdict = "placed" if any(fit.placed for fit in fits) else "doubtful" if fits else "no song"
    judge(result, _example(takes), fits, verdict)
    return result


def test_answers_are_judged_by_the_rules() -> None:
    take = Take(5.0, 25.0, 40.0, 1.0)
    exact = Fit(5.0, 25.0, 40.0, 1.0, 0.001, placed=True)
    assert _judged((take,), [exact]).right == 1
    assert _judged((take,), [Fit(6.0, 25.0, 41.0, 1.0, 0.001, placed=True)]).ends_s == [1.0, 0.0]
    assert _judged((take,), [Fit(5.0, 25.0, 40.021, 1.0, 0.001, placed=True)]).wrong == 1
    assert _judged((take,), [Fit(5.0, 25.0, 40.0, 1.0011, 0.001, placed=True)]).wrong == 1
    assert _judged((take,), [Fit(5.0, 12.0, 40.0, 1.0, 0.001, placed=True)]).missed == 1
    assert _judged((take,), []).missed == 1
    assert _judged((), []).refused == 1
    assert _judged((), [exact]).wrong == 1
    assert _judged((take,), [exact, Fit(30.0, 40.0, 0.0, 1.0, 0.001, placed=True)]).wrong == 1


def test_doubts_are_judged_by_their_rivals() -> None:
    take = Take(0.0, 8.0, 40.0, 1.0, likeness=1.0, twins=(60.0,))
    first = _judged((take,), [Fit(0.0, 8.0, 40.0, 1.0, 0.001, placed=False, rivals=(60.0,))], "twin")
    listed = _judged((take,), [Fit(0.0, 8.0, 60.0, 1.0, 0.001, placed=False, rivals=(40.0,))], "twin")
    neither = _judged((take,), [Fit(0.0, 8.0, 60.0, 1.0, 0.001, placed=False, rivals=(50.0,))], "twin")
    lucky = _judged((take,), [Fit(0.0, 8.0, 40.0, 1.0, 0.001, placed=True)], "twin")
    assert (first.doubtful, first.first, first.fair_doubts) == (1, 1, 1)
    assert (listed.doubtful, listed.listed) == (1, 1)
    assert (neither.doubtful, neither.first, neither.listed) == (1, 0, 0)
    assert (lucky.right, lucky.wrong) == (0, 1)


def test_where_there_is_hardly_a_song_none_found_is_a_fair_doubt() -> None:
    take = Take(0.0, 30.0, 0.0, 1.0)
    none = _judged((take,), [], "click only")
    assert (none.missed, none.doubtful, none.fair_doubts) == (0, 1, 1)
    assert _judged((take,), [Fit(0.0, 30.0, 5.0, 1.0, 0.001, placed=True)], "click only").wrong == 1


def test_an_end_too_faint_to_hear_may_be_told_anywhere_in_it() -> None:
    take = Take(5.0, 65.0, 0.0, 1.0, faint_s=(20.0, 3.0))
    ends = [(5.0, 65.0), (24.0, 62.0), (26.0, 61.5), (4.0, 66.0)]
    told = [_judged((take,), [Fit(a, b, a - 5.0, 1.0, 0.001, placed=True)]).ends_s for a, b in ends]
    assert told == [[0.0, 0.0], [0.0, 0.0], [1.0, -0.5], [-1.0, 1.0]]
    # Half of what can be heard, 37 s, must be found.
    assert [
        _judged((take,), [Fit(a, 62.0, a - 5.0, 1.0, 0.001, placed=True)]).right for a in (43.0, 44.0)
    ] == [1, 0]


def test_two_cameras_agree_within_what_both_state() -> None:
    """The second clip begins 2 s later; its place is 3 ms off, the first's 1 ms the other way."""
    one, two = Take(5.0, 65.0, 0.0, 1.0), Take(3.0, 63.0, 0.0, 1.0)
    fits = [Fit(5.0, 65.0, -0.001, 1.0, 0.001, placed=True)]
    for stated, agree in ((0.001, False), (0.0035, True)):
        result = Score("x", "x", "two cameras", "-", False)
        others = [Fit(3.0, 63.0, 0.003, 1.0, stated, placed=True)]
        judge_pair(result, _example((one,)), fits, _example((two,)), others)
        assert result.apart_ms == [pytest.approx(4.0)]
        assert result.agree == [agree]
