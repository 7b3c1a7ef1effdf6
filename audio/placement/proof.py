"""Song and take around moments of a take, on one time axis: curves for the eye, and the lag measured there.

Both are resampled onto the song's clock along the take's line, to a fraction of a sample. *Late* is how much
later than the line says the song arrives in the take: positive where the take runs behind.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import scipy.fft
import scipy.ndimage
import scipy.signal
from numpy.typing import NDArray

from audio.line import Line
from audio.placement.direct_sound import UPSAMPLING, direct_sound, upsampled, vertex
from audio.placement.impulse_response import POWER_FLOOR
from audio.placement.line_fit import BANDWIDTH, prediction_score
from audio.play.interpolation import read_at
from audio.signals import Samples
from audio.whitening import whiten

SHOWN_S = 0.15
"""The curves show this much on either side of a moment. Chosen by hand: a few pictures."""
SLIDE_S = 0.5
"""The take's curve is longer by this on either side, so that it can be slid by hand."""
COMPARED_S = 4.0
"""A lag is measured over this much on either side of a moment. Chosen by hand: longer is more certain,
shorter shows where a lag changes."""
NEAR_S = 0.2
"""Lags are searched within this of the line."""
SURE = 8.0
"""Standard deviations above chance at which a lag counts as measured (as REAL in `direct_sound`)."""
FLOOR_S = 0.0001
"""Least standard deviation of a lag (s)."""
STEP_S = 0.0005
"""Distance of the points of the curves (s)."""
FIT_WIDE_S = 0.0015
"""Peaks of the fit's curve are widened to this, or they would be too thin to see."""
SILENT = 0.003
"""Share of the loudest moment (-50 dB) below which a curve is drawn as silence."""
LIFT = 0.75
"""Exponent on the drawn loudness (no unit): below 1 it raises faint onsets beside strong ones. Chosen by
eye."""
AROUND_S = 0.1
"""Onset strength is loudness relative to its mean over about this much. Chosen by eye."""
SMOOTH_S = 0.002
"""Loudness is smoothed over this (standard deviation), well below a frame of picture."""
_TEMPLATE_S = 0.03
"""Half-length of the template: the direct sound and early reflections (s)."""
_LOW_HZ, _HIGH_HZ, _BANDS = 120.0, 3600.0, 20
"""Bands whose coherence weights the drawn loudness. Chosen by hand."""
_PATCH = 512
"""Samples of an STFT frame: 64 ms."""


@dataclass(frozen=True, slots=True, eq=False)
class Proof:
    """Song and take around one moment."""

    clip_s: float
    song_s: float
    """The moment, in clip and song time (s)."""
    song: NDArray[np.float32]
    """Shape (2 SHOWN_S / STEP_S + 1,): onset strength of the song, 0 to 1, from SHOWN_S before the moment
    on."""
    take: NDArray[np.float32]
    """The same of the take, from SHOWN_S + SLIDE_S before the moment to as much after it."""
    fit: NDArray[np.float32]
    """Shape (2 SLIDE_S / STEP_S + 1,): how well the take would fit if it were shifted by -SLIDE_S … SLIDE_S
    (s of song); in standard deviations above chance."""
    late_s: float | None
    """Lag (s); None where none can be measured."""
    uncertainty_s: float
    """Half-width (s) that holds the lag about 95 times in 100."""
    strength: float
    """Standard deviations above chance."""
    silent: bool = False
    """The take has no sound there, or only zeros: only the song can be drawn."""


@dataclass(frozen=True, slots=True, eq=False)
class Window:
    """Song and take around a moment, whitened and cross-correlated."""

    clip_s: float
    song_s: float
    """The moment, in clip and song time (s)."""
    rate: int
    """Samples a second."""
    song: Samples
    take: Samples
    """Shapes (n + 2 edge,), (n,): both on the song's clock, not whitened."""
    before: int
    """Samples before the moment."""
    edge: int
    """Samples that ``song`` has more on either side than ``take``."""
    halves: NDArray[np.float32]
    """Shape (2, 2 edge + 1): impulse responses over lag, deconvolved, of the odd and of the even seconds."""
    noise: tuple[float, float]
    """RMS of chance in each."""

    @property
    def impulse_response(self) -> NDArray[np.float32]:
        """Shape (2 edge + 1,): that of all seconds."""
        return np.asarray(self.halves.sum(axis=0), np.float32)

    @property
    def chance(self) -> float:
        """RMS of chance in ``impulse_response``."""
        return float(np.hypot(*self.noise))

    @property
    def height(self) -> float:
        """Highest peak near the line, in units of ``chance``."""
        return float(np.abs(_near(self)).max() / self.chance) if self.chance > 0 else 0.0


