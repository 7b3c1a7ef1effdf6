"""The simulator against things outside of it: acoustics, arithmetic, its claim to be exact in time."""

from collections.abc import Callable

import numpy as np
import pyroomacoustics
import pytest

from tests.quality import damage
from tests.quality.bounds import TWIN, delay_bound_s, likeness
from tests.quality.clock import play
from tests.quality.instruments import Wave
from tests.quality.kinds import KINDS
from tests.quality.rooms import (
    ROOMS,
    SPEED_OF_SOUND,
    image_sources,
    loudspeaker,
    out_of_doors,
    phone_loudspeaker,
    response,
)
from tests.quality.scene import Scene, Take
from tests.quality.songs import ENGINE_RATE, WORK_RATE, SongKey, composed

LOOPS = SongKey("loops", 1, short=True)
EXACT_S = 1e-5
"""What the board promises of its truth: a hundredth of a millisecond."""


def lag_s(later: Wave, earlier: Wave, rate: int) -> float:
    """How much later one wave is than another like it: peak of correlation, then slope of cross phase."""
    n = 2 * len(later)
    cross = np.fft.rfft(later, n) * np.conj(np.fft.rfft(earlier, n))
    peak = int(np.argmax(np.fft.irfft(cross, n)))
    whole = peak - n if peak > n // 2 else peak
    turn = 2 * np.pi * np.fft.rfftfreq(n)
    rest = cross * np.exp(1j * turn * whole)
    weight = np.abs(rest)
    return float((whole - np.sum(weight * np.angle(rest) * turn) / np.sum(weight * turn**2)) / rate)


def noise(seconds: float, seed: int = 5) -> Wave:
    """White noise at WORK_RATE with the top and bottom of the band taken off."""
    wave = np.random.default_rng(seed).standard_normal(int(seconds * WORK_RATE))
    spectrum = np.fft.rfft(wave)
    f = np.fft.rfftfreq(len(wave), 1 / WORK_RATE)
    return np.asarray(np.fft.irfft(spectrum * ((f > 200) & (f < 3500)), len(wave)))


def test_sound_takes_29_15_ms_over_ten_metres() -> None:
    """Delay = distance / speed of sound; 10 m at 343 m/s is 29.155 ms (arithmetic)."""
    heard = image_sources((30, 30, 30), None, np.array([5.0, 5, 5]), np.array([15.0, 5, 5]))
    impulse = np.zeros(len(heard))
    impulse[0] = 1.0
    assert pytest.approx(10 / SPEED_OF_SOUND, abs=1e-6) == 0.029155
    assert lag_s(heard, impulse, WORK_RATE) == pytest.approx(0.029155, abs=2 * EXACT_S)


def test_level_falls_by_6_02_db_per_doubling() -> None:
    """Inverse square law: 20 log10(2) = 6.02 dB (physics)."""
    near, far = (
        float(np.max(image_sources((30, 30, 30), None, np.array([5.0, 5, 5]), np.array([5.0 + d, 5, 5]))))
        for d in (343 / 16000 * 100, 343 / 16000 * 200)
    )
    assert 20 * np.log10(near / far) == pytest.approx(6.02, abs=0.02)


def test_sabine() -> None:
    """T = 24 ln(10) / c * V / A; a room of 5 x 7 x 3 m absorbing a tenth has 1.19 s (handbook example)."""
    volume, surface = 5 * 7 * 3, 2 * (5 * 7 + 5 * 3 + 7 * 3)
    assert 24 * np.log(10) / 343.0 * volume / (0.1 * surface) == pytest.approx(1.19, abs=0.005)
    absorption, _ = pyroomacoustics.inverse_sabine(1.19, [5, 7, 3], c=343.0)
    assert absorption == pytest.approx(0.1, abs=0.001)


@pytest.mark.parametrize("name", ["garage-2m", "cellar-6m", "stage-4m", "church-12m"])
def test_rooms_ring_as_long_as_they_say(name: str) -> None:
    measured = pyroomacoustics.experimental.measure_rt60(response(name), fs=WORK_RATE, decay_db=30)
    assert measured == pytest.approx(ROOMS[name].rt60_s, rel=0.3)


@pytest.mark.parametrize("name", list(ROOMS))
def test_direct_sound_is_sample_zero(name: str) -> None:
    """Nothing comes before it, and its amplitude is 1 (the library's high pass takes some hundredths)."""
    assert response(name)[0] == pytest.approx(1.0, abs=0.07)


def test_the_floor_out_of_doors_is_heard_where_geometry_says() -> None:
    """1.2 m and 1.5 m over the floor, 6 m apart: paths of 6.007 and 6.580 m, 1.67 ms apart (Pythagoras)."""
    way = out_of_doors(6.0)
    assert way[0] == 1.0
    late_s = (np.argmax(np.abs(way[2:])) + 2 - 1) / WORK_RATE  # the middle of three taps
    assert late_s == pytest.approx((np.hypot(6, 2.7) - np.hypot(6, 0.3)) / 343.0, abs=1 / WORK_RATE)
    assert late_s == pytest.approx(1.67e-3, abs=1 / WORK_RATE)


def test_levels_are_mixed_exactly() -> None:
    wave, other = noise(2), damage.pink(2 * WORK_RATE, np.random.default_rng(1))
    mixed = wave + damage.at_level(other, damage.rms(wave), 13.0)
    assert 20 * np.log10(damage.rms(mixed - wave) / damage.rms(wave)) == pytest.approx(13.0, abs=1e-9)


