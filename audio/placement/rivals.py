"""Where else a take could lie, and whether the sound can tell.

Songs repeat themselves. A rival is told from the take's line by the difference between what the microphone
should hear here and there: where that difference is nothing, no method can tell; where it is not, the clip
leans to one side by so many standard deviations.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import scipy.signal
from numpy.typing import NDArray

from audio.line import Line
from audio.placement.direct_sound import forward
from audio.placement.impulse_response import impulse_responses, predicted_signal
from audio.placement.line_fit import LineFit
from audio.placement.search import BIN_S, BLOCK_S, BlockPeaks, SongIndex
from audio.whitening import Whitened

APART_S = 0.08
"""Places closer than this are one place: reflections, not repeats."""
MOST = 10
"""Rivals looked at."""
LISTED = 0.3
FAR_BEHIND = 0.25
"""Share of the line's own gain under which a rival that is clearly behind is not looked at closely."""
TWIN = 0.95
"""Likeness of the song with itself (its upper band raised) from which on two places cannot be told apart:
what the flattening makes of them depends on where its patches happen to lie."""
TWIN_REACH = 32
"""Samples to either side within which a copy is looked for exactly."""
ECHO_S = 0.8
"""Longest a room's sound can be taken for the song played later."""
TWIN_SUSPECT = 0.3
"""Likeness of the flattened song in two places from which on they are looked at as it is."""
NEAR_TWIN = 0.8
"""Likeness of two places from which on they are compared with a response each."""
EXCESS = 0.25
"""How much better than the song's own likeness explains a rival may fit …"""
CLEAR_DESPITE_EXCESS = 15.0
"""… unless the line leads it by so many standard deviations."""
CLEAR = 6.0
"""Standard deviations by which a line must lead a rival to be decided against it."""
FIRST = 0.45
"""Share of the line's own fit from which on an earlier arrival may be the direct sound (as DIRECT_SHARE in
audio/placement/direct.py)."""
WORTH = 0.15
"""Share of the line's block evidence below which a place is no rival."""
PART_STEP_S = 0.25
"""Resolution of the moment at which a rival takes over."""
SHORTEST_PART_S = 3.0
PART_LEAD = 10.0
"""Standard deviations by which a rival must lead in the rest of a take to take it over: of some hundred
moments and rivals the luckiest counts."""


@dataclass(frozen=True, slots=True)
class RivalFit:
    """Another place for a take."""

    shift_s: float
    """How much later in the song than the take's line."""
    strength: float
    """How well it fits, as a share of the line's own fit; 1 is as good."""
    self_similarity: float
    """The strength that the song's own likeness between the two places explains."""
    twin: bool
    """Whether the song itself is the same in both places, as far as can be heard."""
    lead: float
    """Standard deviations by which the sound prefers the line to this rival; about 0 where they are twins."""
    from_s: float | None = None
    until_s: float | None = None
    """Where the rival fits clearly better from a moment of the clip on, or until one: that moment."""

    @property
    def echo(self) -> bool:
        """Whether it is no other place but the room: what is heard a little late, the song not being like
        itself there. In a church that can be more than what comes straight."""
        return -ECHO_S < self.shift_s < 0 and self.self_similarity < TWIN_SUSPECT

    @property
    def heard_first(self) -> bool:
        """Whether the take's own line may be no more than this rival's echo: a room only delays, so what it
        hears of the song's near future, the song not being like itself there, came before."""
        return (
            0 < self.shift_s < ECHO_S
            and self.strength > FIRST
            and self.strength - self.self_similarity > EXCESS
        )

    @property
    def open(self) -> bool:
        """Whether the line is not decided against this rival.

        Where a clip really is the song here, the rival fits as well as the song is like itself, and no
        better. A surplus means that bits of the clip (the same notes, the same drum samples) match bits of
        the song in many places, as another song of the same band may do.
        """
        excess = self.strength - self.self_similarity
        return (
            self.twin
            or self.heard_first
            or not decided_against(self.lead, excess, CLEAR, CLEAR_DESPITE_EXCESS)
        )


