"""The speeds a clip may run at against the song, when nobody has said so: found by texture, not by samples.

A few seconds of the clip are taken at many places, brought to every speed between SLOWEST and FASTEST, once
with the pitch moved along and once with the pitch kept, and laid along the whole song. A right speed shows in
excerpts that agree on one line through clip and song; how steep the line is tells the speed far more closely
than any excerpt could.
"""

from dataclasses import dataclass, replace

import numpy as np
import scipy.fft
from numpy.typing import NDArray

from audio.signals import Samples
from audio.speed.log_bands import (
    FRAME_S,
    STEPS_PER_OCTAVE,
    WIDTH,
    Array,
    BandEnergies,
    band_count,
    band_energies,
    edge_count,
    log_levels,
    modulation_weights,
    whiten_modulation,
)

SLOWEST_STEP, FASTEST_STEP = -31, 50
"""Speeds looked at, in steps of 2 ** (1 / STEPS): 0.41 to 4.24, each good for half a step to either side."""
EXCERPT_S = 8.32
"""Song seconds of an excerpt: half a step of speed moves its ends by 60 ms, less than a cell."""
APART_S = 28.0
"""Clip seconds from one excerpt to the next in a long clip …"""
LEAST_EXCERPTS = 8
"""… and at least so many excerpts where the clip is long enough."""
FFT_SIZE = 512
KEPT = 12
"""Best places kept of each excerpt at each speed."""
FAINT = 2.7
"""Standard deviations below which a place is not kept."""
COST = 3.6
"""Taken off the log likelihood of a place: what the best of a song's places reach by chance."""
KNEE = 24.0
"""Where the evidence of one excerpt begins to be bent down."""
GROUP = 4
"""Neighbouring places of which only the best counts."""
LEAST_LIVELY = 0.8
"""A song's quieter parts do not count as quieter than this, or chance would be high in them."""
MEET_S = 0.15
"""Song seconds within which excerpts lie on one line."""
MOST = 5
"""Lines looked at closely."""


@dataclass(frozen=True, slots=True, eq=False)
class SongBands:
    """The texture of a song, made ready for many clips."""

    rate: int
    duration_s: float
    samples: Samples
    """The song as it is, shape (n,)."""
    spectra: tuple[NDArray[np.complex64], ...]
    """For each of PATCHES: spectra of overlapping pieces of the texture, evened, shape (FFT_SIZE // 2 + 1,
    bands, pieces)."""
    even: tuple[Array, ...]
    """For each of PATCHES: the evened texture itself, shape (frames, bands); frame k is centred on
    ``k * FRAME_S``."""
    usual: Array
    """Shape (groups,): how lively the song is in the EXCERPT_S after each GROUP of places, 1 on average."""

    @classmethod
    def of(cls, samples: Samples, rate: int) -> "SongBands":
        """Prepare a song; ``samples`` float32, shape (n,), as they are.

        Takes about as long as two correlations of the whole song, once for a song.
        """
        frames = int(len(samples) / rate / FRAME_S) + 2
        edges = np.asarray(np.arange(-1, frames + 1) * FRAME_S, np.float64)
        spectra, even = [], []
        for _, patch_s in PATCHES:
            cells = band_energies(samples, rate, patch_s).cells(edges, 0, band_count(rate))
            even.append(whiten_modulation(log_levels(cells[None])[0], 0.5))
            spectra.append(_pieces(even[-1]))
        return cls(rate, len(samples) / rate, samples, tuple(spectra), tuple(even), _liveliness(even[0]))


PATCHES = ((1.42, 0.064), (9.9, 0.128))
"""Up to a speed, length of the song's patches (s): in song time those of the clip are so long."""


def patches_at(speed: float) -> int:
    """Which of PATCHES a speed asks for."""
    return next(number for number, (most, _) in enumerate(PATCHES) if speed <= most)


