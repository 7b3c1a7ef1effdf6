"""One clock per camera: the long takes of a camera fix the speed of its short ones.

Against a song played by one player, every take of one camera runs at one speed: both clocks are crystals.
A take of minutes measures that speed to 1 ppm; a pick-up of seconds hardly measures it at all. Estimates are
combined by inverse-variance weighting.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import scipy.stats
from numpy.typing import NDArray

from audio.line import Line
from audio.placement.answer import PlaceVerdict, TakeFit
from audio.placement.line_fit import FLOOR_S
from audio.placement.slope_search import CLOCK_SPREAD, SLOPE_LIMIT

WANDER = 1e-6
"""Standard deviation of one clock's speed from take to take (no unit): crystals follow the temperature of the
camera and of the player. A tuning-fork quartz moves by about 0.035 ppm per squared degree Celsius off 25 °C
(handbook value, from memory)."""
ALIKE = 1e-3
"""Least probability (chi-square) of the scatter of a camera's speeds at which they count as one speed. Chosen
by hand: one camera in a thousand is left alone without need."""
APART = 4.0
"""Standard deviations by which a take must be off to have run at another speed. Chosen by hand."""
INFORMATIVE_SD = CLOCK_SPREAD / 3
"""A take whose speed is known worse than this (standard deviation, no unit) does not count when speeds are
grouped: it would agree with any. Chosen by hand."""
MOST_APART = 0.25
"""Share of the informative takes that may run at other speeds. With more, nobody knows at which of them a
short take ran. Chosen by hand."""


@dataclass(frozen=True, slots=True)
class Clock:
    """The speed of a camera against the song (no unit), and its standard deviation."""

    speed: float
    speed_sd: float
    takes: tuple[int, ...]
    """The takes it was computed from, as indices."""


def common_clock(takes: Sequence[TakeFit]) -> Clock | None:
    """Find the speed that the placed takes of one camera share, as far as there is one.

    None where fewer than two takes share it, where too many informative takes run at other speeds (another
    player, another speed of playback), or where the rest scatter more than their standard deviations allow
    (chi-square test).
    """
    speeds, weights = _measured(takes)
    known = np.flatnonzero(weights)
    best: NDArray[np.intp] = np.empty(0, int)
    for seed in known.tolist():
        near = known[_apart(speeds, weights, seed, known) < APART]
        if weights[near].sum() > weights[best].sum():
            best = near
    # The mean of all is a better centre than any one of them.
    for _ in range(3):
        if not len(best):
            return None
        mean = float(np.average(speeds[best], weights=weights[best]))
        best = known[np.abs(speeds[known] - mean) * np.sqrt(weights[known]) < APART]
    if len(best) < 2 or _share_at_other_speeds(takes, best, known) > MOST_APART:
        return None
    mean = float(np.average(speeds[best], weights=weights[best]))
    spread = float((weights[best] * (speeds[best] - mean) ** 2).sum())
    if scipy.stats.chi2.sf(spread, len(best) - 1) < ALIKE:
        return None
    return Clock(mean, float(weights[best].sum() ** -0.5), tuple(int(one) for one in best))


def with_common_clock(takes: Sequence[TakeFit]) -> tuple[TakeFit, ...]:
    """Combine the speed of every take of one camera with that of the camera's other takes.

    The line is rotated about the moment at which its position is best known, and the uncertainty is computed
    anew. Verdicts, ends and rivals' distances stay. A take that ran at another speed stays as it is, and so
    do all where they share no speed.

    Parameters
    ----------
    takes : sequence of TakeFit
        All takes of one camera or recorder, of one file or of many.
    """
    if common_clock(takes) is None:
        return tuple(takes)
    out = []
    for number, take in enumerate(takes):
        # The take's own measurement must not be counted twice: the clock is that of the others.
        others = [one for position, one in enumerate(takes) if position != number]
        out.append(_with_clock(take, _clock_of_others(others)))
    return tuple(out)


def _clock_of_others(others: Sequence[TakeFit]) -> Clock | None:
    clock = common_clock(others)
    if clock is not None:
        return clock
    # One long take is a clock by itself: that all takes agree was tested before.
    speeds, weights = _measured(others)
    if np.count_nonzero(weights) != 1:
        return None
    only = int(weights.argmax())
    return Clock(float(speeds[only]), float(weights[only] ** -0.5), (only,))


def _with_clock(take: TakeFit, clock: Clock | None) -> TakeFit:
    # The uncertainty of a take that sways is not its clock's.
    if clock is None or take.sways:
        return take
    own_weight = _measured_weight(take)
    clock_weight = 1 / (clock.speed_sd**2 + WANDER**2)
    off = abs(take.speed - clock.speed)
    if off > min(SLOPE_LIMIT, APART * float(np.hypot(take.speed_sd, clock_weight**-0.5))):
        return take
    speed = (own_weight * take.speed + clock_weight * clock.speed) / (own_weight + clock_weight)
    speed_sd = float((own_weight + clock_weight) ** -0.5)
    if speed_sd >= take.speed_sd:
        return take
    about = _best_known_s(take)
    rotation = float(speed) - take.speed
    half = (take.clip_end_s - take.clip_start_s) / 2
    place_var = max(0.0, (take.uncertainty_s / 2) ** 2 - (half * take.speed_sd) ** 2 - FLOOR_S**2)
    reach = max(about - take.clip_start_s, take.clip_end_s - about)
    uncertainty = 2 * float(np.sqrt(place_var + (reach * speed_sd) ** 2 + FLOOR_S**2))
    moved = rotation * (take.clip_start_s - about)
    return replace(
        take,
        line=Line(take.clip_start_s, take.song_start_s + moved, float(speed)),
        speed_sd=speed_sd,
        uncertainty_s=min(uncertainty, take.uncertainty_s),
        rivals=tuple(rival._replace(song_start_s=rival.song_start_s + moved) for rival in take.rivals),
        lags=tuple((at, lag - rotation * (at - about), strength) for at, lag, strength in take.lags),
    )


def _best_known_s(take: TakeFit) -> float:
    """Clip time (s) about which rotating the line changes the measured lags least: their weighted mean."""
    inside = [(at, s * s) for at, _, s in take.lags if take.clip_start_s <= at <= take.clip_end_s and s > 0]
    weight = sum(power for _, power in inside)
    if weight <= 0:
        return (take.clip_start_s + take.clip_end_s) / 2
    return sum(at * power for at, power in inside) / weight


def _measured_weight(take: TakeFit) -> float:
    """Weight (1 / variance) of the speed that the take's own sound gives, without the prior on all clocks."""
    return max(0.0, 1 / take.speed_sd**2 - 1 / CLOCK_SPREAD**2) if take.speed_sd > 0 else 0.0


