"""Rivals: where else in the song a take could lie, and whether its sound can tell.

Songs repeat themselves. A rival differs from the take's line by the difference between the signals predicted
at the microphone for the two positions. Where they are the same, no method can tell. Where they differ, the
clip is nearer to one of them by so many standard deviations: the margin.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import scipy.signal
from numpy.typing import NDArray

from audio.line import Line
from audio.placement.direct_sound import causal_part
from audio.placement.impulse_response import impulse_responses, predicted_signal
from audio.placement.line_fit import LineFit
from audio.placement.search import BLOCK_S, BlockPeaks, SongIndex
from audio.self_similarity import EXCESS, decided_against
from audio.whitening import Whitened

APART_S = 0.08
"""Positions closer than this are one: reflections, not repeats. Chosen by hand."""
MOST = 10
"""Rivals examined at most. Chosen by hand."""
LISTED = 0.3
"""Least share of the take's own fit at which a rival is listed though the take is decided against it. Chosen
by hand."""
FAR_BEHIND = 0.25
"""Share of the line's own gain under which a rival that is clearly behind is not examined closely."""
TWIN = 0.95
"""Self-similarity of the song (not whitened, upper band raised) from which on two positions cannot be
difference apart: what whitening makes of them depends on where its frames happen to lie. Chosen by hand."""
TWIN_REACH = 32
"""Samples to either side within which an identical copy is located exactly."""
ECHO_S = 0.8
"""The longest delay at which a room's reverberation can be mistaken for the song played later. Chosen by
hand."""
TWIN_SUSPECT = 0.3
"""Self-similarity of the whitened song from which on two positions are compared without whitening."""
NEAR_TWIN = 0.8
"""Self-similarity from which on each of two positions gets an impulse response of its own."""
CLEAR_DESPITE_EXCESS = 15.0
"""Margin (standard deviations) asked for against a rival that fits by more than EXCESS better than
self-similarity explains. Chosen by hand."""
CLEAR = 6.0
"""Margin (standard deviations) asked for against any other rival. Chosen by hand: by chance a normal variable
gets there once in a billion."""
FIRST = 0.45
"""Share of the line's own fit from which on an earlier arrival may be the direct sound (as DIRECT_SHARE in
audio/placement/direct_sound.py)."""
WORTH = 0.15
"""Share of the line's own block evidence below which a position is no rival. Chosen by hand."""
PART_STEP_S = 0.25
"""Resolution of the moment from which on a rival fits better."""
SHORTEST_PART_S = 3.0
"""Shortest part of a take that a rival may fit better. Chosen by hand."""
PART_MARGIN_SD = 10.0
"""Standard deviations by which a rival must fit better there: the luckiest of some hundred moments and rivals
counts."""


@dataclass(frozen=True, slots=True)
class RivalFit:
    """Another place for a take."""

    shift_s: float
    """How much later in the song than the take's line (s)."""
    strength: float
    """How well it fits, as a share of the line's own fit (no unit); 1 is as good."""
    self_similarity: float
    """The strength that the song's self-similarity between the two positions explains."""
    twin: bool
    """Whether the song itself is identical in both places, to the ear."""
    margin_sd: float
    """Standard deviations by which the sound prefers the line to this rival; about 0 where they are twins."""
    from_s: float | None = None
    until_s: float | None = None
    """Clip time from which on, or until which, the rival fits clearly better (s); None where it does not."""

    @property
    def echo(self) -> bool:
        """Whether it is reverberation, no other position: sound that arrives a little late, where the song
        does not resemble itself. In a church that can be louder than the direct sound."""
        return -ECHO_S < self.shift_s < 0 and self.self_similarity < TWIN_SUSPECT

    @property
    def own_echo(self) -> bool:
        """Whether the take's own line may be the echo of this rival. A room only delays, so a good fit a
        little later in the song, where the song does not resemble itself, is an earlier arrival."""
        return (
            0 < self.shift_s < ECHO_S
            and self.strength > FIRST
            and self.strength - self.self_similarity > EXCESS
        )

    @property
    def open(self) -> bool:
        """Whether the take is not decided against this rival (see `audio.self_similarity`)."""
        excess = self.strength - self.self_similarity
        return (
            self.twin
            or self.own_echo
            or not decided_against(self.margin_sd, excess, CLEAR, CLEAR_DESPITE_EXCESS)
        )


