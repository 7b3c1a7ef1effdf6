"""Takes of a time-stretched playback: its pitch was kept, so waveforms do not correlate, only band energies.

Such a take is measured more coarsely than any other: its line to some hundredths of a second, its ends to
half a second. The rules are the same: far above chance, and decided against every other place in the song.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import scipy.fft

from audio.errors import Stopped
from audio.line import Line
from audio.progress import never, no_progress
from audio.self_similarity import decided_against
from audio.signals import Samples
from audio.soft_ends import Extent, settled_ends
from audio.speed.log_bands import (
    FRAME_S,
    STEPS_PER_OCTAVE,
    Array,
    BandEnergies,
    band_count,
    band_energies,
    log_levels,
    whiten_modulation,
)
from audio.speed.onset_lags import onset_lags, refine_line
from audio.speed.speed_refinement import BandLags, band_lags, refined, with_best_slope
from audio.speed.speed_search import (
    EXCERPT_S,
    SongBands,
    SpeedCandidate,
    lines_at,
    patches_at,
)
from audio.speed.stretched_ends import detected_ends, runs_through

AGAIN = 22.0
"""Evidence of band energies (log-likelihood ratio) at which the remainder of a clip is searched for another
take at the same speed. Chosen by hand: what is found is tested again."""
SHORTEST_S = 4.0
"""Shortest take searched for (s of song). Chosen by hand."""
MOST_TAKES = 12
"""Takes of one clip at most. Chosen by hand, to bound the time."""
APART_S = 0.4
"""Positions in the song closer than this are one: the correlation peak is about so wide."""
MOST_RIVALS = 5
"""Rivals listed at most. Chosen by hand."""
LISTED = 0.4
"""Least share of the take's own fit at which a rival is listed. Chosen by hand."""
TWIN = 0.9
"""Self-similarity of the song's band energies in two places from which on they count as the same. Chosen by
hand."""
CLEAR = 4.5
"""Standard deviations by which a take must be preferred to a rival; takes too faint for this are not placed
anyway."""
CLEAR_DESPITE_EXCESS = 12.0
"""The same where the rival fits better than the song's self-similarity explains. Chosen by hand."""
STEEPEST = 4e-3
"""How far off the speed of a candidate may be (no unit)."""
LEAST_OVERLAP = 0.4
"""Positions in which a smaller share of the take's energy lies within the song are left out when the height
of chance is measured. Chosen by hand."""


@dataclass(frozen=True, slots=True)
class StretchedRival:
    """Another place in the song for a time-stretched take."""

    shift_s: float
    """How much later in the song (s)."""
    strength: float
    """Share of the take's own fit (no unit)."""
    self_similarity: float
    """The share that the song's self-similarity between the two places explains."""
    margin_sd: float
    """Standard deviations by which the take's own place is preferred."""

    @property
    def open(self) -> bool:
        """Whether the take is not decided against this rival."""
        excess = self.strength - self.self_similarity
        return self.self_similarity > TWIN or not decided_against(
            self.margin_sd, excess, CLEAR, CLEAR_DESPITE_EXCESS
        )


@dataclass(frozen=True, slots=True, eq=False)
class StretchedTake:
    """A time-stretched take; clip times count from the clip's first sample."""

    start_s: float
    end_s: float
    line: Line
    uncertainty_s: float
    """Half-width (s) that holds the true position about 95 times in 100."""
    speed_sd: float
    """Standard deviation of the speed (no unit)."""
    strength: float
    """Standard deviations above chance, chance being all other places in the song."""
    jitter_s: float
    """Standard deviation (s of song) of two-second segments about the line: a player keeps to it, a band that
    plays the song again does not."""
    rivals: tuple[StretchedRival, ...]
    lags: tuple[tuple[float, float, float], ...]
    """Measured moments: clip time (s), lag off the line (s), standard deviations above chance."""
    whole_s: tuple[float, float]
    """Where it begins and ends, a soft start or end of the song with it; between ``start_s`` and ``end_s`` it
    was measured."""

    @property
    def undecided(self) -> bool:
        """Whether it fits elsewhere as well."""
        return any(rival.open for rival in self.rivals)

    def delayed(self, seconds: float) -> "StretchedTake":
        """The same take in a clip that begins ``seconds`` earlier."""
        return replace(
            self,
            start_s=self.start_s + seconds,
            end_s=self.end_s + seconds,
            line=self.line.delayed(seconds),
            lags=tuple((t + seconds, lag, strength) for t, lag, strength in self.lags),
            whole_s=(self.whole_s[0] + seconds, self.whole_s[1] + seconds),
        )


