"""Song and take around moments of a take, on one time axis: what the eye compares, and the lag there.

Both are brought onto the song's clock along the take's line, to a fraction of a sample. *Late* is how much
later than the line says the song is heard in the take: positive where the take runs behind.
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
from audio.play.between import read_at
from audio.signals import Samples
from audio.whitening import whiten

SHOWN_S = 0.15
"""The eye is shown this much on either side of a moment."""
SLIDE_S = 0.5
"""As much more of the take is given on either side, so that it can be slid by hand."""
HEARD_S = 4.0
"""A lag is measured by this much on either side of a moment."""
NEAR_S = 0.2
"""Lags are looked for within this of the line."""
SURE = 8.0
"""Standard deviations above chance at which a lag counts as measured (as REAL in `direct`)."""
FLOOR_S = 0.0001
STEP_S = 0.0005
"""Distance of the points of the curves."""
FIT_WIDE_S = 0.0015
"""The fit's hill is drawn so wide at least, or it would be a hair."""
SILENT = 0.003
"""Of the loudest heard about a moment (-50 dB): less is drawn as silence."""
LIFT = 0.75
AROUND_S = 0.1
"""What a moment is held against to see whether it is a hit."""
SMOOTH_S = 0.002
"""Loudness is smoothed over so much, well below a frame."""
_TEMPLATE_S = 0.03
_LOW_HZ, _HIGH_HZ, _BANDS = 120.0, 3600.0, 20
_PATCH = 512


@dataclass(frozen=True, slots=True, eq=False)
class Proof:
    """What song and take are like around one moment."""

    clip_s: float
    song_s: float
    song: NDArray[np.float32]
    """Shape (2 SHOWN_S / STEP_S + 1,): how loud the song is, 0 to 1, from SHOWN_S before the moment on."""
    take: NDArray[np.float32]
    """The same of the take, from SHOWN_S + SLIDE_S before the moment to as much after it."""
    fit: NDArray[np.float32]
    """Shape (2 SLIDE_S / STEP_S + 1,): how well the take would fit if it were moved by -SLIDE_S … SLIDE_S
    seconds of song; in standard deviations above chance."""
    late_s: float | None
    """None where no lag can be made out."""
    uncertainty_s: float
    """Half-width that holds the lag about 95 times in 100."""
    strength: float
    """Standard deviations above chance."""
    silent: bool = False
    """The take has no sound there, or nothing but zeros: only the song is there to be drawn."""


@dataclass(frozen=True, slots=True, eq=False)
class Window:
    """Song and take around a moment, evened out and compared."""

    clip_s: float
    song_s: float
    rate: int
    song: Samples
    take: Samples
    """Shape (n,), the same moments of both on the song's clock, as they are."""
    before: int
    """Samples before the moment."""
    edge: int
    """Samples that ``song`` has more on either side than ``take``."""
    halves: NDArray[np.float32]
    """Shape (2, 2 edge + 1): agreement over how late the take is, without the song's own colour, of every
    other second and of the seconds between."""
    noise: tuple[float, float]
    """RMS of chance in each."""

    @property
    def response(self) -> NDArray[np.float32]:
        """Shape (2 edge + 1,): the agreement of all."""
        return np.asarray(self.halves.sum(axis=0), np.float32)

    @property
    def chance(self) -> float:
        """RMS of chance in that."""
        return float(np.hypot(*self.noise))

    @property
    def height(self) -> float:
        """Height of the best agreement near the line, in units of chance."""
        return float(np.abs(_near(self)).max() / self.chance) if self.chance > 0 else 0.0


def window(
    song: Samples, piece: Samples, piece_start_s: float, rate: int, line: Line, clip_s: float,
    span: tuple[float, float],
) -> Window:  # fmt: skip
    """Compare song and take around a moment.

    Parameters
    ----------
    song : float32, shape (n,)
        The whole song.
    piece : float32, shape (m,)
        A piece of the clip, its first sample at ``piece_start_s`` of the clip; outside it is silence.
    line : ClockLine
        The take's line.
    clip_s : float
        The moment.
    span : (float, float)
        Start and end of the take (clip time): only what lies between is compared.
    """
    at_s = line.song_time(clip_s)
    low_s, high_s = (line.song_time(one) for one in span)
    before = round(min(max(at_s - low_s, SHOWN_S + SLIDE_S), HEARD_S) * rate)
    after = round(min(max(high_s - at_s, SHOWN_S + SLIDE_S), HEARD_S) * rate)
    edge = round(SLIDE_S * rate)
    steps = np.arange(-before - edge, after + edge + 1)
    dry = read_at(song, np.asarray(at_s * rate + steps, np.float64))
    clip_times = np.asarray(clip_s + steps[edge : len(steps) - edge] / (rate * line.speed), np.float64)
    wet = read_at(piece, (clip_times - piece_start_s) * rate, 1 / line.speed)
    flat_song, flat_take = whiten(dry, rate), whiten(wet, rate)
    inside = (clip_times >= span[0]) & (clip_times <= span[1])
    odd = np.arange(len(wet)) // rate % 2 == 1
    parts = [np.where(inside & one, flat_take, np.float32(0)) for one in (odd, ~odd)]
    halves, noise = _responses(flat_song, parts, edge)
    return Window(clip_s, at_s, rate, dry, wet, before, edge, halves, noise)


