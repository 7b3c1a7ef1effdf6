"""Candidates for the speed of a clip against the song, found by log-band energies instead of waveforms.

Excerpts of a few seconds are taken all over the clip. Each is brought to every speed between the slowest and
the fastest step, once with its bands moved along (resampled playback) and once not (time-stretched playback),
and correlated with the whole song. At the right speed several excerpts lie on one line through clip and song;
the slope of that line measures the speed far more closely than any one excerpt could.
"""

from dataclasses import dataclass, replace

import numpy as np
import scipy.fft
from numpy.typing import NDArray

from audio.line import Line
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
"""Speeds searched, in steps of 2 ** (1 / STEPS_PER_OCTAVE): 0.41 to 4.24, each good for half a step to either
side. Chosen by hand to cover slow and fast motion."""
EXCERPT_S = 8.32
"""Length of an excerpt (s of song): half a step of speed moves its ends by 60 ms, less than a cell."""
APART_S = 28.0
"""Clip seconds from one excerpt to the next in a long clip … Chosen by hand: more cost time."""
LEAST_EXCERPTS = 8
"""… and at least so many excerpts where the clip is long enough."""
FFT_SIZE = 512
"""Frames of a transform: two excerpts and a half. A power of two near the least work."""
KEPT = 12
"""Best lags kept of each excerpt at each speed. Chosen by hand."""
FAINT = 2.7
"""Standard deviations below which a lag is not kept. Chosen by hand."""
COST = 3.6
"""Taken off the log-likelihood ratio of a lag: what the best lag of a song reaches by chance."""
KNEE = 24.0
"""Evidence of one excerpt above which it is compressed logarithmically, so that no single excerpt decides.
Chosen by hand."""
GROUP = 4
"""Neighbouring lags of which only the best counts."""
LEAST_ACTIVITY = 0.8
"""The song's activity is taken to be no less than this share of its mean, or chance peaks would be high in
quiet parts. Chosen by hand."""
MEET_S = 0.15
"""Excerpts this close to one line (s of song) lie on it."""
MOST = 5
"""Candidate lines refined at most. Chosen by hand: each costs a search by waveform."""


@dataclass(frozen=True, slots=True, eq=False)
class SongBands:
    """The log-band energies of a song, prepared for many clips."""

    rate: int
    """Samples a second."""
    duration_s: float
    samples: Samples
    """The song as it is (not whitened), shape (n,)."""
    spectra: tuple[NDArray[np.complex64], ...]
    """For each of PATCHES: spectra over time of overlapping pieces of ``levels``, shape (FFT_SIZE // 2 + 1,
    bands, pieces)."""
    levels: tuple[Array, ...]
    """For each of PATCHES: the log levels with whitened modulation, shape (frames, bands); frame k is centred
    on ``k * FRAME_S``."""
    activity: Array
    """Shape (groups,): RMS of ``levels`` over the EXCERPT_S after each GROUP of lags, 1 on average."""

    @classmethod
    def of(cls, samples: Samples, rate: int) -> "SongBands":
        """Prepare a song; ``samples`` float32, shape (n,), as they are.

        Takes about as long as two correlations of the whole song.
        """
        frames = int(len(samples) / rate / FRAME_S) + 2
        edges = np.asarray(np.arange(-1, frames + 1) * FRAME_S, np.float64)
        spectra, levels = [], []
        for _, patch_s in PATCHES:
            cells = band_energies(samples, rate, patch_s).cells(edges, 0, band_count(rate))
            levels.append(whiten_modulation(log_levels(cells[None])[0], 0.5))
            spectra.append(_pieces(levels[-1]))
        return cls(rate, len(samples) / rate, samples, tuple(spectra), tuple(levels), _activity(levels[0]))


PATCHES = ((1.42, 0.064), (9.9, 0.128))
"""Up to which speed, which length of the song's STFT frames (s): at that speed those of the clip, in song
time, are about as long."""


def patches_at(speed: float) -> int:
    """Index into PATCHES for a speed."""
    return next(number for number, (most, _) in enumerate(PATCHES) if speed <= most)