def place_stretched(
    samples: Samples,
    song_bands: SongBands,
    candidate: SpeedCandidate,
    weakest: float,
    stop: Callable[[], bool] = never,
    progress: Callable[[float], None] = no_progress,
) -> list[StretchedTake]:
    """Find the takes of a clip at a candidate speed with its pitch kept, in the clip's order.

    Parameters
    ----------
    samples : float32, shape (n,)
        The clip as it is (not whitened), at ENGINE_RATE.
    candidate : SpeedCandidate
        From :func:`audio.speed.any_speed.candidate_speeds`.
    weakest : float
        Takes of less ``strength`` are dropped.

    Raises
    ------
    Stopped
    """
    # Of hours of camera, no more is searched than two songs' lengths to either side.
    reach = 2 * (song_bands.duration_s / candidate.speed + EXCERPT_S)
    begin = max(0, int((candidate.span_s[0] - reach) * song_bands.rate))
    piece = samples[begin : int((candidate.span_s[1] + reach) * song_bands.rate)]
    shift = begin / song_bands.rate
    clip = band_energies(piece, song_bands.rate)
    takes = _takes(piece, clip, song_bands, candidate.delayed(-shift), stop, progress)
    found = sorted((take for take in takes if take.strength >= weakest), key=lambda take: take.start_s)
    ends = _settled(piece, clip, song_bands, found)
    progress(1.0)
    return [replace(take, whole_s=whole).delayed(shift) for take, whole in zip(found, ends, strict=True)]


def _settled(
    samples: Samples, clip: BandEnergies, song_bands: SongBands, takes: Sequence[StretchedTake]
) -> list[tuple[float, float]]:
    """Where takes begin and end with soft starts and ends of the song (see `audio.soft_ends`)."""
    extents = [
        Extent(
            take.start_s, take.end_s, take.start_s, take.end_s,
            float(take.line.clip_time(0.0)), float(take.line.clip_time(song_bands.duration_s)),
        )
        for take in takes
    ]  # fmt: skip

    def runs(number: int, inside_s: float, heard_s: float, limit_s: float) -> bool:
        moments_s = inside_s, heard_s, limit_s
        return runs_through(samples, clip, song_bands, takes[number].line, moments_s)

    return settled_ends(extents, len(samples) / song_bands.rate, runs)


def _takes(
    samples: Samples,
    clip: BandEnergies,
    song_bands: SongBands,
    candidate: SpeedCandidate,
    stop: Callable[[], bool],
    progress: Callable[[float], None],
) -> list[StretchedTake]:
    first = _take(samples, clip, song_bands, candidate, 0.0, len(samples) / song_bands.rate)
    if first is None:
        return []
    found = [first]
    left = [(0.0, first.start_s), (first.end_s, len(samples) / song_bands.rate)]
    while left and len(found) < MOST_TAKES:
        if stop():
            raise Stopped("Stopped.")
        low, high = left.pop()
        one = _another(samples, clip, song_bands, first.line.speed, low, high)
        if one is not None:
            found.append(one)
            left += [(low, one.start_s), (one.end_s, high)]
        progress(len(found) / (len(found) + len(left)))
    return found


def _another(
    samples: Samples, clip: BandEnergies, song_bands: SongBands, speed: float, low_s: float, high_s: float
) -> StretchedTake | None:
    if (high_s - low_s) * speed < SHORTEST_S:
        return None
    lines = lines_at(clip, low_s, high_s, song_bands, round(np.log2(speed) * STEPS_PER_OCTAVE))
    lines = [line for line in lines if line.pitch_kept and line.evidence >= AGAIN]
    return (
        _take(samples, clip, song_bands, refined(clip, song_bands, lines[0]), low_s, high_s)
        if lines
        else None
    )