def shared_bands(rate: int, shift: int) -> tuple[int, int]:
    """First band of the song, and number of bands, that are heard in a clip ``shift`` edges higher.

    With the pitch gone along with a speed, what lies between two edges of the song lies so much higher in
    the clip, and part of it beyond what is looked at.
    """
    edges = edge_count(rate)
    low = -(-max(0, -shift) // WIDTH)
    return low, (min(edges - 1, edges - 1 - shift) - low * WIDTH) // WIDTH


@dataclass(frozen=True, slots=True)
class SpeedCandidate:
    """A speed that a clip may run at, with a place: song time = song_s + (t - clip_s) * speed."""

    speed: float
    pitch_kept: bool
    """Whether the player kept the pitch, so that no samples agree; else pitch went along with speed."""
    evidence: float
    """Log likelihood ratio against chance, of all excerpts on the line."""
    clip_s: float
    song_s: float
    """A moment of the clip's samples and where it lies in the song, to about 0.1 s."""
    span_s: tuple[float, float]
    """Clip seconds from the middle of the first excerpt on the line to that of the last."""
    waveform_agrees: bool = False
    """Whether not only texture but samples too agree on the line."""

    def later(self, seconds: float) -> "SpeedCandidate":
        """The same guess for a clip that begins so many seconds earlier."""
        first, last = self.span_s
        return replace(self, clip_s=self.clip_s + seconds, span_s=(first + seconds, last + seconds))


def speed_of(step: int) -> float:
    """Speed of a step.

    >>> speed_of(STEPS), speed_of(0)
    (2.0, 1.0)
    """
    return float(2.0 ** (step / STEPS_PER_OCTAVE))


def candidate_lines(clip: BandEnergies, seconds: float, song_bands: SongBands) -> list[SpeedCandidate]:
    """Find the lines on which excerpts of a clip agree best, at any speed; best first, chance among them.

    Parameters
    ----------
    clip : Energies
        Of some minutes of clip.
    seconds : float
        How long it is.
    """
    steps = range(SLOWEST_STEP, FASTEST_STEP + 1)
    return _distinct([line for step in steps for line in lines_at(clip, 0.0, seconds, song_bands, step)])


def _distinct(found: list[SpeedCandidate]) -> list[SpeedCandidate]:
    kept: list[SpeedCandidate] = []
    for candidate in sorted(found, key=lambda candidate: -candidate.evidence):
        if len(kept) == MOST:
            break
        near = [
            other for other in kept if abs(np.log2(candidate.speed / other.speed)) < 1.5 / STEPS_PER_OCTAVE
        ]
        if all(candidate.pitch_kept != other.pitch_kept for other in near):
            kept.append(candidate)
    return kept


def excerpt_starts(seconds: float, speed: float) -> NDArray[np.float64]:
    """Times (s) at which the excerpts of a stretch of clip start; before its start, where it is too short.

    >>> excerpt_starts(EXCERPT_S / 2, 1.0).tolist() == [-EXCERPT_S / 4]
    True
    """
    length = EXCERPT_S / speed
    if seconds <= length:
        return np.array([(seconds - length) / 2])
    hop = max(length / 2, min(APART_S, seconds / LEAST_EXCERPTS))
    return np.linspace(0, seconds - length, 1 + int(np.ceil((seconds - length) / hop)))


def lines_at(
    clip: BandEnergies, start_s: float, end_s: float, song_bands: SongBands, step: int
) -> list[SpeedCandidate]:
    """The best line of each family at the speed of a step, from a stretch of a clip."""
    speed = speed_of(step)
    spectra = song_bands.spectra[patches_at(speed)]
    starts = start_s + excerpt_starts(end_s - start_s, speed)
    frames = round(EXCERPT_S / FRAME_S)
    times = starts[:, None] + (np.arange(-1, frames + 1) * FRAME_S) / speed
    whole = np.zeros((2, len(starts), frames, spectra.shape[1]), np.float32)
    for family, shift in ((0, step), (1, 0)):
        low, count = shared_bands(song_bands.rate, shift)
        whole[family, :, :, low : low + count] = log_levels(clip.cells(times, low * WIDTH + shift, count))
    fits = _correlated(whole.reshape(-1, *whole.shape[2:]), spectra, song_bands.usual)
    middles = starts + EXCERPT_S / speed / 2
    out = []
    for family in (0, 1):
        rows = slice(family * len(starts), (family + 1) * len(starts))
        line = _line(fits, rows, middles, speed)
        if line is not None:
            out.append(replace(line, pitch_kept=family == 1))
    return out


@dataclass(frozen=True, slots=True, eq=False)
class _Fits:
    """How well excerpts fit in all places of a song."""

    top: Array
    """Shape (e, groups): the best of each group of places, in standard deviations."""
    values: Array
    """Shape (FFT_SIZE - frames, e, pieces): all of them."""

    def place(self, excerpt: NDArray[np.int64], group: NDArray[np.int64]) -> NDArray[np.float64]:
        """Where in the song (s) the middles of some excerpts lie, each in the best place of a group."""
        piece, within = np.divmod(group, len(self.values) // GROUP)
        near = self.values[within[:, None] * GROUP + np.arange(GROUP), excerpt[:, None], piece[:, None]]
        return np.asarray((group * GROUP + near.argmax(axis=1)) * FRAME_S - EXCERPT_S / 2)


def _correlated(excerpts: Array, spectra: NDArray[np.complex64], usual: Array) -> _Fits:
    """Correlate excerpts, shape (e, frames, bands), with the song.

    Place p means that an excerpt's first frame lies on the song's frame p - frames.
    """
    frames = excerpts.shape[1]
    best_slope = np.conj(scipy.fft.rfft(excerpts, FFT_SIZE, axis=1))
    best_slope *= modulation_weights(best_slope, 0.25)
    product = np.ascontiguousarray(best_slope.transpose(1, 0, 2)) @ spectra
    values = scipy.fft.irfft(product, FFT_SIZE, axis=0)[: FFT_SIZE - frames]
    top = values.reshape(-1, GROUP, *values.shape[1:]).max(axis=1)
    few = values[::GROUP].transpose(1, 2, 0).reshape(len(excerpts), -1)[:, : len(usual)] / usual
    top = top.transpose(1, 2, 0).reshape(len(excerpts), -1)[:, : len(usual)] / usual
    top /= np.sqrt(np.square(few).mean(axis=1, keepdims=True)) + 1e-9
    return _Fits(top, values)


def _pieces(song_bands: Array) -> NDArray[np.complex64]:
    """Spectra of overlapping pieces of a song's texture, shape (FFT_SIZE // 2 + 1, bands, pieces)."""
    frames = round(EXCERPT_S / FRAME_S)
    step = FFT_SIZE - frames
    count = -(-(len(song_bands) + frames) // step)
    padded = np.zeros((count * step + FFT_SIZE, song_bands.shape[1]), np.float32)
    padded[frames : frames + len(song_bands)] = song_bands
    pieces = np.stack([padded[number * step : number * step + FFT_SIZE] for number in range(count)])
    return np.ascontiguousarray(scipy.fft.rfft(pieces, axis=1).transpose(1, 2, 0))


def _liveliness(song_bands: Array) -> Array:
    frames = round(EXCERPT_S / FRAME_S)
    power = np.zeros(len(song_bands) + 2 * frames)
    power[frames : frames + len(song_bands)] = np.square(song_bands).sum(axis=1)
    total = np.concatenate([[0.0], np.cumsum(power)])
    usual = np.sqrt(total[frames:-1:GROUP] - total[: -frames - 1 : GROUP])
    usual /= usual.mean() + 1e-20
    return np.asarray(np.maximum(usual, LEAST_LIVELY), np.float32)


def _line(fits: _Fits, rows: slice, middles: NDArray[np.float64], speed: float) -> SpeedCandidate | None:
    """The line on which some excerpts agree best, if any stands out of chance at all."""
    top = fits.top[rows]
    count = top.shape[1]
    kept = min(KEPT, count)
    group = np.argpartition(top, count - kept, axis=1)[:, count - kept :].ravel()
    row = np.repeat(np.arange(len(top)), kept)
    height = top[row, group].astype(np.float64)
    # A place on the border of two groups is one place.
    alone = (height >= top[row, np.maximum(group - 1, 0)]) & (
        height >= top[row, np.minimum(group + 1, count - 1)]
    )
    good = alone & (height > FAINT)
    if not good.any():
        return None
    row, group, height = row[good], group[good], height[good]
    place = fits.place(row + rows.start, group)
    evidence = np.maximum(height**2 / 2 - COST, 0)
    evidence = np.minimum(evidence, KNEE * (1 + 0.25 * np.log(np.maximum(evidence, KNEE) / KNEE)))
    middle = float((middles[0] + middles[-1]) / 2)
    # A speed between two steps is no further off than half of one; the lines at the ends keep together.
    reach = 0.55 * speed * (2 ** (1 / STEPS_PER_OCTAVE) - 1)
    fine = int(np.ceil(reach * (middles[-1] - middles[0]) / MEET_S))
    slopes = speed + reach * (np.arange(-fine, fine + 1) / max(1, fine))
    offset = place[None, :] - slopes[:, None] * (middles[row] - middle)[None, :]
    # One sort for all slopes: each has a stretch of numbers to itself, longer than any song.
    key = (offset + np.arange(len(slopes))[:, None] * 1e7).ravel()
    order = np.argsort(key)
    total = np.concatenate([[0.0], np.cumsum(np.tile(evidence, len(slopes))[order])])
    ends = np.searchsorted(key[order], key[order] + MEET_S)
    score = total[ends] - total[:-1]
    best = int(score.argmax())
    on = order[best : ends[best]]
    which, on = int(on[0]) // len(row), on % len(row)
    where = float(np.average(offset[which][on], weights=evidence[on]))
    own = middles[row[on]]
    return SpeedCandidate(
        float(slopes[which]), False, float(score[best]), middle, where, (float(own.min()), float(own.max()))
    )