def shared_bands(rate: int, shift: int) -> tuple[int, int]:
    """First band and number of bands that the song shares with a clip pitched ``shift`` band edges higher.

    Resampled playback moves every band of the song up by so many edges, some of them beyond the highest.
    """
    edges = edge_count(rate)
    low = -(-max(0, -shift) // WIDTH)
    return low, (min(edges - 1, edges - 1 - shift) - low * WIDTH) // WIDTH


@dataclass(frozen=True, slots=True)
class SpeedCandidate:
    """A line, with its speed, on which a clip may run; positions are right to about 0.1 s."""

    line: Line
    """In times of the clip's samples."""
    pitch_kept: bool
    """Whether the playback was time-stretched, so that waveforms do not correlate; else it was resampled."""
    evidence: float
    """Log-likelihood ratio against chance, of all excerpts on the line."""
    span_s: tuple[float, float]
    """Clip times (s) of the middles of the first and the last excerpt on the line."""
    waveform_agrees: bool = False
    """Whether not only band energies but waveforms too agree on the line."""

    @property
    def speed(self) -> float:
        """Seconds of song in one second of clip (no unit)."""
        return self.line.speed

    def delayed(self, seconds: float) -> "SpeedCandidate":
        """The same candidate for a clip that begins ``seconds`` earlier."""
        first, last = self.span_s
        return replace(self, line=self.line.delayed(seconds), span_s=(first + seconds, last + seconds))


def speed_of(step: int) -> float:
    """Speed of a step.

    >>> speed_of(STEPS_PER_OCTAVE), speed_of(0)
    (2.0, 1.0)
    """
    return float(2.0 ** (step / STEPS_PER_OCTAVE))


def candidate_lines(clip: BandEnergies, seconds: float, song_bands: SongBands) -> list[SpeedCandidate]:
    """Find the lines on which excerpts of a clip agree best, at any speed; best first, some of them chance.

    Parameters
    ----------
    clip : BandEnergies
        Of some minutes of clip.
    seconds : float
        Its length.
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
    """Times (s) at which the excerpts of a part of a clip start; before its start, where it is too short.

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
    """The best line at the speed of a step, resampled and time-stretched, from a part of a clip."""
    speed = speed_of(step)
    spectra = song_bands.spectra[patches_at(speed)]
    starts = start_s + excerpt_starts(end_s - start_s, speed)
    frames = round(EXCERPT_S / FRAME_S)
    times = starts[:, None] + (np.arange(-1, frames + 1) * FRAME_S) / speed
    whole = np.zeros((2, len(starts), frames, spectra.shape[1]), np.float32)
    for family, shift in ((0, step), (1, 0)):
        low, count = shared_bands(song_bands.rate, shift)
        whole[family, :, :, low : low + count] = log_levels(clip.cells(times, low * WIDTH + shift, count))
    fits = _correlated(whole.reshape(-1, *whole.shape[2:]), spectra, song_bands.activity)
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
    """Correlation of excerpts with a song at all lags."""

    top: Array
    """Shape (e, groups): the best of each group of lags, in standard deviations."""
    values: Array
    """Shape (FFT_SIZE - frames, e, pieces): every lag."""

    def song_times(self, excerpt: NDArray[np.int64], group: NDArray[np.int64]) -> NDArray[np.float64]:
        """Song time (s) of the middles of some excerpts, each at the best lag of a group."""
        piece, within = np.divmod(group, len(self.values) // GROUP)
        near = self.values[within[:, None] * GROUP + np.arange(GROUP), excerpt[:, None], piece[:, None]]
        return np.asarray((group * GROUP + near.argmax(axis=1)) * FRAME_S - EXCERPT_S / 2)


def _correlated(excerpts: Array, spectra: NDArray[np.complex64], activity: Array) -> _Fits:
    """Correlate excerpts, shape (e, frames, bands), with the song.

    Lag p means that an excerpt's first frame lies on the song's frame p - frames.
    """
    frames = excerpts.shape[1]
    spectrum = np.conj(scipy.fft.rfft(excerpts, FFT_SIZE, axis=1))
    spectrum *= modulation_weights(spectrum, 0.25)
    product = np.ascontiguousarray(spectrum.transpose(1, 0, 2)) @ spectra
    values = scipy.fft.irfft(product, FFT_SIZE, axis=0)[: FFT_SIZE - frames]
    top = values.reshape(-1, GROUP, *values.shape[1:]).max(axis=1)
    few = values[::GROUP].transpose(1, 2, 0).reshape(len(excerpts), -1)[:, : len(activity)] / activity
    top = top.transpose(1, 2, 0).reshape(len(excerpts), -1)[:, : len(activity)] / activity
    top /= np.sqrt(np.square(few).mean(axis=1, keepdims=True)) + 1e-9
    return _Fits(top, values)


def _pieces(levels: Array) -> NDArray[np.complex64]:
    """Spectra over time of overlapping pieces of a song's log levels, shape (FFT_SIZE // 2 + 1, bands,
    pieces)."""
    frames = round(EXCERPT_S / FRAME_S)
    step = FFT_SIZE - frames
    count = -(-(len(levels) + frames) // step)
    padded = np.zeros((count * step + FFT_SIZE, levels.shape[1]), np.float32)
    padded[frames : frames + len(levels)] = levels
    pieces = np.stack([padded[number * step : number * step + FFT_SIZE] for number in range(count)])
    return np.ascontiguousarray(scipy.fft.rfft(pieces, axis=1).transpose(1, 2, 0))


def _activity(levels: Array) -> Array:
    frames = round(EXCERPT_S / FRAME_S)
    power = np.zeros(len(levels) + 2 * frames)
    power[frames : frames + len(levels)] = np.square(levels).sum(axis=1)
    total = np.concatenate([[0.0], np.cumsum(power)])
    activity = np.sqrt(total[frames:-1:GROUP] - total[: -frames - 1 : GROUP])
    activity /= activity.mean() + 1e-20
    return np.asarray(np.maximum(activity, LEAST_ACTIVITY), np.float32)


def _line(fits: _Fits, rows: slice, middles: NDArray[np.float64], speed: float) -> SpeedCandidate | None:
    """The line on which some excerpts agree best; None where none stands out of chance."""
    top = fits.top[rows]
    count = top.shape[1]
    kept = min(KEPT, count)
    group = np.argpartition(top, count - kept, axis=1)[:, count - kept :].ravel()
    row = np.repeat(np.arange(len(top)), kept)
    height = top[row, group].astype(np.float64)
    # A peak on the border of two groups counts once.
    alone = (height >= top[row, np.maximum(group - 1, 0)]) & (
        height >= top[row, np.minimum(group + 1, count - 1)]
    )
    good = alone & (height > FAINT)
    if not good.any():
        return None
    row, group, height = row[good], group[good], height[good]
    song_s = fits.song_times(row + rows.start, group)
    evidence = np.maximum(height**2 / 2 - COST, 0)
    evidence = np.minimum(evidence, KNEE * (1 + 0.25 * np.log(np.maximum(evidence, KNEE) / KNEE)))
    middle = float((middles[0] + middles[-1]) / 2)
    # The speed lies within half a step: slopes are tried so closely that even at the ends no excerpt is
    # missed.
    reach = 0.55 * speed * (2 ** (1 / STEPS_PER_OCTAVE) - 1)
    fine = int(np.ceil(reach * (middles[-1] - middles[0]) / MEET_S))
    slopes = speed + reach * (np.arange(-fine, fine + 1) / max(1, fine))
    offset = song_s[None, :] - slopes[:, None] * (middles[row] - middle)[None, :]
    # Sorted slope by slope; then each gets an interval of numbers to itself, longer than any song.
    places = np.argsort(offset, axis=1)
    turn = np.arange(len(slopes))[:, None]
    key = (np.take_along_axis(offset, places, axis=1) + turn * 1e7).ravel()
    order = (places + turn * len(row)).ravel()
    total = np.concatenate([[0.0], np.cumsum(evidence[places].ravel())])
    ends = np.searchsorted(key, key + MEET_S)
    score = total[ends] - total[:-1]
    best = int(score.argmax())
    on = order[best : ends[best]]
    which, on = int(on[0]) // len(row), on % len(row)
    anchor_s = float(np.average(offset[which][on], weights=evidence[on]))
    own = middles[row[on]]
    line = Line(middle, anchor_s, float(slopes[which]))
    return SpeedCandidate(line, False, float(score[best]), (float(own.min()), float(own.max())))
