"""Placement against things outside the project: acoustics, a textbook correlator, a bound of estimation."""

import numpy as np
import pytest
from scipy import signal

from audio.placement.align import place
from audio.placement.answer import PlaceVerdict
from tests.audio.engine_songs import RATE, Samples, errors_s, index, noisy, placed, run, song, sound, worst_s
from tests.quality import damage
from tests.quality.bounds import delay_bound_s
from tests.quality.rooms import image_sources
from tests.quality.songs import WORK_RATE, to_rate

SPEED_OF_SOUND = 343.0
"""Metres a second in air of about 20 degrees Celsius (textbook value; also pyroomacoustics' own)."""


def heard_at(metres: float, order: int | None) -> Samples:
    """18 s of the song from 20 s on, at a microphone so far from the loudspeaker (pyroomacoustics).

    ``order`` None is free field, else a hall of 22 x 16 x 7 m with so many reflections of each sound. The
    library's fixed lead-in of 40 samples is cut by ``image_sources``.
    """
    loudspeaker = np.array([5.0, 5.0, 1.4])
    microphone = loudspeaker + np.array([metres, 0.0, 0.0])
    way = image_sources((22, 16, 7), None if order is None else 1.0, loudspeaker, microphone, order or 0)
    dry = song().room_feed[20 * WORK_RATE : 38 * WORK_RATE].astype(np.float64)
    return to_rate(signal.oaconvolve(dry, way)[: len(dry)], WORK_RATE, RATE).astype(np.float32)


@pytest.mark.parametrize("order", [None, 1, 3])
def test_sound_takes_29_15_ms_over_ten_metres(order: int | None) -> None:
    """10 m at 343 m/s are 29.155 ms; reflections arrive later and must not pull the place along."""
    late_s = 10 / SPEED_OF_SOUND
    assert late_s * 1e3 == pytest.approx(29.155, abs=0.001)
    answer = placed(sound(heard_at(10.0, order)))
    assert answer.verdict is PlaceVerdict.PLACED
    (fit,) = answer.takes
    assert worst_s(fit, 20.0 - late_s) < fit.uncertainty_s < 0.0005


def test_twice_as_far_is_twice_as_late() -> None:
    """1 m, 3.4 m and 13.72 m, of which the last is 40 ms: a picture at 25 a second."""
    for metres in (1.0, 3.4, 13.72):
        (fit,) = placed(sound(heard_at(metres, None))).takes
        assert worst_s(fit, 20.0 - metres / SPEED_OF_SOUND) < 0.00005


@pytest.mark.parametrize("song_from_s", [3.25, 29.6301])
def test_a_plain_correlation_agrees(song_from_s: float) -> None:
    """scipy.signal.correlate of the whole take with the whole song: slow, and blind to drift and rivals."""
    take = run(song_from_s, 15.0)
    master = song().master
    whole = signal.correlate(master, take, "valid", "fft")
    correlated_s = int(np.abs(whole).argmax()) / RATE
    (fit,) = placed(sound(take)).takes
    engine_s = fit.song_start_s - fit.clip_start_s * fit.speed
    assert abs(engine_s - correlated_s) <= 1 / RATE


def test_errors_stay_near_the_least_that_is_possible() -> None:
    """Cramér-Rao bound of a delay in white noise (source and status: ``delay_bound_s``).

    Twelve takes of 15 s with noise 5 dB above the song. No method without bias gets below the bound: of
    twelve errors the RMS may by chance (chi-square, one in a thousand) be 0.43 of it. The engine gives up
    something for being sturdy against drums and rooms: at most ten times the bound is asked for.
    """
    rng = np.random.default_rng(11)
    errors, bounds = [], []
    for number in range(12):
        begin = 2.0 + 4.1 * number + float(rng.uniform(0, 1e-3))
        take = run(begin, 15.0).astype(np.float64)
        noise = damage.at_level(damage.white(len(take), rng), damage.rms(take), 5.0)
        bounds.append(delay_bound_s(take, RATE, damage.rms(noise)))
        answer = placed(sound((take + noise).astype(np.float32)))
        assert answer.verdict is PlaceVerdict.PLACED
        start, end = errors_s(answer.takes[0], begin)
        errors.append((start + end) / 2)
    ratio = float(np.sqrt(np.mean(np.square(np.array(errors) / bounds))))
    assert 0.43 < ratio < 10, ratio


def test_stated_uncertainty_holds_about_95_in_100() -> None:
    """Of 24 errors at least 20 lie within; fewer come by chance once in a hundred at most (binomial)."""
    inside = 0
    for number in range(24):
        begin = 1.0 + 2.2 * number
        answer = place(sound(noisy(run(begin, 9.0), 6.0, seed=number)), index())
        (fit,) = answer.takes
        inside += worst_s(fit, begin) <= fit.uncertainty_s
    assert inside >= 20, inside
