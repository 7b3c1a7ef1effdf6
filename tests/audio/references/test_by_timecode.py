"""Timecode beside sound: what it decides, what it contradicts, and whose a stretch is then."""

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest

from audio.files.media import Sound, TimecodeChannel
from audio.kit.ltc_sound import ltc_sound
from audio.kit.ltc_words import Label
from audio.line import Line
from audio.placement.answer import PlaceRival, PlaceVerdict, TakeFit
from audio.placement.reason_codes import Reason, ReasonCode
from audio.references.by_timecode import held_to_timecode, stretches_in
from audio.references.one_song import one_song
from audio.references.reference import Reference, TimeBase, Told
from tests.audio.references.test_contests import NAMES, judged, take, weak

RATE, FRAMES = 8000, Fraction(25)
BASE = TimeBase(25 * 3600, 2.0, FRAMES, 0xBEEF, 60.0)
"""01:00:00:00 begins 2 s into a file of a minute."""
CODE = Reason(ReasonCode.BY_TIMECODE, (("frames", 500.0),))


def by_code(song: str, start_s: float, end_s: float, song_start_s: float = 30.0) -> Told:
    """A take that timecode alone tells."""
    one = take(song, start_s, end_s, 60.0)
    fit = replace(one.fit, line=Line(start_s, song_start_s, 1.0), reason=CODE, uncertainty_s=0.02)
    return Told(song, f"file of {song}", fit, fit)


def channel(
    first: int, count: int, begin_s: float, user: int
) -> np.ndarray[tuple[int], np.dtype[np.float32]]:
    """Timecode from a frame of the file's labels on, 20 s in all, silence around."""
    labels = [Label(1, 0, number // 25, number % 25) for number in range(first, first + count)]
    sound = ltc_sound(labels, FRAMES, rate=48_000, begin_s=begin_s, length=20 * 48_000, user=user)
    return np.asarray(sound.reshape(-1, 6).mean(axis=1), np.float32)


def test_a_stretch_with_a_hole_is_one_and_other_timecode_is_none() -> None:
    """The radio link lets two seconds go."""
    both = channel(100, 150, 3.0, 0xBEEF) + channel(300, 150, 11.0, 0xBEEF)
    files = [Reference("file", "file.wav", (), BASE)]

    def found(samples: np.ndarray[tuple[int], np.dtype[np.float32]]) -> dict[str, list[object]]:
        sound = Sound(
            np.zeros((1, 20 * RATE), np.float32), RATE, 0.0, ("a",), timecode=(TimecodeChannel(samples, 0.5),)
        )
        return dict(stretches_in(sound, files))

    (one,) = found(both)["file"]
    assert (one.start_s, one.end_s) == pytest.approx((3.5, 17.5), abs=0.06)
    # Frame 100 begins 4 s after the first label, which is 2 s into the file.
    assert one.line.song_time(3.5) == pytest.approx(6.0, abs=0.0005)
    assert one.line.speed == pytest.approx(1.0, abs=1e-4)
    assert found(channel(100, 250, 3.0, 0)) == {}
    assert found(channel(100, 25, 3.0, 0xBEEF)) == {}


def test_timecode_decides_between_places_and_contradicts() -> None:
    code = by_code("s1", 0.0, 30.0).fit
    sure = take("s1", 0.0, 30.0).fit
    rivals = (PlaceRival(70.0, 0.98, True),)
    elsewhere = replace(
        sure, verdict=PlaceVerdict.DOUBTFUL, reason=Reason(ReasonCode.FITS_ELSEWHERE), rivals=rivals
    )

    def told(one: TakeFit | None) -> tuple[PlaceVerdict, ReasonCode]:
        assert one is not None
        assert one.reason is not None
        return one.verdict, one.reason.code

    assert told(held_to_timecode(sure, code)) == (PlaceVerdict.PLACED, ReasonCode.TIMECODE_AGREES)
    decided = held_to_timecode(elsewhere, code)
    assert told(decided) == (PlaceVerdict.PLACED, ReasonCode.TIMECODE_DECIDES)
    assert decided is not None
    assert not any(rival.open for rival in decided.rivals)
    off = held_to_timecode(replace(sure, line=Line(0.0, 48.0, 1.0)), code)
    assert told(off) == (PlaceVerdict.DOUBTFUL, ReasonCode.TIMECODE_CONTRADICTS)
    assert off is not None
    assert off.rivals[0] == PlaceRival(30.0, 1.0, True)
    faint = replace(weak("s1", 0.0, 30.0, 12.0).fit, line=Line(0.0, 48.0, 1.0))
    assert held_to_timecode(faint, code) is None


def test_of_one_song_what_is_heard_is_held_to_it() -> None:
    code = by_code("s1", 0.0, 30.0)
    references = {"s1": Reference("s1", "waltz.wav"), code.reference: Reference(code.reference, "f", ())}
    (one,) = one_song([take("s1", 4.0, 30.0), code], references)
    assert one.fit.reason is not None
    assert one.fit.reason.code is ReasonCode.TIMECODE_CONTRADICTS  # 4 s later in the clip, at the same place
    near = take("s1", 4.0, 30.0)
    near = replace(near, fit=replace(near.fit, line=Line(4.0, 34.003, 1.0)))
    (one,) = one_song([near, code], references)
    assert (one.fit.verdict, one.fit.clip_start_s, one.reference) == (PlaceVerdict.PLACED, 0.0, "s1")


def test_whose_a_stretch_is() -> None:
    code = by_code("s1", 0.0, 30.0)
    assert judged([code, weak("s2", 5.0, 25.0, 15.0)]) == [code]
    (other,) = judged([code, take("s2", 5.0, 25.0)])
    assert (other.song, other.fit.verdict) == ("s2", PlaceVerdict.DOUBTFUL)
    assert other.fit.reason == Reason(ReasonCode.TIMECODE_CONTRADICTS, (("song", NAMES["s1"]),))
    agreed = replace(code.fit, reason=Reason(ReasonCode.TIMECODE_AGREES, (("off_s", 0.0),)))
    backed = replace(code, fit=agreed)
    assert judged([backed, take("s2", 5.0, 25.0)]) == [backed]
