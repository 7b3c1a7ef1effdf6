"""Sound and slate held against each other."""

from dataclasses import replace
from fractions import Fraction

import pytest

from audio.line import Line
from audio.pictures.code_check import checked
from audio.pictures.code_lines import CodeLine
from audio.pictures.slate_code import SlateCode
from audio.placement.answer import Placement, PlaceRival, PlaceVerdict, TakeFit
from audio.placement.reason_codes import Reason, ReasonCode

ELSEWHERE = Reason(ReasonCode.FITS_ELSEWHERE, (("places", 1.0),))
TAKE = TakeFit(Line(2.0, 40.0, 1.0), 60.0, 0.001, 1e-6, PlaceVerdict.PLACED, None, 50.0, (), ())
RIVAL = PlaceRival(90.0, 0.99, True)


def placement(take: TakeFit) -> Placement:
    return Placement(take.verdict, take.reason, (take,), 0)


def code(song_s: float, *, changes: int = 12, speed: float = 1.0) -> CodeLine:
    """A code line that says ``song_s`` at clip time 2."""
    line = Line(2.0, song_s, speed).anchored(3.0)
    said = SlateCode("0123ABCD", 40_000, Fraction(1), 1)
    return CodeLine(line, Fraction(1), (speed,), 0.01, changes, 0, 0.04, said, 2.0, 4.0)


def only(take: TakeFit, *codes: CodeLine) -> TakeFit:
    (out,) = checked(placement(take), codes).takes
    return out


def test_agreement_is_told() -> None:
    out = only(TAKE, code(40.02))
    assert out.verdict is PlaceVerdict.PLACED
    assert out.reason == Reason(ReasonCode.CODE_AGREES, (("off_s", -0.02),))


def test_contradiction_is_a_doubt() -> None:
    answer = checked(placement(TAKE), [code(52.5)])
    assert answer.verdict is PlaceVerdict.DOUBTFUL
    assert answer.reason == Reason(ReasonCode.CODE_CONTRADICTS, (("off_s", 12.5),))


def test_another_speed_is_a_contradiction() -> None:
    assert only(TAKE, code(40.0, speed=0.5)).verdict is PlaceVerdict.DOUBTFUL


def test_the_code_decides_between_places() -> None:
    doubtful = replace(TAKE, verdict=PlaceVerdict.DOUBTFUL, reason=ELSEWHERE, rivals=(RIVAL,))
    answer = checked(placement(doubtful), [code(40.02)])
    (out,) = answer.takes
    assert (answer.verdict, answer.reason) == (PlaceVerdict.PLACED, None)
    assert (out.song_start_s, out.rivals) == (40.0, (RIVAL._replace(open=False),))
    assert out.reason is not None
    assert out.reason.code is ReasonCode.CODE_DECIDES


def test_the_code_may_speak_for_a_rival_and_a_person_looks() -> None:
    doubtful = replace(TAKE, verdict=PlaceVerdict.DOUBTFUL, reason=ELSEWHERE, rivals=(RIVAL,))
    out = only(doubtful, code(90.03))
    assert (out.song_start_s, out.verdict) == (90.0, PlaceVerdict.DOUBTFUL)
    assert out.rivals[0].song_start_s == 40.0


@pytest.mark.parametrize("reason", [ReasonCode.LOUD_ECHO, ReasonCode.CLOCK_UNCLEAR])
def test_doubts_about_milliseconds_stay(reason: ReasonCode) -> None:
    doubtful = replace(TAKE, verdict=PlaceVerdict.DOUBTFUL, reason=Reason(reason))
    assert only(doubtful, code(40.02)) == doubtful


def test_codes_that_are_not_sure_or_elsewhere_in_the_clip_say_nothing() -> None:
    given = placement(TAKE)
    assert checked(given, [code(52.5, changes=3)]) is given
    late = replace(code(52.5), first_s=80.0, last_s=84.0)
    assert checked(given, [late]) is given
    assert checked(given, []) is given


def test_a_page_that_was_started_by_hand_is_not_held_against_sound() -> None:
    by_hand = code(40.4)
    assert only(TAKE, by_hand).verdict is PlaceVerdict.DOUBTFUL
    assert only(TAKE, replace(by_hand, code=replace(by_hand.code, by_hand=True))) == TAKE