def test_a_hundred_ppm_are_24_ms_in_four_minutes() -> None:
    """240 s * 1e-4 = 24 ms (arithmetic), in the truth and in the sound."""
    take = Take(0.0, 240.0, 0.0, 1.0001)
    assert take.song_at(240.0) - 240.0 == pytest.approx(0.024, abs=1e-12)
    feed = noise(242)
    heard = play(feed, 0.0, 1.0001, 240 * WORK_RATE)
    middle = slice(int(238.75 * WORK_RATE), int(239.25 * WORK_RATE))
    assert -lag_s(heard[middle], feed[middle], WORK_RATE) == pytest.approx(239 * 1e-4, abs=EXACT_S)


@pytest.mark.parametrize("speed", [1.0, 0.9997, 1001 / 1000, 25 / 24, 2.0, 0.5])
def test_any_moment_at_any_speed(speed: float) -> None:
    """A tone of known phase comes out with the phase it should have."""
    t = np.arange(4 * WORK_RATE) / WORK_RATE
    heard = play(np.sin(2 * np.pi * 700 * t), 0.1234567, speed, WORK_RATE)
    wanted = np.sin(2 * np.pi * 700 * (0.1234567 + speed * t[:WORK_RATE]))
    assert np.max(np.abs(heard - wanted)) < 2e-3


def _chance() -> np.random.Generator:
    return np.random.default_rng(9)


@pytest.mark.parametrize(
    "spoil",
    [
        lambda wave: loudspeaker(wave, _chance()),
        lambda wave: damage.automatic_gain(wave, 1.0, 30),
        lambda wave: damage.clipped(wave, 0.3),
        damage.voice_optimised,
        lambda wave: damage.lossy(wave, 64),
        lambda wave: damage.lossy(wave, 32),
        lambda wave: damage.lossy(wave, 24),
        lambda wave: phone_loudspeaker(wave, 3.0),
        lambda wave: damage.dropouts(wave, 30, _chance()),
    ],
    ids=[
        "loudspeaker",
        "gain",
        "clipping",
        "voice",
        "64 kbit/s",
        "32 kbit/s",
        "24 kbit/s",
        "phone",
        "dropouts",
    ],
)
def test_no_damage_moves_the_sound(spoil: Callable[[Wave], Wave]) -> None:
    wave = noise(4)
    spoilt = spoil(wave)
    assert len(spoilt) == len(wave)
    assert abs(lag_s(spoilt, wave, WORK_RATE)) < EXACT_S


def test_a_clean_clip_is_where_its_truth_says() -> None:
    song = LOOPS.load()
    scene = KINDS["clean"].build(song, LOOPS, "open air", _chance())
    assert scene is not None
    clip = scene.example()
    take, rate = clip.takes[0], ENGINE_RATE
    first = int(np.ceil((take.clip_start_s + 20 - clip.sound.start_s) * rate))
    begin = round(take.song_at(clip.sound.start_s + first / rate) * rate)
    heard = clip.sound.samples[0, first : first + 8 * rate].astype(np.float64)
    master = song.master[begin : begin + 8 * rate].astype(np.float64)
    told = take.song_at(clip.sound.start_s + first / rate) - begin / rate
    assert -lag_s(heard, master, rate) == pytest.approx(told, abs=EXACT_S)


def test_lost_samples_shorten_the_clip_and_bring_the_song_forward() -> None:
    song = LOOPS.load()
    scene = Scene(song, LOOPS, 30.0, _chance())
    scene.play(0.0, 0.0, 30.0)
    scene.hear(speaker=False)
    scene.lose(20.0, 480 / 48000)
    take = scene.takes[0]
    assert len(scene.wave) == 30 * WORK_RATE - 160
    assert take.song_at(10.0) == pytest.approx(10.0)
    assert take.song_at(25.0) == pytest.approx(25.01)
    assert np.allclose(scene.wave[25 * WORK_RATE :][:100], song.room_feed[25 * WORK_RATE + 160 :][:100])


def test_the_bound_is_the_published_one_for_a_flat_band() -> None:
    """sqrt(3 / (8 pi^2 T SNR (f2^3 - f1^3))): 10 s at -10 dB, 100 to 4000 Hz, is 0.771 us.

    A. H. Quazi, IEEE Trans. ASSP 29(3), 1981, equation 23, as quoted by secondary texts; paper not seen.
    """
    n, rate = 80000, 8000
    f = np.fft.rfftfreq(n, 1 / rate)
    rng = np.random.default_rng(2)
    heard = np.fft.irfft(((f >= 100) & (f < 4000)) * np.exp(2j * np.pi * rng.uniform(size=len(f))), n)
    noise_rms = damage.rms(heard) * 10**0.5 * (4000 / 3900) ** 0.5
    closed = np.sqrt(3 / (8 * np.pi**2 * 10 * 0.1 * (4000**3 - 100**3)))
    assert closed == pytest.approx(0.771e-6, abs=0.001e-6)
    assert delay_bound_s(heard, rate, noise_rms) == pytest.approx(closed, rel=0.005)


@pytest.mark.parametrize("style", ["loops", "pop"])
def test_twins_are_the_same_to_the_sample(style: str) -> None:
    song = composed(style, 1, short=True)
    assert song.twins
    for twin in song.twins:
        alike, found = likeness(song, twin.first_s + 0.5, twin.seconds - 1)
        assert alike > TWIN
        assert min(abs(start - twin.second_s - 0.5) for start in found) < 2e-4


def test_a_second_performance_has_the_notes_and_not_the_sound() -> None:
    key = SongKey("rock", 1, short=True)
    song, again = key.load(), key.played_again()
    assert again is not None
    assert [note.midi for note in song.tune] == [note.midi for note in again.tune]
    n = min(len(song.master), len(again.master))
    assert abs(np.corrcoef(song.master[:n], again.master[:n])[0, 1]) < 0.1