def find_rivals(
    white: Whitened, index: SongIndex, fit: LineFit, peaks: Sequence[BlockPeaks], start_s: float, end_s: float
) -> list[RivalFit]:
    """Find and compare the rivals of a take from ``start_s`` to ``end_s`` (in times of the clip's samples).

    Returns
    -------
    list of RivalFit
        Strongest first, without those that the take is decided against and that fit less than LISTED.
    """
    shifts = _candidates(fit, peaks, start_s, end_s)
    own = _Reference.of(white, index, fit, start_s, end_s)
    if own is None or not shifts:
        return []
    lines = [fit.line.shifted(shift) for shift in shifts]
    found: list[RivalFit] = []
    for shift, (there, noise) in zip(
        shifts, impulse_responses(white, index, lines, start_s, end_s, APART_S), strict=True
    ):
        rival = _weigh(index, fit, own, shift, there, noise)
        if rival is None or rival.echo or (rival.strength < LISTED and not rival.open):
            continue
        if all(abs(rival.shift_s - other.shift_s) > APART_S for other in found):
            found.append(rival)
    return sorted(found, key=lambda rival: -rival.strength)


@dataclass(frozen=True, slots=True, eq=False)
class _Reference:
    """A take, and the signal that its own line predicts at the microphone."""

    start_s: float
    end_s: float
    first: int
    clip: NDArray[np.float32]
    here: NDArray[np.float32]
    power: float
    gain: float
    noise: float

    @classmethod
    def of(
        cls, white: Whitened, index: SongIndex, fit: LineFit, start_s: float, end_s: float
    ) -> "_Reference | None":
        first, count = round(start_s * index.rate), round((end_s - start_s) * index.rate)
        clip = white[first : first + count].astype(np.float32, copy=False)
        here = predicted_signal(index, fit.line, fit.impulse_response, fit.direct_at, first, len(clip))
        power = _product(here, here)
        gain = _product(clip, here) / power if power > 0 else 0.0
        if gain <= 0:
            return None
        noise = float(np.sqrt(_product(clip, clip) / len(clip)))
        return cls(start_s, end_s, first, clip, here, power, gain, noise)


def _candidates(fit: LineFit, peaks: Sequence[BlockPeaks], start_s: float, end_s: float) -> list[float]:
    """Shifts (s) at which several blocks of the take have a good bin too."""
    width = APART_S / 4
    votes: dict[int, float] = {}
    own = 0.0
    for block in peaks:
        inside = min(end_s, block.start_s + BLOCK_S) - max(start_s, block.start_s)
        if inside < BLOCK_S / 4 and inside < (end_s - start_s) / 2:
            continue
        shifts = fit.line.lag_s(block.start_s, block.song_s)
        cells: dict[int, float] = {}
        for shift, evidence in zip(shifts, block.evidence, strict=True):
            if evidence <= 0:
                continue
            if abs(shift) < APART_S:
                cells[0] = max(cells.get(0, 0.0), float(evidence))
            else:
                cell = round(float(shift) / width)
                cells[cell] = max(cells.get(cell, 0.0), float(evidence))
        own += cells.pop(0, 0.0)
        for cell, evidence in cells.items():
            votes[cell] = votes.get(cell, 0.0) + evidence
    joined = {cell: votes[cell] + max(votes.get(cell - 1, 0.0), votes.get(cell + 1, 0.0)) for cell in votes}
    best = sorted(joined, key=lambda cell: -joined[cell])
    chosen: list[int] = []
    for cell in best:
        if joined[cell] < WORTH * own or len(chosen) == MOST:
            break
        if all(abs(cell - other) * width > APART_S for other in chosen):
            chosen.append(cell)
    return [cell * width for cell in chosen]


