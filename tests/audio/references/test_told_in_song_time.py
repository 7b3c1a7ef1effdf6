"""Takes found on playback files told in song time, and several references telling of one song."""

from dataclasses import replace

import pytest

from audio.line import Line
from audio.placement.answer import PlaceRival, PlaceVerdict, TakeFit
from audio.placement.reason_codes import Reason, ReasonCode
from audio.references.one_song import one_song
from audio.references.reference import Piece, Reference, Told, told

NAMES = {"s1": "waltz.wav", "s2": "march.wav"}
SONG = Reference("s1", "waltz.wav")
COUNTED_IN = Reference("p1", "count-in.wav", (Piece("s1", 4.0, 64.0, Line(4.0, 0.0, 1.25), 0.0003),))
IN_A_ROW = Reference(
    "p2",
    "evening.wav",
    (
        Piece("s1", 0.0, 60.0, Line(0.0, 0.0, 1.0)),
        Piece("s2", 70.0, 100.0, Line(70.0, 10.0, 1.0)),
        Piece("s1", 110.0, 170.0, Line(110.0, 0.0, 1.0)),
    ),
)


def fit(
    start_s: float,
    end_s: float,
    at_s: float,
    speed: float = 1.0,
    uncertainty_s: float = 0.0004,
    **more: object,
) -> TakeFit:
    """A placed take from one clip time to another, ``at_s`` in the reference at its start."""
    line, lags = Line(start_s, at_s, speed), ((start_s, 2e-5, 9.0),)
    made = TakeFit(line, end_s, uncertainty_s, 1e-6, PlaceVerdict.PLACED, None, 80.0, (), lags)
    return replace(made, **more)  # type: ignore[arg-type]


def doubtful(one: TakeFit, strength: float = 30.0) -> TakeFit:
    return replace(one, verdict=PlaceVerdict.DOUBTFUL, reason=Reason(ReasonCode.FAINT), strength=strength)


def on(reference: Reference, take: TakeFit) -> Told:
    (one,) = told(take, reference, NAMES)
    return one


def test_the_line_of_a_piece_is_composed_with_the_take_s() -> None:
    one = on(COUNTED_IN, fit(2.0, 22.0, 10.0, 1.0001))
    assert one.song == "s1"
    assert one.fit.heard_on == "p1"
    # 10 s into the file are 6 s into the piece, at 1.25 seconds of song to a second of playback.
    assert one.fit.song_start_s == pytest.approx(7.5)
    assert one.fit.speed == pytest.approx(1.25 * 1.0001)
    assert one.fit.uncertainty_s == pytest.approx(((1.25 * 0.0004) ** 2 + 0.0003**2) ** 0.5)
    assert one.fit.lags[0][1] == pytest.approx(1.25 * 2e-5)
    assert one.found.song_start_s == 10.0


def test_a_take_is_cut_to_its_piece_and_split_at_borders() -> None:
    one = on(COUNTED_IN, fit(0.0, 20.0, 0.0))
    assert (one.fit.clip_start_s, one.fit.clip_end_s, one.fit.song_start_s) == pytest.approx((4.0, 20.0, 0.0))
    first, second, third = told(fit(0.0, 170.0, 0.0), IN_A_ROW, NAMES)
    assert [part.song for part in (first, second, third)] == ["s1", "s2", "s1"]
    assert (second.fit.clip_start_s, second.fit.clip_end_s, second.fit.song_start_s) == (70.0, 100.0, 10.0)
    assert (third.fit.clip_start_s, third.fit.song_start_s) == (110.0, 0.0)


