"""Timecode against published rows and two libraries that do not know each other.

Oracles: opentimelineio.opentime (Academy Software Foundation) and the ``timecode`` package. The rows are
worked from the drop-frame rule of SMPTE ST 12-1 with a closed form of our own notes.
"""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from opentimelineio.opentime import RationalTime, from_timecode, to_timecode
from timecode import Timecode

from app.model.timebase import (
    NTSC_30,
    NTSC_60,
    TIMECODE_RATES,
    frame_number,
    nearest_frame,
    parse_rate,
    rate_text,
    timecode,
)

COUNTINGS = [
    (Fraction(24000, 1001), False, "23.976"),
    (Fraction(24), False, "24"),
    (Fraction(25), False, "25"),
    (NTSC_30, True, "29.97"),
    (NTSC_30, False, None),
    (Fraction(50), False, "50"),
    (NTSC_60, True, "59.94"),
]

ROWS_30 = {
    0: "00:00:00;00",
    1799: "00:00:59;29",
    1800: "00:01:00;02",
    3597: "00:01:59;29",
    3598: "00:02:00;02",
    17981: "00:09:59;29",
    17982: "00:10:00;00",
    19782: "00:11:00;02",
    107892: "01:00:00;00",
    2589407: "23:59:59;29",
}
ROWS_60 = {
    3599: "00:00:59;59",
    3600: "00:01:00;04",
    7195: "00:01:59;59",
    7196: "00:02:00;04",
    35963: "00:09:59;59",
    35964: "00:10:00;00",
    39564: "00:11:00;04",
    215784: "01:00:00;00",
    5178815: "23:59:59;59",
}


def _day(rate: Fraction, drop: bool) -> int:
    return {NTSC_30: 2_589_408, NTSC_60: 5_178_816}[rate] if drop else 86400 * round(rate)


def _told_by_opentime(rate: Fraction, drop: bool) -> int:
    """Without drop-frame, opentime begins the day again after a drop-frame day's frames, 67 s too early."""
    return min(_day(rate, drop), 2_589_408) if rate == NTSC_30 else _day(rate, drop)


@pytest.mark.parametrize(("rate", "rows"), [(NTSC_30, ROWS_30), (NTSC_60, ROWS_60)])
def test_drop_frame_rows(rate: Fraction, rows: dict[int, str]) -> None:
    for frame, label in rows.items():
        assert timecode(frame, rate, drop_frame=True) == label
        assert frame_number(label, rate) == frame


def test_published_sequences_of_drop_frame() -> None:
    # Two trade articles on SMPTE timecode print these neighbours.
    assert frame_number("12:39:00;02", NTSC_30) - frame_number("12:38:59;29", NTSC_30) == 1
    assert frame_number("01:05:00;02", NTSC_30) - frame_number("01:04:59;29", NTSC_30) == 1


@pytest.mark.parametrize(("rate", "drop", "name"), COUNTINGS)
@pytest.mark.parametrize("step", [997, 7013, 13001])
def test_a_day_of_labels_agrees_with_opentime(
    rate: Fraction, drop: bool, name: str | None, step: int
) -> None:
    as_float = rate.numerator / rate.denominator
    for frame in range(step % 7, _told_by_opentime(rate, drop), step):
        label = timecode(frame, rate, drop_frame=drop)
        assert label == to_timecode(RationalTime(frame, as_float), as_float, drop)
        assert frame_number(label, rate) == frame == from_timecode(label, as_float).value


@pytest.mark.parametrize(("rate", "drop", "name"), COUNTINGS)
def test_the_first_minutes_and_the_end_of_the_day_agree_with_opentime(
    rate: Fraction, drop: bool, name: str | None
) -> None:
    as_float = rate.numerator / rate.denominator
    end = _told_by_opentime(rate, drop)
    eleven_minutes = 11 * 60 * round(rate)
    for frame in [*range(0, eleven_minutes, 7), *range(end - 2000, end, 13), end - 1]:
        assert timecode(frame, rate, drop_frame=drop) == to_timecode(
            RationalTime(frame, as_float), as_float, drop
        )


