"""Whether two clips are of one moment: people, geometry, machines, other run-throughs."""

from functools import cache

import numpy as np
import pytest

from audio.line import Line
from audio.shoot.residual import Residual, residual_sound
from audio.shoot.residual_match import GEOMETRY_S, match_residuals
from tests.audio.engine_songs import RATE, index, song
from tests.audio.moments import Moment, camera, moment
from tests.quality.instruments import mix
from tests.quality.kit import Kit
from tests.quality.songs import WORK_RATE

FROM_S, LONG_S = 8.0, 32.0
AT_S, SHORT_S = 15.0, 6.0
Wave = np.ndarray


@cache
def people(seed: int) -> Moment:
    return moment(song(), FROM_S, LONG_S, seed)


def drum_machine() -> Wave:
    kit = Kit(WORK_RATE, 3, machine=True)
    out = np.zeros(round(LONG_S * WORK_RATE))
    for number, beat in enumerate(np.arange(0.1, LONG_S - 0.4, 0.5)):
        for drum in ("kick" if number % 2 == 0 else "snare", "hat"):
            mix(out, float(beat), WORK_RATE, kit.hit(drum))
    return out


def one_noise() -> Wave:
    """A burst of half a second, the same wherever it is played from a sampler."""
    out = np.zeros(round(LONG_S * WORK_RATE))
    mix(out, AT_S + 2.2, WORK_RATE, np.random.default_rng(5).standard_normal(WORK_RATE // 2))
    return out


def short(of: Moment, seed: int = 1, **more: float) -> Residual:
    clip = camera(of, "garage-4m", AT_S, SHORT_S, seed=seed, **more)
    found = residual_sound(clip, index(), Line(0.0, FROM_S + AT_S, 1.0), 0.0, SHORT_S, half_hop=True)
    assert found is not None
    return found


def long(of: Moment, seed: int = 2, **more: float) -> Residual:
    clip = camera(of, "cellar-6m", 0.0, LONG_S, seed=seed, **more)
    found = residual_sound(clip, index(), Line(0.0, FROM_S, 1.0), 0.0, LONG_S)
    assert found is not None
    return found


@pytest.mark.parametrize("late_s", [0.0, 10 / 343])
def test_one_moment_agrees_once_where_geometry_puts_it(late_s: float) -> None:
    """The band 10 m further from one camera than the loudspeaker is; 343 m/s at 20 °C (handbook value)."""
    found = match_residuals(short(people(1)), long(people(1), late_s=late_s), RATE)
    assert found is not None
    off, height = found.best
    # What is late at the longer clip lies later in it; two rooms smear the rest.
    assert off == pytest.approx(late_s, abs=0.008)
    assert abs(off) < GEOMETRY_S
    assert found.only_at(off, height)


def test_another_run_through_agrees_nowhere() -> None:
    found = match_residuals(short(people(1)), long(people(2)), RATE)
    assert found is not None
    assert not found.only_at(*found.best)


def test_a_machine_is_no_moment() -> None:
    """It agrees in the other run-through as well, but a bar later nearly as much."""
    machine = drum_machine()
    first, second = (moment(song(), FROM_S, LONG_S, seed, machine=machine) for seed in (1, 2))
    found = match_residuals(short(first, band_db=6.0), long(second, band_db=6.0), RATE)
    assert found is not None
    assert found.best[1] > 12
    assert not found.only_at(*found.best)


def test_a_single_noise_is_no_moment() -> None:
    rng = np.random.default_rng(1)
    first, second = (
        moment(
            song(),
            FROM_S,
            LONG_S,
            seed,
            machine=one_noise() + 0.02 * rng.standard_normal(round(LONG_S * WORK_RATE)),
        )
        for seed in (1, 2)
    )
    found = match_residuals(short(first, band_db=6.0), long(second, band_db=6.0), RATE)
    assert found is not None
    assert found.best[1] > 12
    assert abs(found.best[0]) < 0.01
    assert not found.only_at(*found.best)


def test_too_little_to_compare() -> None:
    rng = np.random.default_rng(1)
    one, other = (Residual(0, rng.normal(0, 1, n * RATE).astype(np.float32)) for n in (6, 3))
    assert match_residuals(one, other, RATE) is None
    assert match_residuals(Residual(0, np.zeros(RATE, np.float32)), other, RATE) is None
    # The same sound, but only a second of places to compare: it may be anywhere else as well.
    part = Residual(0, one.samples[: 3 * RATE])
    found = match_residuals(part, one, RATE)
    assert found is not None
    assert found.best[1] > 12
    assert not found.only_at(*found.best)
    assert found.at(5.0, 0.1) is None