def test_the_same_moment_twice_on_a_playback_file_is_no_doubt() -> None:
    rivals = (PlaceRival(120.0, 1.0, True),)
    why = Reason(ReasonCode.FITS_ELSEWHERE, (("places", 1),))
    take = fit(0.0, 20.0, 10.0, rivals=rivals, verdict=PlaceVerdict.DOUBTFUL, reason=why)
    one = on(IN_A_ROW, take).fit
    assert (one.verdict, one.reason, one.rivals) == (PlaceVerdict.PLACED, None, ())
    # Elsewhere in the song it is one, in another song it is told by name, and before the song nobody knows.
    one = on(IN_A_ROW, replace(take, rivals=(PlaceRival(130.0, 1.0, True),))).fit
    assert one.verdict is PlaceVerdict.DOUBTFUL
    assert one.rivals[0].song_start_s == pytest.approx(20.0)
    one = on(IN_A_ROW, replace(take, rivals=(PlaceRival(75.0, 1.0, True),))).fit
    assert one.reason == Reason(ReasonCode.OTHER_SONG_AS_WELL, (("song", "march.wav"),))
    one = on(IN_A_ROW, replace(take, rivals=(PlaceRival(190.0, 1.0, True),))).fit
    assert one.verdict is PlaceVerdict.DOUBTFUL


BOTH = {"s1": SONG, "p1": COUNTED_IN}


def test_two_that_agree_are_one_take_the_surer_one() -> None:
    by_file, by_song = on(COUNTED_IN, fit(2.0, 22.0, 10.0)), on(SONG, fit(2.0, 22.0, 7.501, 1.25, 0.015))
    assert one_song([by_song, by_file], BOTH) == [by_file]
    # Found by onsets, a stretched file may be off by what stretching moved them.
    by_song = on(SONG, fit(2.0, 22.0, 7.52, 1.25, 0.002))
    assert one_song([by_song, by_file], BOTH) == [by_file]


def test_what_the_longer_one_has_beyond_is_kept() -> None:
    by_file, by_song = on(COUNTED_IN, fit(2.0, 22.0, 10.0)), on(SONG, fit(2.0, 40.0, 7.5, 1.25, 0.015))
    first, second = one_song([by_song, by_file], BOTH)
    assert first == by_file
    assert (second.fit.clip_start_s, second.fit.clip_end_s) == (22.0, 40.0)


def test_two_that_disagree_are_in_doubt_and_a_weak_doubt_is_not_heard() -> None:
    by_file, by_song = on(COUNTED_IN, fit(2.0, 22.0, 10.0)), on(SONG, fit(2.0, 22.0, 9.5, 1.25, 0.002))
    (one,) = one_song([by_song, by_file], BOTH)
    assert one.fit.verdict is PlaceVerdict.DOUBTFUL
    assert one.fit.reason == Reason(ReasonCode.PLAYBACK_DISAGREES, (("off_s", 2.0), ("with", "waltz.wav")))
    assert one.fit.rivals[-1].song_start_s == pytest.approx(9.5)
    weak = replace(by_song, fit=doubtful(by_song.fit))
    assert one_song([weak, by_file], BOTH) == [by_file]


def test_a_file_that_holds_one_of_two_like_passages_does_not_decide_between_them() -> None:
    by_file = on(COUNTED_IN, fit(2.0, 22.0, 10.0))
    open_there = doubtful(fit(3.0, 22.0, 8.75, 1.25, rivals=(PlaceRival(38.75, 1.0, True),)), 75.0)
    (one,) = one_song([on(SONG, open_there), by_file], BOTH)
    assert one.fit.verdict is PlaceVerdict.DOUBTFUL
    assert one.fit.rivals[0].song_start_s == pytest.approx(37.5)
    # Where the file fits far better, it is what was heard.
    (one,) = one_song([on(SONG, replace(open_there, strength=30.0)), by_file], BOTH)
    assert one == by_file


def test_a_snippet_of_the_song_beside_a_stretched_file_is_not_heard() -> None:
    by_file = on(COUNTED_IN, fit(2.0, 22.0, 10.0, strength=150.0))
    snippet = on(SONG, replace(fit(2.0, 9.0, 40.0), strength=30.0))
    assert one_song([by_file, snippet], BOTH) == [by_file]