@pytest.mark.parametrize(("rate", "drop", "name"), [row for row in COUNTINGS if row[2]])
def test_a_day_of_labels_agrees_with_the_timecode_package(rate: Fraction, drop: bool, name: str) -> None:
    for frame in [*range(0, _day(rate, drop), 9973), _day(rate, drop) - 1]:
        other = Timecode(name, frames=frame + 1)  # that package counts frames from 1
        other.drop_frame = drop
        assert timecode(frame, rate, drop_frame=drop).replace(";", ":") == str(other).replace(";", ":")


def test_labels_begin_again_after_a_day() -> None:
    assert timecode(_day(NTSC_30, True), NTSC_30, drop_frame=True) == "00:00:00;00"
    assert timecode(24 * 86400, Fraction(24)) == "00:00:00:00"


@pytest.mark.parametrize("label", ["00:01:00;00", "00:01:00;01", "13:59:00;00"])
def test_labels_that_drop_frame_skips_are_refused(label: str) -> None:
    # Both libraries take these silently; the standard has no such label.
    with pytest.raises(ValueError, match="skips"):
        frame_number(label, NTSC_30)


def test_what_drop_frame_keeps_is_read() -> None:
    assert frame_number("00:10:00;00", NTSC_30) == 17982
    with pytest.raises(ValueError, match="skips"):
        frame_number("00:01:00;03", NTSC_60)
    assert frame_number("00:01:00;03", NTSC_30) == 1801


@pytest.mark.parametrize(
    "label", ["", "1:00:00:00", "01:00:00", "24:00:00:00", "00:60:00:00", "00:00:00:25", "٠١:00:00:00"]
)
def test_text_that_is_no_label_is_refused(label: str) -> None:
    with pytest.raises(ValueError, match="not a timecode"):
        frame_number(label, Fraction(25))


def test_rates_without_timecode_are_refused() -> None:
    assert len(TIMECODE_RATES) == 10  # the list in the scope of SMPTE ST 12-1:2014
    for rate in (Fraction(12), Fraction(120), Fraction("23.976"), Fraction(30000, 1000) + 1):
        with pytest.raises(ValueError, match="no timecode"):
            timecode(0, rate)
    with pytest.raises(ValueError, match="no drop-frame"):
        timecode(0, Fraction(25), drop_frame=True)
    with pytest.raises(ValueError, match="no drop-frame"):
        frame_number("00:00:00;00", Fraction(24000, 1001))
    with pytest.raises(ValueError, match="no label before"):
        timecode(-1, Fraction(25))


def test_labels_are_not_time() -> None:
    # Worked with fractions: an hour of labels at 24000/1001 lasts 3603.6 s; drop-frame misses 3.6 ms an hour.
    rate = Fraction(24000, 1001)
    assert frame_number("01:00:00:00", rate) / rate == Fraction("3603.6")
    assert frame_number("01:00:00;00", NTSC_30) / NTSC_30 == Fraction("3599.9964")


@given(st.integers(-(10**9), 10**9), st.sampled_from(sorted(TIMECODE_RATES)))
def test_a_frame_s_start_is_nearest_to_itself(frame: int, rate: Fraction) -> None:
    start_s = frame / rate
    assert nearest_frame(start_s, rate) == frame
    assert nearest_frame(start_s + Fraction(1, 2) / rate - Fraction(1, 10**9), rate) == frame
    assert nearest_frame(start_s + Fraction(1, 2) / rate, rate) == frame + 1


@given(st.fractions(min_value=Fraction(1, 1000), max_value=1000, max_denominator=10**6))
def test_rates_read_back_exactly(rate: Fraction) -> None:
    assert parse_rate(rate_text(rate)) == rate


@pytest.mark.parametrize("text", ["0", "24/0", "-24", "23.976", "24000 / 1001", "", "24/1/1", "1e3"])
def test_text_that_is_no_rate_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="not a frame rate"):
        parse_rate(text)
