"""What happens to the sound between the band and the file: noises around it, and what a camera does to it.

Noises are made at RMS 1 over their whole length; ``at_level`` sets them against the playback. What a camera
does keeps every sample in its place (codecs have their delay taken off, which a test measures).
"""

import io

import av
import numpy as np
from scipy import signal

from tests.quality.instruments import Wave, fade, mix
from tests.quality.songs import WORK_RATE, to_rate


def rms(wave: Wave) -> float:
    """Root mean square of a wave."""
    return float(np.sqrt(np.mean(np.square(wave)))) if len(wave) else 0.0


def at_level(wave: Wave, reference: float, over_db: float) -> Wave:
    """Scale a wave to an RMS ``over_db`` above a reference RMS.

    >>> round(rms(at_level(np.array([1.0, -1.0]), 0.5, -20.0)), 6)
    0.05
    """
    return np.asarray(wave * (reference * 10 ** (over_db / 20) / max(1e-12, rms(wave))))


def white(n: int, rng: np.random.Generator) -> Wave:
    """White noise, RMS 1."""
    return rng.standard_normal(n)


def pink(n: int, rng: np.random.Generator) -> Wave:
    """Noise falling 3 dB an octave (a recursive filter known since long; coefficients from memory)."""
    shaped = signal.lfilter(
        [0.049922035, -0.095993537, 0.050612699, -0.004408786],
        [1, -2.494956002, 2.017265875, -0.522189400],
        white(n, rng),
    )
    return np.asarray(shaped / rms(shaped))


def room_tone(n: int, rng: np.random.Generator) -> Wave:
    """Air and mains hum of an empty room."""
    return pink(n, rng) + 0.3 * hum(n, 50.0)


def wind(n: int, rng: np.random.Generator) -> Wave:
    """Wind on an unprotected microphone: deep noise in gusts, and knocks and rustle of the hand."""
    deep = signal.sosfilt(signal.butter(1, 90, fs=WORK_RATE, output="sos"), pink(n, rng))
    seconds = n / WORK_RATE
    knots = rng.gamma(0.6, 1.0, int(seconds / 0.4) + 3)
    gusts = np.interp(np.arange(n) / WORK_RATE, np.arange(len(knots)) * 0.4, knots)
    wave = gusts * (deep / rms(deep) + 0.08 * white(n, rng))
    for at in rng.uniform(0, seconds, int(seconds / 4) + 1):
        length = int(rng.uniform(0.03, 0.3) * WORK_RATE)
        knock = signal.lfilter([0.1], [1, -0.9], rng.standard_normal(length)) * np.exp(
            -np.arange(length) / 400
        )
        mix(wave, float(at), WORK_RATE, rng.uniform(2, 8) * fade(knock, WORK_RATE))
    return np.asarray(wave / rms(wave))


def hum(n: int, mains_hz: float) -> Wave:
    """Mains hum of a whole number of Hz with its odd overtones, RMS 1."""
    period = WORK_RATE // int(np.gcd(WORK_RATE, round(mains_hz)))
    t = np.arange(period) / WORK_RATE
    partials = np.array([np.sin(2 * np.pi * mains_hz * k * t + k) / k**0.7 for k in (1, 2, 3, 5, 7, 9, 11)])
    wave = np.resize(partials.sum(axis=0), n)
    return np.asarray(wave / rms(wave))