def prove(windows: Sequence[Window]) -> list[Proof]:
    """Measure the lags of several moments of one take against each other, and make all ready to be drawn."""
    if not windows:
        return []
    best = max(windows, key=lambda one: one.height)
    rate = best.rate
    reach = round(NEAR_S * rate)
    # Later in the microphone is earlier in the song: the direct sound is looked for backwards.
    place, doubt = direct_sound(_near(best)[::-1].copy(), rate, best.chance)
    direct = 2 * reach - place
    template = _template(best, direct)
    proofs = []
    for one in windows:
        late = _match(one, template, direct)
        strength = _strength(one, late)
        sd_s = 1 / (BANDWIDTH * max(strength, 1e-3))
        seen = strength >= SURE
        proofs.append(
            Proof(
                clip_s=one.clip_s,
                song_s=one.song_s,
                **_curves(one, late if seen else 0.0),
                fit=_fit(one),
                late_s=late / rate if seen else None,
                uncertainty_s=2 * float(np.hypot(sd_s, FLOOR_S)) + doubt / rate,
                strength=strength,
                silent=not one.take.any(),
            )
        )
    return proofs


def song_alone(song: Samples, rate: int, line: Line, moments: Sequence[float]) -> list[Proof]:
    """What the song is like around moments of a take without sound (clip time); see `window`."""
    around = round((HEARD_S + AROUND_S) * rate)
    shown, step = round(SHOWN_S * rate), round(STEP_S * rate)
    found = []
    for clip_s in moments:
        at_s = line.song_time(clip_s)
        dry = read_at(song, np.asarray(at_s * rate + np.arange(-around, around + 1), np.float64))
        loud = _hits(_loudness(dry, _agreeing(dry, np.zeros_like(dry), rate), rate), rate)
        part = loud[around - shown : around + shown + 1]
        found.append(
            Proof(
                clip_s=clip_s,
                song_s=at_s,
                song=_scaled(part, shown, SILENT * loud.max())[::step],
                take=np.zeros(round(2 * (SHOWN_S + SLIDE_S) / STEP_S) + 1, np.float32),
                fit=np.zeros(round(2 * SLIDE_S / STEP_S) + 1, np.float32),
                late_s=None,
                uncertainty_s=0.0,
                strength=0.0,
                silent=True,
            )
        )
    return found


def _responses(
    song: Samples, takes: Sequence[Samples], edge: int
) -> tuple[NDArray[np.float32], tuple[float, float]]:
    """Agreement of two parts of a take with the song for every lateness of up to ``edge`` samples, and the
    noise of each."""
    size, lags = scipy.fft.next_fast_len(len(song) + edge, real=True), 2 * edge + 1
    dry = scipy.fft.rfft(song, size)
    own = np.roll(scipy.fft.irfft(np.square(np.abs(dry)), size), edge)[:lags]
    song_power = np.abs(scipy.fft.rfft(np.fft.ifftshift(own * np.hanning(lags))))
    song_power /= song_power.mean() + 1e-20
    even = 1 / (song_power + POWER_FLOOR)
    raised = float(np.sqrt((song_power * even**2).mean() * np.dot(song, song) / max(1, len(song))))
    halves, noise = [], []
    for take in takes:
        agreement = scipy.fft.irfft(np.conj(dry) * scipy.fft.rfft(take, size), size)
        # Sample 0 of the take is sample ``edge`` of the song; later takes come at higher places.
        agreement = np.roll(agreement, 2 * edge)[:lags]
        halves.append(scipy.fft.irfft(scipy.fft.rfft(agreement) * even, lags))
        noise.append(raised * float(np.sqrt(np.dot(take, take))))
    return np.asarray(halves, np.float32), (noise[0], noise[1])


def _near(one: Window) -> NDArray[np.float32]:
    reach = round(NEAR_S * one.rate)
    return one.response[one.edge - reach : one.edge + reach + 1]


def _template(best: Window, direct: float) -> NDArray[np.float32]:
    """What the strongest moment's sound is like around its direct sound; of norm 1."""
    near = _near(best)
    high = max(4 * best.chance, 0.2 * float(np.abs(near).max()))
    kept = np.where(np.abs(near) > high, near, np.float32(0))
    if not kept.any():
        kept = near
    away = np.abs(np.arange(len(near)) - direct)
    kept = np.where(away < _TEMPLATE_S * best.rate, kept, np.float32(0))
    return np.asarray(kept / (np.sqrt(np.dot(kept, kept)) + 1e-20), np.float32)


