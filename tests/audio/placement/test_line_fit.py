"""The uncertainty of a take's line: the stated half-width holds at the take's ends too."""

from typing import cast

import numpy as np

from audio.line import Line
from audio.placement.impulse_response import SegmentCorrelations
from audio.placement.line_fit import BANDWIDTH, LineFit, _weighted_line, prediction_score


def line_fit(position_sd_s: float, speed_sd: float, middle_s: float) -> LineFit:
    nothing, some = np.zeros(0), np.zeros(1, np.float32)
    line = Line(middle_s, middle_s, 1.0)
    return LineFit(
        line=line,
        impulse_response=some,
        direct_at=0,
        strength=50.0,
        ambiguity_s=0.0,
        position_sd_s=position_sd_s,
        speed_sd=speed_sd,
        lag_clip_s=nothing,
        lag_s=nothing,
        lag_strength=nothing,
        discontinuity=None,
        segments=cast(SegmentCorrelations, None),
    )


def test_the_stated_half_width_holds_at_the_ends_of_a_take_95_times_in_100() -> None:
    """Lags of a scatter well above the least there can be (0.5 ms), along four minutes, drawn anew 400 times:
    at the ends the slope counts as much as the place in the middle."""
    chance = np.random.default_rng(8)
    t = np.linspace(-116, 116, 30)
    strength = np.full(30, 8.0)
    held = {"middle": 0, "end": 0}
    for _ in range(400):
        lag = 40 * chance.standard_normal(30) / (BANDWIDTH * strength)
        offset, slope, position_sd, speed_sd = _weighted_line(t, lag, strength)
        fit = line_fit(position_sd, speed_sd, 120.0)
        held["middle"] += abs(offset) <= fit.half_width_s(120.0, 120.0)
        held["end"] += abs(offset + 120 * slope) <= fit.half_width_s(0.0, 240.0)
    assert held["middle"] >= 0.9 * 400
    assert held["end"] >= 0.9 * 400


def test_chance_predicts_nothing_and_a_response_predicts_itself() -> None:
    chance = np.random.default_rng(9)
    response = np.zeros(4000, np.float32)
    response[[1900, 1960, 2100]] = 30.0, 18.0, 12.0
    halves = [response + chance.standard_normal(4000).astype(np.float32) for _ in range(2)]
    alone = chance.standard_normal(4000).astype(np.float32)
    assert prediction_score(halves[0], 1.0, halves[1], 1.0) > 30
    assert abs(prediction_score(halves[0], 1.0, alone, 1.0)) < 5
