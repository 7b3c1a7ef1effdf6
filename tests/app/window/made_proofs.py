"""Proofs made up for the tests of Check: hits every 120 ms, the take's as late as a test says."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from app.engine.checking import SHOWN_S, SLIDE_S, STEP_S, Placed


@dataclass(frozen=True)
class MadeProof:
    """As `audio.placement.proof.Proof`."""

    clip_s: float
    song_s: float
    song: NDArray[np.float32]
    take: NDArray[np.float32]
    fit: NDArray[np.float32]
    late_s: float | None
    uncertainty_s: float
    strength: float
    silent: bool = False


@dataclass(frozen=True)
class MadeFit:
    """As `audio.placement.local_fit.LocalFit`."""

    song_start_s: float
    speed: float = 1.0
    uncertainty_s: float = 0.0005
    strength: float = 60.0
    clear: bool = True


def make_proof(placed: Placed, clip_s: float, late_s: float | None) -> MadeProof:
    """What a take is like around a moment of its clip."""
    song_s = placed.song_start_s + (clip_s - placed.clip_start_s) * placed.speed
    off = late_s or 0.0
    near = np.linspace(-SHOWN_S, SHOWN_S, round(2 * SHOWN_S / STEP_S) + 1)
    far = np.linspace(-SHOWN_S - SLIDE_S, SHOWN_S + SLIDE_S, round(2 * (SHOWN_S + SLIDE_S) / STEP_S) + 1)
    by = np.linspace(-SLIDE_S, SLIDE_S, round(2 * SLIDE_S / STEP_S) + 1)
    fit = 4 + 60 * np.exp(-(((by + off) / 0.006) ** 2)) * (late_s is not None)
    return MadeProof(
        clip_s, song_s, _hits(near), 0.8 * _hits(far - off), fit.astype(np.float32), late_s, 0.0004,
        60.0 if late_s is not None else 0.0,
    )  # fmt: skip


def _hits(times: NDArray[np.float64]) -> NDArray[np.float32]:
    since = np.mod(times, 0.12)
    return (0.1 + 0.9 * np.exp(-since / 0.02)).astype(np.float32)
