"""The live residual: the song is removed from a clip, and what was not the song stays."""

import numpy as np
import pytest

from audio.line import Line
from audio.shoot.residual import HOP, residual_sound
from tests.audio.engine_songs import RATE, index, run, song
from tests.audio.moments import camera, moment


def rms(samples: np.ndarray) -> float:
    return float(np.sqrt(np.mean(np.square(samples, dtype=np.float64))))


def test_playback_through_a_room_goes_and_the_band_stays() -> None:
    of = moment(song(), 10.0, 12.0, seed=1)
    line = Line(0.0, 10.5, 1.0)
    left = [
        residual_sound(
            camera(of, "garage-4m", 0.5, 10.0, band_db=band, noise_db=-50), index(), line, 0.0, 10.0
        )
        for band in (-60.0, 6.0)
    ]
    assert left[0] is not None
    assert left[1] is not None
    # A whitened sound has an RMS of about 1; the band is most of what there is, the playback goes.
    assert rms(left[0].samples) < 0.35
    assert rms(left[1].samples) > 2 * rms(left[0].samples)


def test_at_a_wrong_place_nothing_is_explained() -> None:
    clip = run(10.0, 8.0)
    right, wrong = (residual_sound(clip, index(), Line(0.0, place, 1.0), 0.0, 8.0) for place in (10.0, 30.0))
    assert right is not None
    assert wrong is not None
    assert rms(right.samples) < 0.25 * rms(wrong.samples)


@pytest.mark.parametrize("speed", [1.0, 1 + 200e-6, 1.25])
def test_it_comes_on_the_clock_of_the_song(speed: float) -> None:
    """A knock at a known moment of the clip is found where the line puts it in the song."""
    clip = run(20.0, 6.0, speed) * 0.1
    clip[round(3.0 * RATE)] += 1.0
    line = Line(0.0, 20.0, speed)
    found = residual_sound(clip, index(), line, 1.0, 5.5)
    assert found is not None
    assert found.first % HOP == 0
    assert found.first / RATE == pytest.approx(20.0 + speed, abs=HOP / RATE)
    at = (found.first + int(np.abs(found.samples).argmax())) / RATE
    assert at == pytest.approx(line.song_time(3.0), abs=2 / RATE)


def test_on_the_grid_and_between() -> None:
    clip = run(20.0, 4.0)
    on, between = (
        residual_sound(clip, index(), Line(0.0, 20.0, 1.0), 0.0, 4.0, half_hop=side) for side in (False, True)
    )
    assert on is not None
    assert between is not None
    assert (on.first % HOP, between.first % HOP) == (0, HOP // 2)


def test_before_the_song_and_after_it_everything_is_residual() -> None:
    rng = np.random.default_rng(1)
    noise = rng.normal(0, 0.1, 6 * RATE).astype(np.float32)
    for place in (-10.0, song().seconds + 5):
        found = residual_sound(noise, index(), Line(0.0, place, 1.0), 0.0, 6.0)
        assert found is not None
        assert rms(found.samples) > 0.6


def test_next_to_nothing_and_silence() -> None:
    clip = np.zeros(5 * RATE, np.float32)
    line = Line(0.0, 10.0, 1.0)
    assert residual_sound(clip, index(), line, 0.0, 0.5) is None
    assert residual_sound(clip, index(), line, 7.0, 9.0) is None
    silent = residual_sound(clip, index(), line, -3.0, 99.0)
    assert silent is not None
    assert np.isfinite(silent.samples).all()
    assert not silent.samples.any()