def window(
    song: Samples, piece: Samples, piece_start_s: float, rate: int, line: Line, clip_s: float,
    span: tuple[float, float],
) -> Window:  # fmt: skip
    """Cross-correlate song and take around a moment.

    Parameters
    ----------
    song : float32, shape (n,)
        The whole song.
    piece : float32, shape (m,)
        A piece of the clip, its first sample at clip time ``piece_start_s``; outside it is silence.
    line : Line
        The take's line.
    clip_s : float
        The moment (clip time, s).
    span : (float, float)
        Start and end of the take (clip time, s): only what lies between is compared.
    """
    at_s = line.song_time(clip_s)
    low_s, high_s = (line.song_time(one) for one in span)
    before = round(min(max(at_s - low_s, SHOWN_S + SLIDE_S), COMPARED_S) * rate)
    after = round(min(max(high_s - at_s, SHOWN_S + SLIDE_S), COMPARED_S) * rate)
    edge = round(SLIDE_S * rate)
    steps = np.arange(-before - edge, after + edge + 1)
    dry = read_at(song, np.asarray(at_s * rate + steps, np.float64))
    clip_times = np.asarray(clip_s + steps[edge : len(steps) - edge] / (rate * line.speed), np.float64)
    wet = read_at(piece, (clip_times - piece_start_s) * rate, 1 / line.speed)
    white_song, white_take = whiten(dry, rate), whiten(wet, rate)
    inside = (clip_times >= span[0]) & (clip_times <= span[1])
    odd = np.arange(len(wet)) // rate % 2 == 1
    parts = [np.where(inside & one, white_take, np.float32(0)) for one in (odd, ~odd)]
    halves, noise = _impulse_responses(white_song, parts, edge)
    return Window(clip_s, at_s, rate, dry, wet, before, edge, halves, noise)


def prove(windows: Sequence[Window]) -> list[Proof]:
    """Measure the lags at several moments of one take by one common template, and make their curves."""
    if not windows:
        return []
    best = max(windows, key=lambda one: one.height)
    rate = best.rate
    reach = round(NEAR_S * rate)
    # `direct_sound` expects lags in song time, in which later arrivals come earlier.
    position, ambiguity = direct_sound(_near(best)[::-1].copy(), rate, best.chance)
    direct = 2 * reach - position
    template = _template(best, direct)
    proofs = []
    for one in windows:
        late = _template_lag(one, template, direct)
        strength = _strength(one, late)
        sd_s = 1 / (BANDWIDTH * max(strength, 1e-3))
        measured = strength >= SURE
        proofs.append(
            Proof(
                clip_s=one.clip_s,
                song_s=one.song_s,
                **_curves(one, late if measured else 0.0),
                fit=_fit(one),
                late_s=late / rate if measured else None,
                uncertainty_s=2 * float(np.hypot(sd_s, FLOOR_S)) + ambiguity / rate,
                strength=strength,
                silent=not one.take.any(),
            )
        )
    return proofs


def song_alone(song: Samples, rate: int, line: Line, moments: Sequence[float]) -> list[Proof]:
    """Curves of the song around moments (clip time, s) of a take without sound; see `window`."""
    around = round((COMPARED_S + AROUND_S) * rate)
    shown, step = round(SHOWN_S * rate), round(STEP_S * rate)
    found = []
    for clip_s in moments:
        at_s = line.song_time(clip_s)
        dry = read_at(song, np.asarray(at_s * rate + np.arange(-around, around + 1), np.float64))
        onsets = _onset_strength(_loudness(dry, _coherence(dry, np.zeros_like(dry), rate), rate), rate)
        part = onsets[around - shown : around + shown + 1]
        found.append(
            Proof(
                clip_s=clip_s,
                song_s=at_s,
                song=_scaled(part, shown, SILENT * onsets.max())[::step],
                take=np.zeros(round(2 * (SHOWN_S + SLIDE_S) / STEP_S) + 1, np.float32),
                fit=np.zeros(round(2 * SLIDE_S / STEP_S) + 1, np.float32),
                late_s=None,
                uncertainty_s=0.0,
                strength=0.0,
                silent=True,
            )
        )
    return found