def decided_against(lead: float, excess: float, clear: float, clear_despite_excess: float) -> bool:
    """Whether a lead (standard deviations) decides against a rival that fits by ``surplus`` better than the
    song's own likeness explains."""
    return lead >= clear and (lead >= clear_despite_excess or excess <= EXCESS)


def find_rivals(
    white: Whitened, index: SongIndex, fit: LineFit, peaks: Sequence[BlockPeaks], start_s: float, end_s: float
) -> list[RivalFit]:
    """Find and weigh the rivals of a take that runs from ``start_s`` to ``end_s`` of the clip's samples.

    Returns
    -------
    list of RivalFit
        Strongest first; places that the line leads clearly and that fit less than LISTED as well are left
        out.
    """
    shifts = _candidates(fit, peaks, start_s, end_s)
    own = _Own.of(white, index, fit, start_s, end_s)
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
class _Own:
    """A take, and what its microphone should hear of the song where its line says."""

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
    ) -> "_Own | None":
        first, count = round(start_s * index.rate), round((end_s - start_s) * index.rate)
        clip = white[first : first + count].astype(np.float32, copy=False)
        here = predicted_signal(index, fit.line, fit.response, fit.lead, first, len(clip))
        power = _product(here, here)
        gain = _product(clip, here) / power if power > 0 else 0.0
        if gain <= 0:
            return None
        noise = float(np.sqrt(_product(clip, clip) / len(clip)))
        return cls(start_s, end_s, first, clip, here, power, gain, noise)


