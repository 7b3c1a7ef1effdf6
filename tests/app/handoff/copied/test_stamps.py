"""Where clips begin on the clock of timecode: exact, at every rate, before the hour and over midnight."""

import math
from dataclasses import replace
from fractions import Fraction

import opentimelineio as otio
import pytest
from hypothesis import given
from hypothesis import strategies as st
from timecode import Timecode

from app.handoff.copied.stamps import Begin, PictureStamp, begin_at, picture_stamp, sound_stamp
from app.handoff.layout import lay_out
from app.handoff.outcome import HandoffError
from app.model.on_song import SongView, Take
from app.model.timebase import DROP_FRAME_RATES, frame_number
from tests.app.random_shoots import RATES, clip, sensible_shoots

NTSC, FILM, PAL = Fraction(30000, 1001), Fraction(24000, 1001), Fraction(25)


def stamp(take: Take, rate: Fraction, start: str = "01:00:00:00") -> PictureStamp:
    found = picture_stamp(clip(1, take, rate=rate), take, start)
    assert isinstance(found, PictureStamp)
    return found


@pytest.mark.parametrize(
    ("rate", "start", "song_start_s", "label"),
    [
        # 100 s of song: 2500 frames at 25; 2397.6 at 24000/1001; 2997 at 30000/1001. Worked by hand.
        (PAL, "01:00:00:00", 100.0, "01:01:40:00"),
        (FILM, "01:00:00:00", 100.0, "01:01:39:22"),
        (NTSC, "01:00:00:00", 100.0, "01:01:39:27"),
        (NTSC, "01:00:00;00", 100.0, "01:01:39;29"),
        # Before the song: the hour is left behind, at 30000/1001 in drop-frame onto its last label.
        (PAL, "01:00:00:00", -0.04, "00:59:59:24"),
        (NTSC, "01:00:00;00", -1001 / 30000, "00:59:59;29"),
        (2 * NTSC, "01:00:00;00", -1001 / 60000, "00:59:59;59"),
        # Over midnight, both ways.
        (PAL, "00:00:00:00", -0.04, "23:59:59:24"),
        (NTSC, "00:00:00;00", -1001 / 30000, "23:59:59;29"),
        (Fraction(24), "23:59:59:00", 2.0, "00:00:01:00"),
    ],
)
def test_known_places(rate: Fraction, start: str, song_start_s: float, label: str) -> None:
    """Labels 00:59:59;29 and 23:59:59;29 by the rule of SMPTE ST 12-1: 107892 and 2589408 frames."""
    take = Take("t", max(0.0, -song_start_s), 50.0, max(0.0, song_start_s))
    assert stamp(take, rate, start).label == label


def test_drop_frame_goes_to_the_rates_that_have_it() -> None:
    for rate in RATES:
        assert begin_at("01:00:00;00", rate).drop_frame == (rate in DROP_FRAME_RATES)
        assert not begin_at("01:00:00:00", rate).drop_frame


@pytest.mark.parametrize(
    ("start", "rate"),
    [("1:00:00:00", PAL), ("01:00:00:25", PAL), ("24:00:00:00", PAL), ("01:01:00;00", NTSC), ("noon", PAL)],
)
def test_a_start_that_is_no_timecode_is_refused(start: str, rate: Fraction) -> None:
    with pytest.raises(HandoffError, match="does not fit"):
        begin_at(start, rate)


def test_rates_without_timecode_are_told() -> None:
    take = Take("t", 0.0, 5.0, 0.0)
    for rate in (Fraction(120), Fraction(25, 2)):
        assert "no timecode for" in str(picture_stamp(clip(1, take, rate=rate), take, "01:00:00:00"))
    assert picture_stamp(clip(1, take, rate=None), take, "01:00:00:00") == "it has no picture"