def _impulse_responses(
    song: Samples, takes: Sequence[Samples], edge: int
) -> tuple[NDArray[np.float32], tuple[float, float]]:
    """Impulse responses of two parts of a take for every lag of up to ``edge`` samples, divided by the song's
    power spectrum, and the RMS of chance in each."""
    size, lags = scipy.fft.next_fast_len(len(song) + edge, real=True), 2 * edge + 1
    dry = scipy.fft.rfft(song, size)
    own = np.roll(scipy.fft.irfft(np.square(np.abs(dry)), size), edge)[:lags]
    song_power = np.abs(scipy.fft.rfft(np.fft.ifftshift(own * np.hanning(lags))))
    song_power /= song_power.mean() + 1e-20
    weight = 1 / (song_power + POWER_FLOOR)
    raised = float(np.sqrt((song_power * weight**2).mean() * np.dot(song, song) / max(1, len(song))))
    halves, noise = [], []
    for take in takes:
        impulse_response = scipy.fft.irfft(np.conj(dry) * scipy.fft.rfft(take, size), size)
        # Sample 0 of the take is sample ``edge`` of the song; a later take has a higher index.
        impulse_response = np.roll(impulse_response, 2 * edge)[:lags]
        halves.append(scipy.fft.irfft(scipy.fft.rfft(impulse_response) * weight, lags))
        noise.append(raised * float(np.sqrt(np.dot(take, take))))
    return np.asarray(halves, np.float32), (noise[0], noise[1])


def _near(one: Window) -> NDArray[np.float32]:
    reach = round(NEAR_S * one.rate)
    return one.impulse_response[one.edge - reach : one.edge + reach + 1]


def _template(best: Window, direct: float) -> NDArray[np.float32]:
    """The strongest moment's impulse response around its direct sound, of norm 1."""
    near = _near(best)
    high = max(4 * best.chance, 0.2 * float(np.abs(near).max()))
    template = np.where(np.abs(near) > high, near, np.float32(0))
    if not template.any():
        template = near
    away = np.abs(np.arange(len(near)) - direct)
    template = np.where(away < _TEMPLATE_S * best.rate, template, np.float32(0))
    return np.asarray(template / (np.sqrt(np.dot(template, template)) + 1e-20), np.float32)


def _template_lag(one: Window, template: NDArray[np.float32], direct: float) -> float:
    """Lag (samples) of a moment by matching the template."""
    near = _near(one)
    size = 2 * len(near)
    agreement = scipy.fft.irfft(np.conj(scipy.fft.rfft(template, size)) * scipy.fft.rfft(near, size), size)
    fine = upsampled(np.fft.fftshift(agreement).astype(np.float32))
    middle, reach = size // 2 * UPSAMPLING, len(near) // 2
    low = max(0, middle - round(direct * UPSAMPLING))
    part = fine[low : low + 2 * reach * UPSAMPLING + 1]
    best = int(part.argmax())
    return direct - reach + (best + low - middle + vertex(part, best)) / UPSAMPLING


def _strength(one: Window, late: float) -> float:
    """Standard deviations above chance at a lag (samples), by split-half cross-validation."""
    if min(one.noise) <= 0:
        return 0.0
    width, middle = round(_TEMPLATE_S * one.rate), one.edge + round(late)
    part = one.halves[:, max(0, middle - width) : middle + width + 1]
    score = sum(prediction_score(part[a], one.noise[a], part[b], one.noise[b]) for a, b in ((0, 1), (1, 0)))
    return max(0.0, score / 2**0.5)


def _fit(one: Window) -> NDArray[np.float32]:
    """How well the take fits if shifted: a take that is late has to be shifted back."""
    if one.chance <= 0:
        return np.zeros(round(2 * SLIDE_S / STEP_S) + 1, np.float32)
    height = scipy.ndimage.maximum_filter1d(np.abs(one.impulse_response[::-1]), round(FIT_WIDE_S * one.rate))
    step = round(STEP_S * one.rate)
    return np.asarray(height[::step] / one.chance, np.float32)