def _candidates(fit: LineFit, peaks: Sequence[BlockPeaks], start_s: float, end_s: float) -> list[float]:
    """Shifts (s) at which many blocks of the take have a good bin too."""
    width = APART_S / 4
    votes: dict[int, float] = {}
    own = 0.0
    for block in peaks:
        inside = min(end_s, block.start_s + BLOCK_S) - max(start_s, block.start_s)
        if inside < BLOCK_S / 4 and inside < (end_s - start_s) / 2:
            continue
        places = (block.bins + 0.5) * BIN_S - BLOCK_S
        shifts = places - fit.line.song_time(block.start_s)
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
    index: SongIndex, fit: LineFit, own: _Own, shift: float, there: NDArray[np.float32], noise: float
) -> RivalFit | None:
    """Settle a rival exactly and compare it with the line over the take.

    ``there`` is the take's response along the line moved by ``shift``, ``noise`` what chance would make of
    it.
    """
    rate, line, size = index.rate, fit.line, len(there)
    # The rival's own response looks like the line's: match it, so that the same reflection is taken for
    # direct.
    template = np.zeros(size, np.float32)
    model = fit.response[: min(len(fit.response), size // 2)]
    template[size // 2 + fit.lead - np.arange(len(model))] = model
    match = np.fft.irfft(np.fft.rfft(there) * np.conj(np.fft.rfft(template)), size)
    best_shift = shift + _top(match) / rate
    if abs(best_shift) < APART_S:
        return None
    # If it is far behind even at the worst likeness there can be, it needs no closer look.
    other_gain = max(0.0, float(match.max())) / own.power
    behind = (own.gain - other_gain) * np.sqrt(own.power) / (2 * own.noise)
    if behind > CLEAR_DESPITE_EXCESS and other_gain < FAR_BEHIND * own.gain:
        return None
    other = predicted_signal(
        index, line.shifted(best_shift), fit.response, fit.lead, own.first, len(own.clip)
    )
    self_similarity = _similarity(own, other)
    if self_similarity > NEAR_TWIN:
        # The line's response was fitted to the line's noise as well: a twin deserves one of its own.
        direct = size // 2 + round(_top(match))
        response = forward(there, direct, rate, noise)
        off = (direct - size // 2) / rate
        other = predicted_signal(
            index, line.shifted(shift + off), response, fit.lead, own.first, len(own.clip)
        )
        self_similarity = _similarity(own, other)
    other_power = _product(other, other)
    if other_power <= 0:
        return None
    other_gain = _product(own.clip, other) / other_power
    strength = other_gain * np.sqrt(other_power) / (own.gain * np.sqrt(own.power))
    apart = own.gain * own.here - np.float32(other_gain) * other
    told = own.gain**2 * own.power - other_gain**2 * other_power
    from_s, until_s = _taken_over(own, other, rate)
    return RivalFit(
        shift_s=float(best_shift),
        strength=max(0.0, float(strength)),
        self_similarity=self_similarity,
        twin=self_similarity > TWIN_SUSPECT and _is_twin(index, line, best_shift, own.start_s, own.end_s),
        lead=told / (2 * own.noise * float(np.sqrt(_product(apart, apart))) + 1e-20),
        from_s=from_s,
        until_s=until_s,
    )


def _taken_over(own: _Own, other: NDArray[np.float32], rate: int) -> tuple[float | None, float | None]:
    """The moments (s in the clip) from which on, and until which, a rival fits clearly better than the line.

    Two starts of a song that nearly repeats itself may lie so that one line explains much of both.
    """
    step = round(PART_STEP_S * rate)
    used = len(own.clip) // step * step
    least = round(SHORTEST_PART_S / PART_STEP_S)
    if used // step < 2 * least:
        return None, None
    apart = (own.here - other)[:used]
    sums = own.here[:used] + other[:used]
    # Twice the logarithm of the likelihood ratio, but for the noise.
    told = own.gain * apart * (2 * own.clip[:used] - np.float32(own.gain) * sums)
    prefers = told.reshape(-1, step).sum(axis=1, dtype=np.float64)
    power = own.gain**2 * np.square(apart).reshape(-1, step).sum(axis=1, dtype=np.float64)

    def first_best(prefers: NDArray[np.float64], power: NDArray[np.float64]) -> int | None:
        """Steps from the beginning through which the rival leads most, if it does so clearly."""
        candidates, powers = np.cumsum(prefers), np.cumsum(power)
        best = int(candidates[least - 1 : -least].argmin()) + least - 1
        lead = float(candidates[best]) / (2 * own.noise * float(np.sqrt(powers[best])) + 1e-20)
        return best + 1 if lead < -PART_LEAD else None

    until, since = first_best(prefers, power), first_best(prefers[::-1], power[::-1])
    end_s = own.start_s + used / rate
    return (
        None if since is None else end_s - since * PART_STEP_S,
        None if until is None else own.start_s + until * PART_STEP_S,
    )


def _product(one: NDArray[np.float32], other: NDArray[np.float32]) -> float:
    return float(np.dot(one, other))


def _similarity(own: _Own, other: NDArray[np.float32]) -> float:
    power = own.power * _product(other, other)
    return _product(own.here, other) / float(np.sqrt(power)) if power > 0 else 0.0


def _is_twin(index: SongIndex, line: Line, shift_s: float, start_s: float, end_s: float) -> bool:
    """Compare the song with itself, as it is, in the two places of a take."""
    rate, reach = index.rate, TWIN_REACH
    # Differences raise the upper band, which the ear and the search go by; else the bass would decide.
    edges = np.diff(index.samples)
    first, last = (round(line.song_time(time) * rate) for time in (start_s, end_s))
    by = round(shift_s * rate)
    low, high = max(first, reach - by, 0), min(last, len(edges) - by - reach, len(edges))
    if high - low < reach:
        return False
    here, there = edges[low:high], edges[low + by - reach : high + by + reach]
    lags = [float(here @ there[lag : lag + len(here)]) for lag in range(2 * reach + 1)]
    # Finer than samples: a copy need not lie a whole number of ours away.
    alike = float(scipy.signal.resample_poly(lags, 16, 1).max())
    # Of the whole take, though the other place may reach beyond the song: what has no counterpart differs.
    whole, other = edges[max(0, first) : last], there[reach:-reach]
    return alike >= TWIN * float(np.sqrt(float(whole @ whole) * float(other @ other)))


def _top(match: NDArray[np.float64]) -> float:
    """Lag (samples, to a fraction) of the highest value of a circular correlation."""
    size = len(match)
    best = int(match.argmax())
    before, top, after = match[best - 1], match[best], match[(best + 1) % size]
    part = 0.5 * (before - after) / (before - 2 * top + after - 1e-30)
    return (best if best < size // 2 else best - size) + float(np.clip(part, -0.5, 0.5))