@given(
    sensible_shoots(),
    st.sampled_from(("01:00:00:00", "01:00:00;00", "00:00:00:00", "10:59:59:20", "23:59:58:00")),
)
def test_a_take_lies_in_its_place_when_counted_by_others(shoot: SongView, start: str) -> None:
    """The label of the take's first whole frame, counted by opentime or `timecode`, is within half a frame of
    its song time, and the remainder told makes up the difference; drift is what is told at its end."""
    for one in shoot.clips:
        for take in one.takes:
            if one.frame_rate is None:
                continue
            found = picture_stamp(one, take, start)
            assert isinstance(found, PictureStamp)
            rate, begin = one.frame_rate, begin_at(start, one.frame_rate)
            counted = _counted(found.label, rate)
            assert counted == found.frame
            first = math.ceil(Fraction(take.clip_start_s) * rate - Fraction(1, 1000)) / rate
            assert _late(take, counted, begin, first) == pytest.approx(
                -found.sub_frame_offset_s * float(rate), abs=1e-4
            )
            assert abs(_late(take, counted, begin, first)) <= 0.5 + 1e-4
            if found.nominal == 1:
                drifted = _late(take, counted, begin, Fraction(take.clip_end_s)) - _late(
                    take, counted, begin, first
                )
                assert drifted == pytest.approx(found.late_frames, abs=1e-3)


def _late(take: Take, counted: int, begin: Begin, clip_s: Fraction) -> float:
    """Frames by which a moment of a clip lies late, by the number of its first picture; days are circles."""
    placed_s = (counted - begin.frame) / begin.rate + clip_s
    exact_s = take.song_start_s + (float(clip_s) - take.clip_start_s) * take.speed
    late = (float(placed_s) - exact_s) * float(begin.rate)
    return (late + begin.day / 2) % begin.day - begin.day / 2


def _counted(label: str, rate: Fraction) -> int:
    """Frames from midnight, by `timecode` (which counts from 1) and, where it can, opentime."""
    names = {NTSC: "29.97", 2 * NTSC: "59.94", FILM: "23.976"}
    other = Timecode(names.get(rate, str(rate)), label, force_non_drop_frame=";" not in label)
    assert other.frame_number == otio.opentime.from_timecode(label, float(rate)).value
    return int(other.frame_number)


def test_sound_is_stamped_to_the_sample() -> None:
    """Published and worked values: 10:30:00 at 48 kHz is 1 814 400 000 samples; ten hours of non-drop labels
    at 24000/1001 last 36 036 s, 1 729 728 000 samples; 1 h of drop-frame labels lasts 3599.9964 s."""
    assert sound_stamp(0.0, 48000, "10:30:00:00", PAL) == 1_814_400_000
    assert sound_stamp(0.0, 48000, "10:00:00:00", FILM) == 1_729_728_000
    assert sound_stamp(0.0, 48000, "01:00:00;00", NTSC) == round(Fraction("3599.9964") * 48000)
    assert sound_stamp(1.5, 44100, "01:00:00:00", PAL) == 3600 * 44100 + 66150
    assert sound_stamp(-1.0, 48000, "00:00:00:00", PAL) == (86400 - 1) * 48000
    assert sound_stamp(-1.0, 48000, "00:00:00:00", FILM) == 86400 * 48048 - 48000
    assert sound_stamp(0.0, 48000, "01:00:00:00", Fraction(120)) == 3600 * 48000


def test_pictures_and_sound_agree() -> None:
    """At one rate, the label of a picture and the sample of a sound at the same song time are one moment."""
    for rate in (Fraction(24), PAL, FILM, NTSC, Fraction(50)):
        for start in ("01:00:00:00", "01:00:00;00"):
            place = float(1000 / rate)
            take = Take("t", 0.0, 50.0, place)
            found = stamp(take, rate, start)
            moment_s = frame_number(found.label, rate) / rate
            assert abs(sound_stamp(place, 48000, start, rate) - moment_s * 48000) <= 1


@given(sensible_shoots())
def test_the_timeline_lays_the_same_frame_on_the_same_place(shoot: SongView) -> None:
    """A clip's timecode and a timeline at the clip's rate round song time alike."""
    for one in shoot.clips:
        if one.frame_rate is None:
            continue
        for segment in lay_out(replace(shoot, clips=(one,))).segments:
            found = picture_stamp(one, segment.take, "01:00:00:00")
            assert isinstance(found, PictureStamp)
            apart = found.frame - found.begin.frame - (segment.position - segment.first_frame)
            assert apart % found.begin.day == 0
            assert found.sub_frame_offset_s == pytest.approx(segment.sub_frame_offset_s, abs=1e-12)