def _curves(one: Window, late: float) -> dict[str, NDArray[np.float32]]:
    """Onset strength of song and take through one filter, which passes the bands in which both agree."""
    take, edge = one.take, one.edge
    song = one.song[edge : len(one.song) - edge]
    moved = scipy.ndimage.shift(take, -late, order=1) if late else take
    gain = _coherence(song, moved, one.rate)
    shown, slide = round(SHOWN_S * one.rate), round((SHOWN_S + SLIDE_S) * one.rate)
    step = round(STEP_S * one.rate)
    dry, wet = _loudness(one.song, gain, one.rate), _loudness(take, gain, one.rate)
    dry, wet = _onset_strength(dry, one.rate), _onset_strength(wet, one.rate)
    middle = one.before + edge
    return {
        "song": _scaled(dry[middle - shown : middle + shown + 1], shown, SILENT * dry.max())[::step],
        "take": _scaled(wet[one.before - slide : one.before + slide + 1], shown, SILENT * wet.max())[::step],
    }


def _coherence(song: Samples, take: Samples, rate: int) -> NDArray[np.float64]:
    """Weight of each frequency, 0 to 1, shape (_PATCH // 2 + 1,): coherence of song and take, each band made
    equally loud. Without any coherence all count."""
    spectra = [
        scipy.signal.stft(one, rate, nperseg=_PATCH, noverlap=_PATCH * 3 // 4, boundary=None)
        for one in (song, take)
    ]
    frequency, dry, wet = spectra[0][0], spectra[0][2], spectra[1][2]
    edges = np.geomspace(_LOW_HZ, _HIGH_HZ, _BANDS + 1)
    band = np.digitize(frequency, edges)
    weight = np.zeros(len(frequency))
    loud = np.zeros(len(frequency))
    for number in range(1, _BANDS + 1):
        rows = band == number
        if not rows.any():
            continue
        a, b = dry[rows], wet[rows]
        both = np.sqrt(np.square(np.abs(a)).sum() * np.square(np.abs(b)).sum()) + 1e-20
        # Frames overlap by three quarters: of four, one is independent.
        chance = 2 / np.sqrt(max(1.0, a.size / 4))
        weight[rows] = max(0.0, float(np.abs((a * np.conj(b)).sum()) / both) - chance)
        # Emphasises the few bands that carry the song above the noise.
        weight[rows] **= 3
        loud[rows] = np.sqrt(np.square(np.abs(a)).mean())
    if not weight.any():
        weight[(band > 0) & (band <= _BANDS)] = 1.0
    weight /= weight.max()
    floor = 0.05 * loud.max() + 1e-12
    return np.asarray(weight / np.maximum(loud, floor) * floor)


def _loudness(samples: Samples, gain: NDArray[np.float64], rate: int) -> NDArray[np.float64]:
    """Envelope of the samples through a zero-phase filter with this gain; shape of the samples."""
    size = scipy.fft.next_fast_len(len(samples) + _PATCH, real=False)
    frequency = scipy.fft.rfftfreq(size) * 2 * (len(gain) - 1)
    spectrum = scipy.fft.rfft(samples, size) * np.interp(frequency, np.arange(len(gain)), gain)
    # The analytic signal: twice the positive frequencies, none of the negative ones.
    whole = np.zeros(size, complex)
    whole[: len(spectrum)] = 2 * spectrum
    loud = np.abs(scipy.fft.ifft(whole))[: len(samples)]
    return np.asarray(scipy.ndimage.gaussian_filter1d(loud, SMOOTH_S * rate))


def _onset_strength(loud: NDArray[np.float64], rate: int) -> NDArray[np.float64]:
    """How much louder each moment is than what is around it, so that onsets stand out of held notes."""
    # Two running means approximate a Gaussian at a fraction of its cost.
    width = round(AROUND_S * rate)
    around = scipy.ndimage.uniform_filter1d(scipy.ndimage.uniform_filter1d(loud, width), width)
    floor = SILENT * float(loud.max(initial=0)) + 1e-12
    return np.asarray(np.maximum(loud - 0.6 * around, 0) * np.sqrt(1 / np.maximum(around, floor)))


def _scaled(loud: NDArray[np.float64], shown: int, silent: float) -> NDArray[np.float32]:
    """Onset strength as it is drawn: faint onsets raised (see LIFT); 1 is the most within what is shown."""
    middle = len(loud) // 2
    most = float(loud[middle - shown : middle + shown + 1].max(initial=0))
    if most <= silent:
        return np.zeros(len(loud), np.float32)
    return np.asarray(np.minimum(loud / most, 4.0) ** LIFT, np.float32)
