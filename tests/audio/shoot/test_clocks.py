"""One camera, one clock: takes that share a speed, and takes that do not."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from audio.line import Line
from audio.placement.answer import PlaceVerdict, TakeFit
from audio.placement.line_fit import FLOOR_S
from audio.placement.reason_codes import Reason, ReasonCode
from audio.placement.slope_search import CLOCK_SPREAD
from audio.shoot.clocks import WANDER, common_clock, with_common_clock

LENGTHS = (200.0, 60.0, 30.0, 15.0, 8.0, 5.0, 5.0)


def make_take(
    seconds: float, rng: np.random.Generator, speed: float, place_sd_s: float = 5e-5
) -> tuple[TakeFit, float]:
    """A take as the engine would tell it, and where in the song it truly begins."""
    # A straight line through evenly spread moments: its slope is sqrt(12) / length times as uncertain as its
    # middle (textbook least squares). It is drawn towards 1 by what is known of all clocks.
    raw_sd = 12**0.5 * place_sd_s / seconds
    own, known = raw_sd**-2, CLOCK_SPREAD**-2
    measured = speed + rng.normal(0, raw_sd)
    combined = (own * measured + known * 1.0) / (own + known)
    speed_sd = (own + known) ** -0.5
    start, song_start = rng.uniform(0, 9), rng.uniform(0, 100)
    middle_error = rng.normal(0, place_sd_s)
    half = seconds / 2
    return (
        TakeFit(
            line=Line(start, song_start + middle_error - half * (combined - speed), combined),
            clip_end_s=start + seconds,
            uncertainty_s=2 * float(np.sqrt(place_sd_s**2 + (half * speed_sd) ** 2 + FLOOR_S**2)),
            speed_sd=speed_sd,
            verdict=PlaceVerdict.PLACED,
            reason=None,
            strength=50.0,
            rivals=(),
            lags=tuple((start + t, 0.0, 10.0) for t in np.arange(0.5, seconds, 1.0)),
        ),
        song_start,
    )


def worst_s(take: TakeFit, song_start_s: float, speed: float) -> float:
    """The error at the worse end."""
    begin = take.song_start_s - song_start_s
    return max(abs(begin), abs(begin + (take.clip_end_s - take.clip_start_s) * (take.speed - speed)))


def shoot(seed: int, place_sd_s: float = 5e-4) -> tuple[list[TakeFit], list[float], list[float]]:
    """Takes of one camera, their true starts in the song and their true speeds."""
    rng = np.random.default_rng(seed)
    clock = 1 + rng.normal(0, CLOCK_SPREAD)
    speeds = [clock + rng.normal(0, WANDER) for _ in LENGTHS]
    made = [make_take(length, rng, speed, place_sd_s) for length, speed in zip(LENGTHS, speeds, strict=True)]
    return [take for take, _ in made], [start for _, start in made], speeds


def test_errors_shrink_and_uncertainty_stays_honest() -> None:
    """Forty shoots in poor sound: errors at the ends before and after, and how often they are covered."""
    before, after, covered, widths = [], [], [], []
    for seed in range(40):
        takes, starts, speeds = shoot(seed)
        for old, new, start, speed in zip(takes, with_common_clock(takes), starts, speeds, strict=True):
            before.append(worst_s(old, start, speed))
            after.append(worst_s(new, start, speed))
            covered.append(after[-1] <= new.uncertainty_s)
            widths.append(new.uncertainty_s / old.uncertainty_s)
    rms_before, rms_after = (float(np.sqrt(np.mean(np.square(errors)))) for errors in (before, after))
    assert rms_after < 0.8 * rms_before
    # Two standard deviations hold 95.4 in 100 (normal distribution); 280 takes scatter by 1.3.
    assert np.mean(covered) > 0.91
    assert np.median(widths) < 0.85
    assert max(widths) <= 1.0


def test_short_takes_run_at_the_speed_of_the_long_one() -> None:
    rng = np.random.default_rng(1)
    clock = 1 + 180e-6
    takes = [make_take(length, rng, clock)[0] for length in (180.0, 3.0)]
    # Nothing is known of the short one but what all clocks are like.
    takes[1] = replace(takes[1], line=takes[1].line.with_speed(1.0), speed_sd=CLOCK_SPREAD)
    long, short = with_common_clock([*takes, make_take(120.0, rng, clock)[0]])[:2]
    assert short.speed == pytest.approx(clock, abs=3e-6)
    assert short.speed_sd < 3e-6
    middle = (short.clip_start_s + short.clip_end_s) / 2
    for take in (takes[1], short):
        assert take.line.song_time(middle) == pytest.approx(takes[1].line.song_time(middle), abs=1e-9)
    assert long.speed == pytest.approx(takes[0].speed, abs=1e-6)


def test_the_line_turns_where_the_take_is_known_best() -> None:
    """All that was heard is in the last second: what is known is known there."""
    rng = np.random.default_rng(2)
    takes = [make_take(length, rng, 1 + 90e-6)[0] for length in (180.0, 150.0, 10.0)]
    weak = replace(
        takes[2],
        line=takes[2].line.with_speed(1.0),
        speed_sd=0.9 * CLOCK_SPREAD,
        lags=((takes[2].clip_end_s, 0.0, 9.0),),
    )
    new = with_common_clock([takes[0], takes[1], weak])[2]
    assert new.song_start_s == pytest.approx(weak.song_start_s - 10 * 90e-6, abs=5e-5)


def test_a_take_at_another_speed_stays_as_it_is() -> None:
    rng = np.random.default_rng(3)
    takes = [make_take(length, rng, 1 + 20e-6)[0] for length in (200.0, 90.0, 60.0, 40.0, 30.0)]
    slow_motion = make_take(60.0, rng, 1.25)[0]
    other_player = make_take(200.0, rng, 1 - 60e-6)[0]
    new = with_common_clock([*takes, slow_motion, other_player])
    assert new[-2:] == (slow_motion, other_player)
    assert common_clock([*takes, other_player]) is not None


def test_two_players_are_no_clock() -> None:
    rng = np.random.default_rng(4)
    takes = [make_take(150.0, rng, 1 + ppm * 1e-6)[0] for ppm in (30, 30, -40, -40)]
    takes.append(make_take(4.0, rng, 1 + 30e-6)[0])
    assert common_clock(takes) is None
    assert with_common_clock(takes) == tuple(takes)


def test_speeds_that_scatter_more_than_they_should_are_no_clock() -> None:
    """Each off by three of its standard deviations, this way and that: near enough each, but not all."""
    rng = np.random.default_rng(5)
    takes = [make_take(200.0, rng, 1.0)[0] for _ in range(12)]
    odd = [
        replace(take, line=take.line.with_speed(1 + (-1) ** k * 3 * float(np.hypot(take.speed_sd, WANDER))))
        for k, take in enumerate(takes)
    ]
    assert common_clock(odd) is None


def test_doubtful_takes_tell_no_clock_and_stay_doubtful() -> None:
    rng = np.random.default_rng(6)
    takes = [make_take(200.0, rng, 1 + 10e-6)[0] for _ in range(3)]
    doubtful = replace(
        make_take(100.0, rng, 1 + 50e-6)[0], verdict=PlaceVerdict.DOUBTFUL, reason=Reason(ReasonCode.FAINT)
    )
    clock = common_clock([*takes, doubtful])
    assert clock is not None
    assert clock.takes == (0, 1, 2)
    assert with_common_clock([*takes, doubtful])[3] == doubtful
    assert common_clock([takes[0], doubtful]) is None


def test_a_take_alone_or_none_at_all() -> None:
    one = make_take(60.0, np.random.default_rng(7), 1.0)[0]
    assert with_common_clock([one]) == (one,)
    assert with_common_clock([]) == ()


@given(
    st.lists(
        st.tuples(st.floats(2, 300), st.floats(-400e-6, 400e-6), st.sampled_from(list(PlaceVerdict)[:2])),
        max_size=8,
    ),
    st.integers(0, 1000),
)
@settings(deadline=None, max_examples=60)
def test_whatever_comes_no_verdict_changes_and_nothing_gets_less_sure(
    kinds: list[tuple[float, float, PlaceVerdict]], seed: int
) -> None:
    rng = np.random.default_rng(seed)
    takes = [replace(make_take(length, rng, 1 + off)[0], verdict=verdict) for length, off, verdict in kinds]
    new = with_common_clock(takes)
    assert [take.verdict for take in new] == [take.verdict for take in takes]
    for old, now in zip(takes, new, strict=True):
        assert FLOOR_S < now.uncertainty_s <= old.uncertainty_s
        assert now.speed_sd <= old.speed_sd
        assert (now.clip_start_s, now.clip_end_s) == (old.clip_start_s, old.clip_end_s)
