"""What a camera hears: playback from a small loudspeaker, the band over it, talk, the room, itself."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.signal import butter, fftconvolve, firwin2, lfilter, resample_poly, sosfilt

from making.instruments import RATE, Wave
from making.shots import Run, Shot
from making.voices import talk

CAMERA_RATE = 48_000
RECORDER_RATE = 16_000
_FINER = 4


@dataclass(frozen=True, slots=True)
class Source:
    """Sound on a tune's clock, kept four times finer so that it can be read at any time."""

    samples: NDArray[np.float32]

    @staticmethod
    def of(sound: Wave) -> "Source":
        """Keep a mono sound at ``RATE``, set to an RMS of 0.1."""
        level = 0.1 / max(float(np.sqrt(np.mean(sound**2))), 1e-9)
        return Source(resample_poly(sound * level, _FINER, 1, window=("kaiser", 9.0)).astype(np.float32))

    def at(self, times: NDArray[np.float64]) -> Wave:
        """Sound at any times in seconds, by cubics through four neighbours; silent outside."""
        place = times * (RATE * _FINER)
        low = np.floor(place).astype(np.int64)
        x = place - low
        inside = (low >= 1) & (low < len(self.samples) - 2)
        low = np.where(inside, low, 1)
        a, b, c, d = (self.samples[low + step] for step in (-1, 0, 1, 2))
        value = b + 0.5 * x * (c - a + x * (2 * a - 5 * b + 4 * c - d + x * (3 * (b - c) + d - a)))
        return np.where(inside, value, 0.0)


def _small_loudspeaker(sound: Wave, rate: int) -> Wave:
    """No bass, a bump in the middle, dull above 7 kHz; without delay (linear phase, shifted back)."""
    corners = [0, 90, 180, 500, 1100, 1800, 3000, 6500, 9500, 24_000]
    gains = [0, 0.1, 0.8, 1.0, 1.3, 1.2, 0.9, 0.7, 0.15, 0]
    bands = np.linspace(0, rate / 2, 513)
    shape = np.interp(bands, corners, gains)
    return np.asarray(fftconvolve(sound, firwin2(1023, bands, shape, fs=rate), "same"))


def _room(far: float, rate: int, rng: np.random.Generator) -> Wave:
    """Direct sound at once, a dozen first reflections, a tail that fades 60 dB in 0.55 s."""
    time = np.arange(int(0.6 * rate)) / rate
    tail = rng.normal(0, 1, len(time)) * 10 ** (-3 * time / 0.55) * (1 - np.exp(-time / 0.012))
    tail = sosfilt(butter(1, 3500, "lowpass", fs=rate, output="sos"), tail)
    echo = far * tail / np.sqrt(np.sum(tail**2))
    for arrival in rng.uniform(0.0035, 0.040, 12):
        echo[int(arrival * rate)] += far * 0.30 * rng.choice((-1.0, 1.0)) * np.exp(-arrival / 0.03)
    echo[0] = 1.0
    return np.asarray(echo)


def _automatic_gain(sound: Wave, rate: int) -> Wave:
    """Pull the level towards -20 dB: down at once, up over two seconds, never by more than 18 dB."""
    hop = rate // 100
    power = np.sqrt(np.add.reduceat(sound**2, np.arange(0, len(sound), hop)) / hop)
    slow, level = np.zeros(len(power)), float(power[:50].mean()) + 1e-6
    for index, now in enumerate(power):
        level += (now - level) * (0.35 if now > level else 0.006)
        slow[index] = level
    gain = np.clip(0.1 / (slow + 1e-6), 0.125, 8.0) ** 0.75
    return sound * np.interp(np.arange(len(sound)), np.arange(len(power)) * hop + hop / 2, gain)


def _window(times: NDArray[np.float64], run: Run) -> Wave:
    """1 while the playback runs, with edges of 5 ms."""
    return np.clip(np.minimum(times - run.clip_start_s, run.clip_end_s - times) / 0.005, 0, 1)


def hear(
    shot: Shot, playback: Source | None, live: dict[str, Source], rate: int, rng: np.random.Generator
) -> Wave:
    """The clip's sound, mono, first sample at time 0 of the clip; full scale 1."""
    times = np.arange(round(shot.length_s * rate)) / rate
    near, played = np.zeros(len(times)), np.zeros(len(times))
    for run in shot.runs:
        song = run.song_times(times)
        window = _window(times, run)
        if playback is not None:
            near += playback.at(song) * window
        late_stop = np.clip((run.clip_end_s + 0.25 - times) / 0.3, 0, 1) * (times > run.clip_start_s)
        for player, level in shot.live_db.items():
            played += live[player].at(song) * 10 ** (level / 20) * late_stop
    near = fftconvolve(_small_loudspeaker(near, rate), _room(shot.far, rate, rng))[: len(times)]
    played = fftconvolve(played, _room(0.8 * shot.far, rate, rng))[: len(times)]
    spoken = np.zeros(len(times))
    for start, end in shot.talk_s:
        words = resample_poly(talk(end - start, rng), rate // 50, RATE // 50)
        first = round(start * rate)
        words = words[: len(spoken) - first]
        spoken[first : first + len(words)] += words * 0.25 * 10 ** (shot.talk_db / 20)
    spoken = fftconvolve(spoken, _room(0.7, rate, rng))[: len(times)]
    hiss = lfilter([1.0], [1.0, -0.85], rng.normal(0, 1, len(times)))
    hiss = hiss / np.std(hiss) + 0.3 * np.sin(2 * np.pi * 100 * times)
    heard = near + played + spoken + hiss * 0.1 * 10 ** (shot.noise_db / 20)
    loud = _automatic_gain(heard, rate) * 1.6
    return np.asarray(np.tanh(loud * 1.1) * 0.85)
