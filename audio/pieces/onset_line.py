"""The line of a time-stretched recording of a song, where both are clean: by the onsets of one and the other.

Players that stretch time move onsets some 5 to 20 ms about the ideal line, and a band follows onsets. So the
line asked for is the one that onsets lie on best. Their strengths are correlated along a rough line
(`audio.speed.onset_lags`). Nothing is taken off for a room: the recording is the file itself, not what a
microphone heard of it.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from audio.line import Line
from audio.signals import Samples
from audio.speed.onset_lags import FRAME_S, REACH, UPSAMPLING, OnsetLags, onset_lags, summed

STEEPEST = 3e-3
"""How far off the speed of the rough line may be (no unit)."""
END_OFF_S = 0.06
"""How far off the rough line may lie at its ends (s of song)."""
PARTS = 12
"""The recording is measured in so many parts at most. Chosen by hand: enough for a scatter …"""
PART_S = 6.0
"""… of at least this much of the song (s), so that each holds onsets enough."""
FEWEST = 3
"""With fewer parts nothing is known of the speed."""
OUTLIER_S = 0.006
"""Residual at which a part's weight is halved (s). Chosen by hand: a few times what parts scatter."""
FAR_S = 0.03
"""A part is measured this far to both sides of the line of all (s)."""
FLOOR_S = 0.002
"""Least half-width (s): stretching leaves so much open about where an onset lies."""
WIDER = 3.0
"""Half-widths in standard deviations: more than two, because parts beside each other share notes and err
together."""
CHANCE_S = 0.02
"""Lags further from the peak than this are chance (s)."""


@dataclass(frozen=True, slots=True)
class OnsetLine:
    """The line that onsets lie on."""

    line: Line
    uncertainty_s: float
    """Half-width (s of song) that holds it 95 times in 100, anywhere between the ends."""
    speed_sd: float
    """Standard deviation of the speed (no unit)."""
    bend_s: float
    """How far the parts of the recording lie off the line at most (s of song), but for one in ten."""
    strength: float
    """Standard deviations of the correlation's peak above lags that are chance."""


def onset_line(
    recording: Samples, song: Samples, rate: int, rough: Line, start_s: float, end_s: float
) -> OnsetLine | None:
    """Fit the line of a stretched recording between two of its moments, near a rough one.

    Parameters
    ----------
    recording, song : float32, shapes (n,) and (m,)
        As they are (not whitened).
    rough : Line
        Right to 60 ms at both ends.

    Returns
    -------
    OnsetLine, or None where too little of the song lies there to tell.
    """
    middle = rough.anchored((start_s + end_s) / 2)
    lags = onset_lags(recording, song, rate, middle, start_s, end_s)
    if lags is None:
        return None
    half_s = max(1.0, (end_s - start_s) / 2 * middle.speed)
    steepest = min(STEEPEST, END_OFF_S / half_s)
    slopes = np.arange(-steepest, steepest, FRAME_S / UPSAMPLING / half_s)
    heights = [float(summed(lags, middle, float(slope)).max()) for slope in slopes]
    slope = float(slopes[int(np.argmax(heights))])
    whole = summed(lags, middle, slope).astype(np.float64)
    line = middle.with_speed(middle.speed * (1 + slope)).shifted(_peak_s(whole))
    offsets_s, at_s, weights = _parts(lags, middle, slope, _peak_s(whole))
    lag_s, turn, residual_s, seen = _robust(offsets_s, at_s - middle.clip_s, weights)
    line = line.shifted(lag_s).with_speed(line.speed + turn)
    spread_s = max(1.4826 * float(np.median(np.abs(residual_s))), FLOOR_S / 2)
    width_s = float(np.sqrt(np.average((at_s - at_s.mean()) ** 2, weights=seen))) + 1e-9
    speed_sd = spread_s / np.sqrt(max(1.0, seen.sum())) / width_s if len(at_s) >= FEWEST else STEEPEST
    sd_s = np.hypot(spread_s / np.sqrt(max(1.0, seen.sum())), speed_sd * (end_s - start_s) / 2)
    far = np.abs(_lags_s(len(whole)) - _peak_s(whole)) > CHANCE_S
    return OnsetLine(
        line,
        float(FLOOR_S + WIDER * sd_s),
        float(speed_sd),
        float(np.quantile(np.abs(residual_s), 0.9)),
        float((whole.max() - whole[far].mean()) / (whole[far].std() + 1e-12)),
    )


def _parts(
    lags: OnsetLags, middle: Line, slope: float, lag_s: float
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Lag of each part off the line of all (s of song), its middle (s of recording), and how clear it is."""
    length_s = float(np.ptp(lags.clip_s)) * middle.speed
    count = int(np.clip(length_s // PART_S, 1, PARTS))
    offsets_s, at_s, weights = [], [], []
    for rows in np.array_split(np.arange(len(lags.clip_s)), count):
        one = OnsetLags(lags.clip_s[rows], lags.fits[rows])
        curve = summed(one, middle, slope).astype(np.float64)
        seen = np.abs(_lags_s(len(curve)) - lag_s) <= FAR_S
        inside = np.where(seen, curve, -np.inf)
        at = int(inside.argmax())
        offsets_s.append(_vertex_s(curve, at) - lag_s)
        at_s.append(float(one.clip_s.mean()))
        spread = float(curve[~seen].std()) + 1e-12
        weights.append(float(np.clip((curve[at] - curve[~seen].mean()) / spread - 2.0, 0.05, 5.0)))
    return np.array(offsets_s), np.array(at_s), np.array(weights)


def _robust(
    offsets_s: NDArray[np.float64], from_s: NDArray[np.float64], clear: NDArray[np.float64]
) -> tuple[float, float, NDArray[np.float64], NDArray[np.float64]]:
    """Lag where ``from_s`` is 0, slope, residuals and weights of a line by iteratively reweighted least
    squares."""
    weight = clear / clear.max()
    lag_s, slope, residual_s = 0.0, 0.0, offsets_s
    for _ in range(20):
        centre_s = float(np.average(from_s, weights=weight))
        spread = from_s - centre_s
        lag_s = float(np.average(offsets_s, weights=weight))
        power = float((weight * spread**2).sum())
        slope = float((weight * spread * (offsets_s - lag_s)).sum()) / power if len(from_s) >= FEWEST else 0.0
        lag_s -= slope * centre_s
        residual_s = offsets_s - lag_s - slope * from_s
        weight = clear / clear.max() / (1 + (residual_s / OUTLIER_S) ** 2)
    return lag_s, slope, residual_s, weight


def _lags_s(count: int) -> NDArray[np.float64]:
    return (np.arange(count) / UPSAMPLING - REACH) * FRAME_S


def _peak_s(curve: NDArray[np.float64]) -> float:
    return _vertex_s(curve, int(curve.argmax()))


def _vertex_s(curve: NDArray[np.float64], at: int) -> float:
    """Lag (s) of the vertex of the parabola through a maximum and its neighbours."""
    at = int(np.clip(at, 1, len(curve) - 2))
    before, here, after = curve[at - 1 : at + 2]
    bend = before - 2 * here + after
    part = float(np.clip(0.5 * (before - after) / bend, -1, 1)) if bend < 0 else 0.0
    return float(((at + part) / UPSAMPLING - REACH) * FRAME_S)
