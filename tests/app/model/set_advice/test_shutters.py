"""Shutters against the formula, worked out the other way round: how much light each frame gets."""

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest

from app.model.document.plan import SetUp
from app.model.on_song import on_song
from app.model.set_advice.camera_rates import USUAL_RATES, rates_of_plan
from app.model.set_advice.shutters import safe_shutters, shutter_words, usual_shutter
from tests.app.window.made_up import make_shoot


@pytest.mark.parametrize(
    ("rate", "mains", "angle"),
    [
        ("24", 50, 172.8),
        ("24000/1001", 60, 143.9),
        ("60", 50, 216.0),
        ("25", 50, 180.0),
        ("30", 60, 180.0),
        ("50", 50, 180.0),
        ("60", 60, 180.0),
        ("24", 60, 144.0),
    ],
)
def test_what_crews_write_on_their_tables(rate: str, mains: int, angle: float) -> None:
    usual = usual_shutter(Fraction(rate), mains)
    assert usual is not None
    assert round(float(usual.angle), 1) == angle


def test_some_rates_have_one_setting_or_none() -> None:
    assert [one.angle for one in safe_shutters(Fraction(60), 50)] == [216]
    assert safe_shutters(Fraction(120), 50) == ()
    assert shutter_words(Fraction(60), 50) == "only 216° (1/100 s)"
    assert shutter_words(Fraction(100), 50) == "only 360° (1/100 s)"


@pytest.mark.parametrize("rate", ["24", "24000/1001", "25", "30", "48", "50", "60000/1001", "60", "90"])
@pytest.mark.parametrize("mains", [50, 60])
def test_each_frame_gets_the_same_light_with_them_and_only_with_them(rate: str, mains: int) -> None:
    """Light as the square of a sine, integrated over each frame whenever it begins."""
    begins_s = np.linspace(0, 0.2, 997)

    def ripple(exposure_s: float) -> float:
        w = 4 * np.pi * mains
        light = exposure_s / 2 - (np.sin(w * (begins_s + exposure_s)) - np.sin(w * begins_s)) / (2 * w)
        return float(np.ptp(light) / light.mean())

    safe = [float(one.exposure_s) for one in safe_shutters(Fraction(rate), mains)]
    for exposure_s in safe:
        assert ripple(exposure_s) < 1e-9
    for angle in range(20, 361, 5):
        exposure_s = angle / 360 / float(Fraction(rate))
        if min((abs(exposure_s - one) for one in safe), default=1.0) > 2e-4:
            assert ripple(exposure_s) > 0.002


def test_rates_are_those_of_the_clips_and_of_the_plans_speeds() -> None:
    view = on_song(make_shoot())
    assert rates_of_plan(view) == (Fraction(25),)
    fast = SetUp("s", "song-1", "Crane", speed=Fraction(2))
    planned = replace(view, plan=replace(view.plan, set_ups=(fast, fast)))
    assert rates_of_plan(planned) == (25, 50)
    in_film = replace(planned, plan=replace(view.plan, set_ups=(replace(fast, speed=Fraction(1001, 400)),)))
    assert rates_of_plan(in_film, Fraction(24000, 1001)) == (Fraction(24000, 1001), 60)
    # Before anything is shot the plan alone tells: 250.25 % is 60 in a timeline of 23.976, and nothing else.
    assert rates_of_plan(replace(view, clips=())) == USUAL_RATES
    assert rates_of_plan(replace(in_film, clips=())) == (Fraction(24000, 1001), 60)
    assert rates_of_plan(replace(planned, clips=())) == (*USUAL_RATES, 48, 100, 120)
    # What is shot of another song tells as well.
    bare = tuple(replace(clip, takes=()) for clip in view.clips)
    assert rates_of_plan(replace(planned, clips=bare)) == (25, 50)
