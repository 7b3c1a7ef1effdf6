"""Ends of a time-stretched take: where band energies stop agreeing with the song's, and what lies beyond."""

import numpy as np
from numpy.typing import NDArray

from audio.line import Line
from audio.signals import Samples
from audio.soft_ends import SMOOTH_S, Moments, nothing_against, song_share
from audio.speed.log_bands import FRAME_S, BandEnergies
from audio.speed.speed_refinement import GROUP, REACH, BandLags, band_lags
from audio.speed.speed_search import SongBands, SpeedCandidate, patches_at

LEAST_FIT = 0.2
"""Share of its mean fit below which the take has ended. Chosen by hand."""
TRIM_S = 3.0
"""Ends are located more closely within this much of the song (s). Chosen by hand."""


def detected_ends(lags: BandLags, candidate: SpeedCandidate) -> tuple[float, float]:
    """Clip times (s) between which the song runs: there the fit stays above LEAST_FIT of its mean."""
    near = lags.fits[:, REACH - 2 : REACH + 3].max(axis=1)
    away = np.concatenate([lags.fits[:, : REACH - 6], lags.fits[:, REACH + 7 :]], axis=1)
    fit = near - away.max(axis=1) / 2 - away.mean(axis=1) / 2
    inside = (lags.clip_s >= candidate.span_s[0] - 1.0) & (lags.clip_s <= candidate.span_s[1] + 1.0)
    mean_fit = float(fit[inside].mean()) if inside.any() else float(fit.mean())
    total = np.concatenate([[0.0], np.cumsum(fit - max(mean_fit, 0.0) * LEAST_FIT)])
    # The take is the interval over which the cumulative sum rises most.
    lowest = np.minimum.accumulate(total)
    last = int((total - lowest).argmax())
    first = int(total[: last + 1].argmin())
    last = max(first, last - 1)
    # Chance extends the interval a little: near its ends the fit must be half the mean.
    total = np.concatenate([[0.0], np.cumsum(fit - max(mean_fit, 0.0) / 2)])
    trim = min(round(TRIM_S / FRAME_S), (last - first) // 2)
    start = first + int(total[first : first + trim + 1].argmin())
    end = last - trim + int(total[last - trim + 1 : last + 2].argmax())
    return float(lags.clip_s[start]), float(lags.clip_s[end])


def runs_through(
    samples: Samples,
    clip: BandEnergies,
    song_bands: SongBands,
    line: Line,
    moments_s: tuple[float, float, float],
) -> bool:
    """As `audio.placement.running_on.runs_through`, by band energies: heard from the first moment to the
    second, the third is the limit."""
    inside_s, heard_s, limit_s = moments_s
    candidate = SpeedCandidate(line, True, 0.0, (min(moments_s), max(moments_s)))
    lags = band_lags(clip, song_bands, candidate, min(moments_s), max(moments_s))
    if lags is None:
        return False
    song = song_bands.levels[patches_at(line.speed)]
    frames = np.round(line.song_time(lags.clip_s) / FRAME_S).astype(np.int64)
    power = np.square(song[np.clip(frames, 0, len(song) - 1)]).sum(axis=1, dtype=np.float64)
    share = song_share(
        Moments(song_bands.samples, np.asarray(line.song_time(lags.clip_s))), Moments(samples, lags.clip_s),
        song_bands.rate, 1.0, round(SMOOTH_S / FRAME_S),
    )  # fmt: skip
    outward = slice(None) if limit_s > inside_s else slice(None, None, -1)
    # Neighbouring frames overlap, and bands rise and fall together: only groups of them are independent.
    fits, power, share = (_grouped(values[outward]) for values in (lags.fits, power[:, None], share))
    if not len(fits):
        return True
    heard = round(abs(heard_s - inside_s) * line.speed / FRAME_S / GROUP)
    # Reverberation delays what is heard a little: by how much, the part that is heard tells.
    near = fits[:, REACH - 2 : REACH + 3]
    agreement = near[:, int(near[:heard].sum(axis=0).argmax())]
    away = np.concatenate([fits[:, : REACH - 6], fits[:, REACH + 7 :]], axis=1)
    noise = float(np.square(away).mean() / (power.mean() + 1e-12)) + 1e-12
    return nothing_against(agreement, power[:, 0], share / GROUP, heard, noise)


def _grouped(values: NDArray[np.float32] | NDArray[np.float64]) -> NDArray[np.float64]:
    """Sums over every GROUP rows; the last rows, if fewer, are left out."""
    count = len(values) // GROUP
    return np.asarray(values[: count * GROUP].reshape(count, GROUP, -1).sum(axis=1), np.float64)
