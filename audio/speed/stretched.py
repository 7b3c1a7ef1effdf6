"""Takes of a playback stretched in time with its pitch kept: no sample agrees, the texture has to do.

What is told of such a take is coarser than of any other: its line to some hundredths of a second, its ends to
half a second. The rules are the same: far above chance, and decided against every other place in the song.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
import scipy.fft

from audio.errors import Stopped
from audio.line import Line
from audio.placement.rivals import decided_against
from audio.progress import never, no_progress
from audio.signals import Samples
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
from audio.speed.speed_refinement import REACH, BandLags, band_lags, best_slope, refined
from audio.speed.speed_search import EXCERPT_S, SongBands, SpeedCandidate, lines_at, patches_at

AGAIN = 22.0
"""Evidence of texture at which the rest of a clip may hold another take at the same speed."""
SHORTEST_S = 4.0
"""Song seconds below which a take is not looked for."""
MOST_TAKES = 12
APART_S = 0.4
"""Places in the song closer than this are one."""
MOST_RIVALS = 5
LISTED = 0.4
"""Share of the take's own fit from which on another place is listed."""
TWIN = 0.9
"""Likeness of the song's texture in two places from which on they are taken for the same."""
CLEAR = 4.5
"""Standard deviations by which a take must lead a rival; takes too faint for this are not placed anyway."""
CLEAR_DESPITE_EXCESS = 12.0
"""The same where the rival fits better than the song's own likeness explains."""
STEEPEST = 4e-3
"""How far off the speed of a guess may be."""
LEAST_FIT = 0.2
"""Share of its usual fit that a take must keep, or it has ended."""
TRIM_S = 3.0
"""Song seconds within which an end is looked for closely."""
LEAST_OVERLAP = 0.4
"""Places in which less of the take (as a share of its size) lies within the song do not tell of chance."""


STRENGTH_NEEDED = 12.0
"""Standard deviations above chance for ``placed``; other songs in the same tempo stay under 8."""
LIVE = 0.04
"""A band that plays the song again keeps its tempo about so closely; a stretched playback is further off."""
MOST_JITTER_S = 0.015
LOOSE_S = 0.02
"""A place known less well than this, half a frame at 25 a second, is ``doubtful``."""


@dataclass(frozen=True, slots=True)
class StretchedRival:
    """Another place in the song for a stretched take."""

    shift_s: float
    """How much later in the song."""
    strength: float
    """Share of the take's own fit."""
    self_similarity: float
    """The share that the song's own likeness between the two places explains."""
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
    """A take whose pitch was kept; times are of the clip's samples."""

    start_s: float
    end_s: float
    line: Line
    uncertainty_s: float
    """Half-width that holds the true place about 95 times in 100."""
    speed_sd: float
    strength: float
    """Standard deviations above chance, chance being all other places in the song."""
    jitter_s: float
    """Scatter (standard deviation, song s) of stretches of two seconds about the line: a player keeps to it,
    a band that plays the song again does not."""
    rivals: tuple[StretchedRival, ...]
    lags: tuple[tuple[float, float, float], ...]
    """Measured moments: time in clip, s off the line, strength."""

    @property
    def undecided(self) -> bool:
        """Whether it fits elsewhere as well."""
        return any(rival.open for rival in self.rivals)

    def later(self, seconds: float) -> "StretchedTake":
        """The same take in a clip that begins so many seconds earlier."""
        return replace(
            self,
            start_s=self.start_s + seconds,
            end_s=self.end_s + seconds,
            line=Line(self.line.clip_s + seconds, self.line.song_s, self.line.speed),
            lags=tuple((t + seconds, lag, strength) for t, lag, strength in self.lags),
        )


def why_doubtful(take: StretchedTake) -> str:
    """Say why a take is no more than ``doubtful``; an empty text where it may be ``placed``."""
    if take.undecided:
        return "It fits other places in the song about as well: the song repeats itself there."
    if take.strength < STRENGTH_NEEDED:
        return "The song is only faintly there: listen and decide."
    if abs(take.line.speed - 1) < LIVE:
        return "It may be the band playing the song again: nearly its tempo, but not its sound."
    if take.jitter_s > MOST_JITTER_S:
        return "It keeps no steady tempo: it may be the band playing the song again."
    if take.uncertainty_s > LOOSE_S:
        return "The player has blurred the song: check it against the picture."
    return ""