def _match(one: Window, template: NDArray[np.float32], direct: float) -> float:
    """How late (samples) a moment is, its sound being like the template's."""
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
    """How far above chance a moment agrees at a lateness: one half predicted from the other, both ways."""
    if min(one.noise) <= 0:
        return 0.0
    width, middle = round(_TEMPLATE_S * one.rate), one.edge + round(late)
    part = one.halves[:, max(0, middle - width) : middle + width + 1]
    told = sum(prediction_score(part[a], one.noise[a], part[b], one.noise[b]) for a, b in ((0, 1), (1, 0)))
    return max(0.0, told / 2**0.5)


def _fit(one: Window) -> NDArray[np.float32]:
    """How well the take fits if moved: where it is late by so much, it has to be moved back by as much."""
    if one.chance <= 0:
        return np.zeros(round(2 * SLIDE_S / STEP_S) + 1, np.float32)
    height = scipy.ndimage.maximum_filter1d(np.abs(one.response[::-1]), round(FIT_WIDE_S * one.rate))
    step = round(STEP_S * one.rate)
    return np.asarray(height[::step] / one.chance, np.float32)


def _curves(one: Window, late: float) -> dict[str, NDArray[np.float32]]:
    """Loudness of song and take through one filter: the pitches count in which the two agree."""
    take, edge = one.take, one.edge
    song = one.song[edge : len(one.song) - edge]
    moved = scipy.ndimage.shift(take, -late, order=1) if late else take
    gain = _agreeing(song, moved, one.rate)
    shown, slide = round(SHOWN_S * one.rate), round((SHOWN_S + SLIDE_S) * one.rate)
    step = round(STEP_S * one.rate)
    dry, wet = _loudness(one.song, gain, one.rate), _loudness(take, gain, one.rate)
    dry, wet = _hits(dry, one.rate), _hits(wet, one.rate)
    middle = one.before + edge
    return {
        "song": _scaled(dry[middle - shown : middle + shown + 1], shown, SILENT * dry.max())[::step],
        "take": _scaled(wet[one.before - slide : one.before + slide + 1], shown, SILENT * wet.max())[::step],
    }


def _agreeing(song: Samples, take: Samples, rate: int) -> NDArray[np.float64]:
    """Weight of each frequency of a patch, 0 to 1, shape (_PATCH // 2 + 1,): how alike song and take are
    there, each band made equally loud. Without any likeness all count."""
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
        # Patches overlap by three quarters: of four, one is news.
        chance = 2 / np.sqrt(max(1.0, a.size / 4))
        weight[rows] = max(0.0, float(np.abs((a * np.conj(b)).sum()) / both) - chance)
        # The few bands that carry the song under the noise are to be seen, not the many that hardly do.
        weight[rows] **= 3
        loud[rows] = np.sqrt(np.square(np.abs(a)).mean())
    if not weight.any():
        weight[(band > 0) & (band <= _BANDS)] = 1.0
    weight /= weight.max()
    floor = 0.05 * loud.max() + 1e-12
    return np.asarray(weight / np.maximum(loud, floor) * floor)


def _loudness(samples: Samples, gain: NDArray[np.float64], rate: int) -> NDArray[np.float64]:
    """Loudness from moment to moment through a filter without delay; shape of the samples."""
    size = scipy.fft.next_fast_len(len(samples) + _PATCH, real=False)
    frequency = scipy.fft.rfftfreq(size) * 2 * (len(gain) - 1)
    spectrum = scipy.fft.rfft(samples, size) * np.interp(frequency, np.arange(len(gain)), gain)
    # The analytic signal: twice the positive frequencies, nothing of the negative ones.
    whole = np.zeros(size, complex)
    whole[: len(spectrum)] = 2 * spectrum
    loud = np.abs(scipy.fft.ifft(whole))[: len(samples)]
    return np.asarray(scipy.ndimage.gaussian_filter1d(loud, SMOOTH_S * rate))


def _hits(loud: NDArray[np.float64], rate: int) -> NDArray[np.float64]:
    """How much louder each moment is than what is around it: hits stand out of held notes."""
    # Two running means: a bell would cost more than all the rest.
    width = round(AROUND_S * rate)
    around = scipy.ndimage.uniform_filter1d(scipy.ndimage.uniform_filter1d(loud, width), width)
    floor = SILENT * float(loud.max(initial=0)) + 1e-12
    return np.asarray(np.maximum(loud - 0.6 * around, 0) * np.sqrt(1 / np.maximum(around, floor)))


def _scaled(loud: NDArray[np.float64], shown: int, silent: float) -> NDArray[np.float32]:
    """Loudness as it is drawn: faint hits lifted beside strong ones; 1 is the most that is shown."""
    middle = len(loud) // 2
    most = float(loud[middle - shown : middle + shown + 1].max(initial=0))
    if most <= silent:
        return np.zeros(len(loud), np.float32)
    return np.asarray(np.minimum(loud / most, 4.0) ** LIFT, np.float32)
