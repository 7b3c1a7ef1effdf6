"""Whether the song runs on beyond where it is heard, by its waveform; see `audio.soft_ends`."""

from dataclasses import dataclass

import numpy as np

from audio.placement.ends import evidence_steps
from audio.placement.line_fit import LineFit
from audio.placement.search import SongIndex
from audio.soft_ends import SMOOTH_S, STEP_S, Moments, Recorded, nothing_against, song_share
from audio.whitening import Whitened


@dataclass(frozen=True, slots=True, eq=False)
class ClipAtSpeed:
    """A clip that was resampled to the song's speed; its times are those of ``white``."""

    white: Whitened
    """Whitened and resampled, shape (n,)."""
    raw: Recorded
    """As it was recorded, shape (about n / speed,)."""
    speed: float


def runs_through(
    clip: ClipAtSpeed, index: SongIndex, fit: LineFit, inside_s: float, heard_s: float, limit_s: float
) -> bool:
    """Whether nothing speaks against a song that is heard from ``inside_s`` to ``heard_s`` running on to
    ``limit_s``, by its waveform."""
    low, high = min(inside_s, limit_s), max(inside_s, limit_s)
    steps = evidence_steps(clip.white, index, fit, low, high)
    at_s = np.asarray(low + (np.arange(len(steps.power)) + 0.5) * STEP_S, np.float64)
    song, recorded = (
        Moments(index.samples, fit.line.song_time(at_s)),
        Moments(clip.raw, np.asarray(at_s / clip.speed)),
    )
    share = np.sqrt(song_share(song, recorded, index.rate, clip.speed, round(SMOOTH_S / STEP_S)))
    outward = slice(None) if limit_s > inside_s else slice(None, None, -1)
    heard = round(abs(heard_s - inside_s) / STEP_S)
    return nothing_against(steps.agreement[outward], steps.power[outward], share[outward], heard, steps.noise)