def place_stretched(
    samples: Samples,
    song_bands: SongBands,
    candidate: SpeedCandidate,
    stop: Callable[[], bool] = never,
    progress: Callable[[float], None] = no_progress,
) -> list[StretchedTake]:
    """Find the takes of a clip at a guessed speed whose pitch was kept, in the clip's order.

    Parameters
    ----------
    samples : float32, shape (n,)
        The clip as it is, at the texture's rate.
    guess : SpeedGuess
        From :func:`audio.speed.any_speed.likely_speeds`.

    Raises
    ------
    Stopped
    """
    # Hours of camera: no more is looked at than two takes to either side.
    reach = 2 * (song_bands.duration_s / candidate.speed + EXCERPT_S)
    begin = max(0, int((candidate.span_s[0] - reach) * song_bands.rate))
    piece = samples[begin : int((candidate.span_s[1] + reach) * song_bands.rate)]
    shift = begin / song_bands.rate
    found = _takes(piece, song_bands, candidate.later(-shift), stop, progress)
    return [take.later(shift) for take in sorted(found, key=lambda take: take.start_s)]


def _takes(
    samples: Samples,
    song_bands: SongBands,
    candidate: SpeedCandidate,
    stop: Callable[[], bool],
    progress: Callable[[float], None],
) -> list[StretchedTake]:
    clip = band_energies(samples, song_bands.rate)
    first = _take(samples, clip, song_bands, candidate, 0.0, len(samples) / song_bands.rate)
    if first is None:
        return []
    found = [first]
    rest = [(0.0, first.start_s), (first.end_s, len(samples) / song_bands.rate)]
    while rest and len(found) < MOST_TAKES:
        if stop():
            raise Stopped("Stopped.")
        low, high = rest.pop()
        one = _another(samples, clip, song_bands, first.line.speed, low, high)
        if one is not None:
            found.append(one)
            rest += [(low, one.start_s), (one.end_s, high)]
        progress(len(found) / (len(found) + len(rest)))
    progress(1.0)
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
    """The take on a line, within a stretch of the clip."""
    start, end = low_s, high_s
    for _ in range(2):
        lags = band_lags(clip, song_bands, candidate, low_s, high_s)
        if lags is None:
            return None
        start, end = _ends(lags, candidate)
        if (end - start) * candidate.speed < SHORTEST_S:
            return None
        within = (lags.clip_s >= start) & (lags.clip_s <= end)
        candidate = best_slope(BandLags(lags.clip_s[within], lags.fits[within]), candidate, STEEPEST)
    line = Line(candidate.clip_s, candidate.song_s, candidate.speed)
    fine = onset_lags(samples, song_bands.samples, song_bands.rate, line, start, end)
    if fine is None:
        return None
    settled = refine_line(fine, line)
    half = max(settled.line.clip_s - start, end - settled.line.clip_s) * settled.speed_sd
    strength, rivals = _weighed(clip, song_bands, settled.line, start, end)
    return StretchedTake(
        start,
        end,
        settled.line,
        float(np.hypot(settled.uncertainty_s, 2 * half)),
        settled.speed_sd,
        strength,
        settled.jitter_s,
        rivals,
        settled.lags,
    )