def _weigh(
    index: SongIndex, fit: LineFit, own: _Reference, shift: float, there: NDArray[np.float32], noise: float
) -> RivalFit | None:
    """Locate a rival exactly and compare it with the line over the take.

    ``there`` is the take's impulse response along the line shifted by ``shift`` (s), ``noise`` the RMS of
    chance in it.
    """
    rate, line, size = index.rate, fit.line, len(there)
    # The rival's impulse response resembles the line's: matching the two takes the same arrival as direct.
    template = np.zeros(size, np.float32)
    model = fit.impulse_response[: min(len(fit.impulse_response), size // 2)]
    template[size // 2 + fit.direct_at - np.arange(len(model))] = model
    match = np.fft.irfft(np.fft.rfft(there) * np.conj(np.fft.rfft(template)), size)
    best_shift = shift + _peak_lag(match) / rate
    if abs(best_shift) < APART_S:
        return None
    # If it is far behind whatever the self-similarity, it needs no closer comparison.
    other_gain = max(0.0, float(match.max())) / own.power
    behind = (own.gain - other_gain) * np.sqrt(own.power) / (2 * own.noise)
    if behind > CLEAR_DESPITE_EXCESS and other_gain < FAR_BEHIND * own.gain:
        return None
    other = predicted_signal(
        index, line.shifted(best_shift), fit.impulse_response, fit.direct_at, own.first, len(own.clip)
    )
    self_similarity = _similarity(own, other)
    if self_similarity > NEAR_TWIN:
        # The line's impulse response was fitted to the line's noise as well: the rival gets one of its own.
        direct = size // 2 + round(_peak_lag(match))
        impulse_response = causal_part(there, direct, rate, noise)
        off = (direct - size // 2) / rate
        other = predicted_signal(
            index, line.shifted(shift + off), impulse_response, fit.direct_at, own.first, len(own.clip)
        )
        self_similarity = _similarity(own, other)
    other_power = _product(other, other)
    if other_power <= 0:
        return None
    other_gain = _product(own.clip, other) / other_power
    strength = other_gain * np.sqrt(other_power) / (own.gain * np.sqrt(own.power))
    apart = own.gain * own.here - np.float32(other_gain) * other
    difference = own.gain**2 * own.power - other_gain**2 * other_power
    from_s, until_s = _better_part(own, other, rate)
    return RivalFit(
        shift_s=float(best_shift),
        strength=max(0.0, float(strength)),
        self_similarity=self_similarity,
        twin=self_similarity > TWIN_SUSPECT and _is_twin(index, line, best_shift, own.start_s, own.end_s),
        margin_sd=difference / (2 * own.noise * float(np.sqrt(_product(apart, apart))) + 1e-20),
        from_s=from_s,
        until_s=until_s,
    )


def _better_part(own: _Reference, other: NDArray[np.float32], rate: int) -> tuple[float | None, float | None]:
    """The clip times (s) from which on, and until which, a rival fits clearly better than the line.

    Two starts of a song that nearly repeats itself may lie so that one line explains much of both.
    """
    step = round(PART_STEP_S * rate)
    used = len(own.clip) // step * step
    least = round(SHORTEST_PART_S / PART_STEP_S)
    if used // step < 2 * least:
        return None, None
    apart = (own.here - other)[:used]
    both = own.here[:used] + other[:used]
    # Twice the log-likelihood ratio, times the noise power.
    difference = own.gain * apart * (2 * own.clip[:used] - np.float32(own.gain) * both)
    prefers = difference.reshape(-1, step).sum(axis=1, dtype=np.float64)
    power = own.gain**2 * np.square(apart).reshape(-1, step).sum(axis=1, dtype=np.float64)

    def first_best(prefers: NDArray[np.float64], power: NDArray[np.float64]) -> int | None:
        """Steps from the beginning over which the rival is ahead most, if it is so clearly."""
        sums, powers = np.cumsum(prefers), np.cumsum(power)
        best = int(sums[least - 1 : -least].argmin()) + least - 1
        margin_sd = float(sums[best]) / (2 * own.noise * float(np.sqrt(powers[best])) + 1e-20)
        return best + 1 if margin_sd < -PART_MARGIN_SD else None

    until, since = first_best(prefers, power), first_best(prefers[::-1], power[::-1])
    end_s = own.start_s + used / rate
    return (
        None if since is None else end_s - since * PART_STEP_S,
        None if until is None else own.start_s + until * PART_STEP_S,
    )


def _product(one: NDArray[np.float32], other: NDArray[np.float32]) -> float:
    return float(np.dot(one, other))


def _similarity(own: _Reference, other: NDArray[np.float32]) -> float:
    power = own.power * _product(other, other)
    return _product(own.here, other) / float(np.sqrt(power)) if power > 0 else 0.0


def _is_twin(index: SongIndex, line: Line, shift_s: float, start_s: float, end_s: float) -> bool:
    """Whether the song, not whitened, is identical in the two positions of a take."""
    rate, reach = index.rate, TWIN_REACH
    # First differences raise the upper band, which the search goes by; otherwise the bass would decide.
    edges = np.diff(index.samples)
    first, last = (round(line.song_time(time) * rate) for time in (start_s, end_s))
    by = round(shift_s * rate)
    low, high = max(first, reach - by, 0), min(last, len(edges) - by - reach, len(edges))
    if high - low < reach:
        return False
    here, there = edges[low:high], edges[low + by - reach : high + by + reach]
    lags = [float(here @ there[lag : lag + len(here)]) for lag in range(2 * reach + 1)]
    # Upsampled: a copy need not lie a whole number of samples away.
    copy = float(scipy.signal.resample_poly(lags, 16, 1).max())
    # Over the whole take, though the other position may reach beyond the song: what has no counterpart
    # differs.
    whole, other = edges[max(0, first) : last], there[reach:-reach]
    return copy >= TWIN * float(np.sqrt(float(whole @ whole) * float(other @ other)))


def _peak_lag(match: NDArray[np.float64]) -> float:
    """Lag (samples, to a fraction) of the highest value of a circular correlation."""
    size = len(match)
    best = int(match.argmax())
    before, top, after = match[best - 1], match[best], match[(best + 1) % size]
    part = 0.5 * (before - after) / (before - 2 * top + after - 1e-30)
    return (best if best < size // 2 else best - size) + float(np.clip(part, -0.5, 0.5))