def automatic_gain(wave: Wave, release_s: float, most_db: float) -> Wave:
    """A recorder's gain riding: down at once on loud sound, up slowly, at most ``most_db``, in quiet."""
    step = WORK_RATE // 500
    blocks = np.abs(wave[: len(wave) // step * step]).reshape(-1, step).max(axis=1)
    fall = np.exp(-step / WORK_RATE / release_s)
    held, level = np.empty(len(blocks)), 0.0
    for k, peak in enumerate(blocks.tolist()):
        level = peak if peak > level else max(peak, level * fall)
        held[k] = level
    loudest = max(1e-12, float(blocks.max()))
    gain = np.minimum(0.7 / np.maximum(held, 1e-12), 0.7 / loudest * 10 ** (most_db / 20))
    return np.asarray(wave * np.interp(np.arange(len(wave)), (np.arange(len(gain)) + 0.5) * step, gain))


def clipped(wave: Wave, share: float) -> Wave:
    """Cut the tops off so that the given share of all samples sits at full scale (1.0)."""
    top = max(1e-12, float(np.quantile(np.abs(wave), 1 - share)))
    return np.clip(wave / top, -1.0, 1.0)


def voice_optimised(wave: Wave) -> Wave:
    """A telephone's idea of clean sound: 200 to 3800 Hz, each band shut where it is near its quiet level."""
    f, _, bins = signal.stft(wave, WORK_RATE, nperseg=512)
    power = np.abs(bins)
    floor = np.quantile(power, 0.35, axis=1, keepdims=True)
    opened = signal.lfilter([0.3], [1, -0.7], (power > 1.6 * floor).astype(np.float64), axis=1)
    band = ((f > 200) & (f < 3800))[:, None]
    _, out = signal.istft(bins * band * np.maximum(0.06, opened), WORK_RATE, nperseg=512)
    return np.asarray(out[: len(wave)])


def lossy(wave: Wave, kbit_s: int) -> Wave:
    """Through AAC at 48 kHz in an MP4 in memory and back, the coder's run-in taken off by the edit list."""
    full = to_rate(wave, WORK_RATE, 48000)
    scale = 0.9 / max(1e-12, float(np.max(np.abs(full))))
    file = io.BytesIO()
    with av.open(file, "w", format="mp4") as container:
        stream = container.add_stream("aac", rate=48000, layout="mono")
        stream.bit_rate = kbit_s * 1000
        frame = av.AudioFrame.from_ndarray((full * scale).astype(np.float32)[None], "fltp", "mono")
        frame.sample_rate, frame.pts = 48000, 0
        for packet in (*stream.encode(frame), *stream.encode(None)):
            container.mux(packet)
    file.seek(0)
    with av.open(file, "r") as coded:
        pieces = [frame.to_ndarray()[0] for frame in coded.decode(audio=0)]
    back = np.concatenate(pieces).astype(np.float64)[: len(full)]
    back = np.pad(back, (0, len(full) - len(back))) / scale
    return to_rate(back, 48000, WORK_RATE)[: len(wave)]


def without(wave: Wave, at_s: float, seconds: float) -> Wave:
    """Lose a stretch of samples, as a recorder does whose card is too slow."""
    first = round(at_s * WORK_RATE)
    return np.concatenate([wave[:first], wave[first + round(seconds * WORK_RATE) :]])


def dropouts(wave: Wave, a_minute: float, rng: np.random.Generator) -> Wave:
    """Mute a wave for 20 to 400 ms, so many times a minute on average; nothing moves."""
    out = wave.copy()
    for _ in range(max(1, round(len(wave) / WORK_RATE / 60 * a_minute))):
        first, length = int(rng.integers(len(wave))), int(rng.uniform(0.02, 0.4) * WORK_RATE)
        out[first : first + length] = 0.0
    return out


def timecode(n: int, frames: int, first_frame: int) -> Wave:
    """Linear timecode as recorded on a sound track: 80 bits a frame, two half-waves of level for a one.

    Biphase mark coding and the sync word 0011 1111 1111 1101 at a frame's end are SMPTE ST 12-1's; the other
    bits hold no real time here.
    """
    bits = frames * 80 * (n // WORK_RATE + 2)
    word = np.random.default_rng(first_frame).integers(0, 2, (bits // 80, 80))
    word[:, 64:] = [int(bit) for bit in "0011111111111101"]
    flips = np.ones((bits, 2), dtype=np.int64)  # one at every bit's start, one in the middle of a one
    flips[:, 1] = word.ravel()
    level = 1 - 2 * (np.cumsum(flips.ravel()) % 2)
    place = np.arange(n) / WORK_RATE * frames * 160
    return np.asarray(signal.lfilter([0.6], [1, -0.4], level[place.astype(np.int64)].astype(np.float64)))