def _measured(takes: Sequence[TakeFit]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Speeds and their weights (1 / variance), 0 for takes that do not count; shape (takes,) each."""
    speeds = np.array([take.speed for take in takes])
    weights = np.zeros(len(takes))
    for number, take in enumerate(takes):
        own = _measured_weight(take)
        if take.verdict is PlaceVerdict.PLACED and own > 0:
            weights[number] = 1 / (1 / own + WANDER**2)
    return speeds, weights


def _apart(
    speeds: NDArray[np.float64], weights: NDArray[np.float64], seed: int, others: NDArray[np.intp]
) -> NDArray[np.float64]:
    """Standard deviations between the speed of one take and those of others, itself among them."""
    return np.asarray(
        np.abs(speeds[others] - speeds[seed]) / np.sqrt(1 / weights[others] + 1 / weights[seed])
    )


def _share_at_other_speeds(
    takes: Sequence[TakeFit], agreeing: NDArray[np.intp], known: NDArray[np.intp]
) -> float:
    """Share of the informative takes that run at another speed, though one that a clock may have."""
    among = set(agreeing.tolist())
    speed = float(np.median([takes[one].speed for one in agreeing]))
    informative = [
        one
        for one in known.tolist()
        if takes[one].speed_sd < INFORMATIVE_SD and abs(takes[one].speed - speed) < 2 * SLOPE_LIMIT
    ]
    return sum(one not in among for one in informative) / len(informative) if informative else 0.0