def _ends(lags: BandLags, candidate: SpeedCandidate) -> tuple[float, float]:
    """Where the song runs along a line: the stretch in which the fit stays above LEAST_FIT of the usual."""
    near = lags.fits[:, REACH - 2 : REACH + 3].max(axis=1)
    away = np.concatenate([lags.fits[:, : REACH - 6], lags.fits[:, REACH + 7 :]], axis=1)
    fit = near - away.max(axis=1) / 2 - away.mean(axis=1) / 2
    inside = (lags.clip_s >= candidate.span_s[0] - 1.0) & (lags.clip_s <= candidate.span_s[1] + 1.0)
    usual = float(fit[inside].mean()) if inside.any() else float(fit.mean())
    total = np.concatenate([[0.0], np.cumsum(fit - max(usual, 0.0) * LEAST_FIT)])
    # The best stretch is the one over which the sum rises most.
    lowest = np.minimum.accumulate(total)
    last = int((total - lowest).argmax())
    first = int(total[: last + 1].argmin())
    last = max(first, last - 1)
    # Chance goes on a little beyond the ends: near them the fit must be half the usual.
    total = np.concatenate([[0.0], np.cumsum(fit - max(usual, 0.0) / 2)])
    trim = min(round(TRIM_S / FRAME_S), (last - first) // 2)
    start = first + int(total[first : first + trim + 1].argmin())
    end = last - trim + int(total[last - trim + 1 : last + 2].argmax())
    return float(lags.clip_s[start]), float(lags.clip_s[end])


def _weighed(
    clip: BandEnergies, song_bands: SongBands, line: Line, start_s: float, end_s: float
) -> tuple[float, tuple[StretchedRival, ...]]:
    """How far a take stands above chance in its place, and its other places."""
    song = song_bands.even[patches_at(line.speed)]
    first = max(0, int(np.ceil(line.song_time(start_s) / FRAME_S)))
    last = min(len(song) - 1, int(np.floor(line.song_time(end_s) / FRAME_S)))
    frames = np.arange(first - 1, last + 2)
    times = np.asarray(line.clip_s + (frames * FRAME_S - line.song_s) / line.speed, np.float64)
    heard = whiten_modulation(log_levels(clip.cells(times[None], 0, band_count(song_bands.rate)))[0], 0.25)
    fit, size = _everywhere(heard, song)
    own, _ = _everywhere(song[first : last + 1], song)
    chance = size > LEAST_OVERLAP * size[first + len(heard)]
    here = first + len(heard)
    chance[max(0, here - 25) : here + 26] = False
    share = fit / np.maximum(size, 1e-6 * size.max() + 1e-9)
    noise = float(np.sqrt(np.mean(np.square(share[chance])))) if chance.any() else float(np.abs(share).max())
    at = here - 3 + int(fit[here - 3 : here + 4].argmax())
    strength = float(share[at]) / (noise + 1e-9)
    return strength, tuple(_rivals(fit, own / (own[here] + 1e-9), at, noise * float(size[at])))


def _everywhere(piece: Array, song: Array) -> tuple[Array, Array]:
    """Likeness of a texture with the song in every place, and the size it would have by chance.

    Place p means that the piece's first frame lies on the song's frame p - len(piece).
    """
    size = scipy.fft.next_fast_len(len(song) + 2 * len(piece), real=True)
    places = len(song) + len(piece)

    def along(one: Array, other: Array) -> Array:
        spectra = scipy.fft.rfft(other, size, axis=0) * np.conj(scipy.fft.rfft(one, size, axis=0))
        values = scipy.fft.irfft(spectra.sum(axis=1), size)
        return np.asarray(np.concatenate([values[-len(piece) :], values[: places - len(piece)]]), np.float32)

    power = along(np.square(piece), np.square(song))
    return along(piece, song), np.sqrt(np.maximum(power, 0))


def _rivals(fit: Array, like: Array, at: int, noise: float) -> list[StretchedRival]:
    apart = round(APART_S / FRAME_S)
    left = fit.copy()
    left[max(0, at - apart) : at + apart + 1] = -np.inf
    out: list[StretchedRival] = []
    while len(out) < MOST_RIVALS:
        best = int(left.argmax())
        if left[best] < LISTED * fit[at]:
            break
        left[max(0, best - apart) : best + apart + 1] = -np.inf
        self_similarity = float(np.clip(like[max(0, best - 2) : best + 3].max(), 0, 1))
        margin_sd = float(fit[at] - fit[best]) / (
            noise * np.sqrt(2 * (1 - min(self_similarity, 0.999))) + 1e-9
        )
        shift = (best - at) * FRAME_S
        out.append(StretchedRival(shift, float(fit[best] / fit[at]), self_similarity, margin_sd))
    return out
