"""What is chosen about a hand-off; start timecodes against OpenTimelineIO's opentime and `timecode`."""

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from opentimelineio import opentime
from timecode import Timecode

from app.handoff.choices import (
    DEFAULT,
    Choices,
    Doubtful,
    Drift,
    FilmWish,
    FirstPassWish,
    Form,
    Scheme,
    StringOutWish,
    start_number,
)
from app.handoff.outcome import HandoffError
from app.handoff.registry import BY_WORD
from app.handoff.saved_choices import from_text, to_text
from app.model.document.cut import Setting
from app.model.string_out.string_out import About, Order

RATES = {"23.98": "24000/1001", "25": "25", "29.97": "30000/1001", "50": "50", "59.94": "60000/1001"}


@pytest.mark.parametrize("name", RATES)
@pytest.mark.parametrize("label", ["00:00:00:00", "00:59:58:12", "01:00:00:00", "23:59:59:23"])
def test_a_start_is_the_frame_that_two_other_libraries_count(name: str, label: str) -> None:
    rate = Fraction(RATES[name])
    number = start_number(label, rate)
    assert number == opentime.from_timecode(label, float(rate)).value
    # `timecode` counts labels of 29.97 and 59.94 as drop-frame unless told otherwise.
    counted = Timecode(name, label, force_non_drop_frame=True)
    assert number == counted.frame_number


@pytest.mark.parametrize("name", ["29.97", "59.94"])
@pytest.mark.parametrize("label", ["01:00:00;00", "00:09:59;29", "00:11:00;04", "23:59:59;29"])
def test_a_drop_frame_start_too(name: str, label: str) -> None:
    rate = Fraction(RATES[name])
    number = start_number(label, rate)
    assert number == opentime.from_timecode(label, float(rate)).value == Timecode(name, label).frame_number
    assert Choices(start=label).drop_frame


@pytest.mark.parametrize(
    ("label", "rate"),
    [
        ("1:00:00:00", "25"),
        ("01:00:00:25", "25"),
        ("01:00:00;00", "25"),
        ("00:01:00;00", "30000/1001"),
        ("00:01:00;03", "60000/1001"),
        ("24:00:00:00", "25"),
        ("01:00:00;00", "100"),
        ("01:00:00:20", "15"),
        ("25:00:00:00", "100"),
        ("01:60:00:00", "12"),
        ("later", "25"),
    ],
)
def test_a_start_that_does_not_fit_is_told(label: str, rate: str) -> None:
    with pytest.raises(HandoffError, match=r"start timecode") as told:
        start_number(label, Fraction(rate))
    assert str(told.value).endswith((".", "frame."))


@given(
    st.builds(
        Choices,
        what=st.frozensets(st.sampled_from(sorted(BY_WORD))),
        form=st.sampled_from(Form),
        rate=st.none() | st.sampled_from([Fraction(text) for text in RATES.values()]),
        start=st.sampled_from(("01:00:00:00", "00:00:00;00", "10:11:12:13")),
        scheme=st.sampled_from(Scheme),
        doubtful=st.sampled_from(Doubtful),
        drift=st.sampled_from(Drift),
        film=st.builds(
            FilmWish,
            width=st.integers(2, 9999),
            height=st.integers(2, 9999),
            angle_id=st.just(""),
            bars=st.none(),
            first_pass=st.booleans(),
        ),
        string_out=st.builds(
            StringOutWish,
            about=st.sampled_from(About),
            subject=st.sampled_from(("", "singer")),
            order=st.sampled_from(Order),
        ),
        first_pass=st.builds(
            FirstPassWish,
            version=st.sampled_from(("", "Calm")),
            settings=st.sampled_from(((), (Setting("pace", "2-4"), Setting("needs", "always")))),
        ),
    )
)
def test_choices_are_saved_as_text(value: Choices) -> None:
    assert from_text(to_text(value)) == value


@pytest.mark.parametrize(
    "text",
    [
        "",
        "[]",
        "{",
        '{"what": 3, "rate": "0", "start": 7, "drift": "up", "film": [0, "x"]}',
        '{"string_out": {"about": 7, "subject": [], "order": "down"}, "first_pass": {"rules": {"pace": 0}}}',
        '{"string_out": [], "first_pass": {"version": 3, "rules": {"colour": "1"}}}',
        "[" * 9999,
    ],
)
def test_what_was_saved_badly_is_as_at_first(text: str) -> None:
    assert from_text(text) == DEFAULT


def test_what_is_not_known_is_passed_over() -> None:
    assert from_text('{"what": ["edl", "holograms", 3]}') == replace(DEFAULT, what=frozenset(("edl",)))