def _take(
    samples: Samples,
    clip: BandEnergies,
    song_bands: SongBands,
    candidate: SpeedCandidate,
    low_s: float,
    high_s: float,
) -> StretchedTake | None:
    """The take on a candidate's line, within a part of the clip."""
    start, end = low_s, high_s
    for _ in range(2):
        lags = band_lags(clip, song_bands, candidate, low_s, high_s)
        if lags is None:
            return None
        start, end = detected_ends(lags, candidate)
        if (end - start) * candidate.speed < SHORTEST_S:
            return None
        within = (lags.clip_s >= start) & (lags.clip_s <= end)
        candidate = with_best_slope(BandLags(lags.clip_s[within], lags.fits[within]), candidate, STEEPEST)
    fine = onset_lags(samples, song_bands.samples, song_bands.rate, candidate.line, start, end)
    if fine is None:
        return None
    exact = refine_line(fine, candidate.line)
    half = max(exact.line.clip_s - start, end - exact.line.clip_s) * exact.speed_sd
    strength, rivals = _strength_and_rivals(clip, song_bands, exact.line, start, end)
    return StretchedTake(
        start,
        end,
        exact.line,
        float(np.hypot(exact.uncertainty_s, 2 * half)),
        exact.speed_sd,
        strength,
        exact.jitter_s,
        rivals,
        exact.lags,
        (start, end),
    )


def _strength_and_rivals(
    clip: BandEnergies, song_bands: SongBands, line: Line, start_s: float, end_s: float
) -> tuple[float, tuple[StretchedRival, ...]]:
    """How far a take stands above chance, and its rivals: its band energies correlated with the whole
    song."""
    song = song_bands.levels[patches_at(line.speed)]
    first = max(0, int(np.ceil(line.song_time(start_s) / FRAME_S)))
    last = min(len(song) - 1, int(np.floor(line.song_time(end_s) / FRAME_S)))
    frames = np.arange(first - 1, last + 2)
    times = line.clip_time(np.asarray(frames * FRAME_S, np.float64))
    levels = whiten_modulation(log_levels(clip.cells(times[None], 0, band_count(song_bands.rate)))[0], 0.25)
    fit, size = _correlate_everywhere(levels, song)
    own, _ = _correlate_everywhere(song[first : last + 1], song)
    chance = size > LEAST_OVERLAP * size[first + len(levels)]
    here = first + len(levels)
    chance[max(0, here - 25) : here + 26] = False
    share = fit / np.maximum(size, 1e-6 * size.max() + 1e-9)
    noise = float(np.sqrt(np.mean(np.square(share[chance])))) if chance.any() else float(np.abs(share).max())
    at = here - 3 + int(fit[here - 3 : here + 4].argmax())
    strength = float(share[at]) / (noise + 1e-9)
    return strength, tuple(_rivals(fit, own / (own[here] + 1e-9), at, noise * float(size[at])))


def _correlate_everywhere(piece: Array, song: Array) -> tuple[Array, Array]:
    """Cross-correlation of log levels with the song at every lag, and its standard deviation by chance.

    Index p means that the piece's first frame lies on the song's frame p - len(piece).
    """
    size = scipy.fft.next_fast_len(len(song) + 2 * len(piece), real=True)
    lags = len(song) + len(piece)

    def along(one: Array, other: Array) -> Array:
        spectra = scipy.fft.rfft(other, size, axis=0) * np.conj(scipy.fft.rfft(one, size, axis=0))
        values = scipy.fft.irfft(spectra.sum(axis=1), size)
        return np.asarray(np.concatenate([values[-len(piece) :], values[: lags - len(piece)]]), np.float32)

    power = along(np.square(piece), np.square(song))
    return along(piece, song), np.sqrt(np.maximum(power, 0))


def _rivals(fit: Array, own: Array, at: int, noise: float) -> list[StretchedRival]:
    apart = round(APART_S / FRAME_S)
    left = fit.copy()
    left[max(0, at - apart) : at + apart + 1] = -np.inf
    out: list[StretchedRival] = []
    while len(out) < MOST_RIVALS:
        best = int(left.argmax())
        if left[best] < LISTED * fit[at]:
            break
        left[max(0, best - apart) : best + apart + 1] = -np.inf
        self_similarity = float(np.clip(own[max(0, best - 2) : best + 3].max(), 0, 1))
        margin_sd = float(fit[at] - fit[best]) / (
            noise * np.sqrt(2 * (1 - min(self_similarity, 0.999))) + 1e-9
        )
        shift = (best - at) * FRAME_S
        out.append(StretchedRival(shift, float(fit[best] / fit[at]), self_similarity, margin_sd))
    return out
