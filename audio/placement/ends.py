"""Where a take begins and ends in its clip: coverage is drawn from this.

Along the line, the clip is multiplied with the signal predicted at its microphone. Where the song runs, the
products add up; elsewhere they scatter about zero. An end is where the cumulated evidence for *the song is
still running* is highest.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from audio.placement.impulse_response import predicted_signal
from audio.placement.line_fit import LineFit
from audio.placement.search import AUDIBLE_S, SongIndex
from audio.soft_ends import BY_CHANCE, CAUTION, STEP_S, TOP_AND_TAIL_S
from audio.whitening import Whitened

MEETING_STEP_S = 0.01
"""Resolution of the moment at which samples were lost."""
LOOK_S = 12.0
"""How far beyond the blocks of a take its ends are searched: a block and a half."""
GAIN_S = 10.0
"""The song's gain in the clip is estimated over this much of the take before the moment in question. Chosen
by hand."""
FADE_S = 5.0
"""Longest fade in or out that a take is taken to run through though it cannot be detected …"""
FAINT = 10 ** (-12 / 10)
"""… where its power stays below this share of what the song has beside it: -12 dB. Both chosen by hand."""
MORE_LIKELY = 0.25
"""Share of the predicted signal at which a soft start or end of the song counts as present: hardly anybody
starts the song two seconds in. Chosen by hand."""
UNDETECTABLE = 2.0
"""Energy of the predicted signal, in units of the noise power, below which nothing can be detected."""


@dataclass(frozen=True, slots=True)
class TakeEnds:
    """Where a take begins and ends, in times of the clip's samples (s)."""

    start_s: float
    end_s: float
    """Within the clip, the bounds and the song: the part that the line is fitted to."""
    heard_from_s: float
    heard_until_s: float
    """The part in which the song is detected; `audio.soft_ends` tells what lies beyond it."""


def take_ends(
    white: Whitened, index: SongIndex, fit: LineFit, start_s: float, end_s: float, low_s: float, high_s: float
) -> TakeEnds:
    """Find the ends of a take.

    Parameters
    ----------
    white : Whitened, shape (n,)
        The whitened clip.
    start_s, end_s : float
        Ends of the blocks that make up the take's line.
    low_s, high_s : float
        Bounds set by neighbouring takes.
    """
    line = fit.line
    top = line.clip_time(0.0)
    tail = line.clip_time(index.duration_s)
    low = max(0.0, low_s, top, start_s - LOOK_S)
    high = min(len(white) / index.rate, high_s, tail, end_s + LOOK_S)
    if high - low < 4 * STEP_S:
        return TakeEnds(low, max(low, high), low, max(low, high))
    evidence = evidence_steps(white, index, fit, low, high)
    agreement, power, noise = evidence.agreement, evidence.power, evidence.noise
    core = int(np.convolve(agreement, np.ones(min(len(power), round(4 / STEP_S))), "same").argmax())
    begin = len(power) - _running(agreement[::-1], power[::-1], len(power) - 1 - core)
    finish = _running(agreement, power, core)
    start, end = low + begin * STEP_S, low + finish * STEP_S
    from_s, to_s = line.song_time(start), line.song_time(end)
    mean_gain = float(agreement[begin:finish].sum()) / (float(power[begin:finish].sum()) + 1e-12)

    def may_be_there(some: slice, low_s: float, high_s: float) -> bool:
        """Whether a soft start or end of the song may be present: enough of it is detected, or none could
        be."""
        size = float(power[some].sum())
        gain = mean_gain * min(1.0, _level(index, low_s, high_s) / (_level(index, from_s, to_s) + 1e-12))
        return (
            float(agreement[some].sum()) > MORE_LIKELY * gain * size or gain**2 * size < UNDETECTABLE * noise
        )

    if top >= low - 1e-9 and (
        start - top < index.head_s + TOP_AND_TAIL_S
        or _faint(index, 0.0, from_s, from_s)
        or (start - top < FADE_S and may_be_there(slice(0, begin), 0.0, from_s))
    ):
        start = top
    if tail <= high + 1e-9 and (
        tail - end < index.tail_s + TOP_AND_TAIL_S
        or _faint(index, to_s, index.duration_s, to_s - GAIN_S)
        or (tail - end < FADE_S and may_be_there(slice(finish, None), to_s, index.duration_s))
    ):
        end = tail
    start = low if begin <= 1 else start
    end = high if finish >= len(power) - 1 else end
    return TakeEnds(start, max(start, end), low + begin * STEP_S, low + finish * STEP_S)


@dataclass(frozen=True, slots=True, eq=False)
class EvidenceSteps:
    """Of each STEP_S of a part of a clip, what the song's presence there can be told from."""

    agreement: NDArray[np.float64]
    """Shape (steps,): product of the clip with the signal predicted at its microphone, summed."""
    power: NDArray[np.float64]
    """Shape (steps,): that of the predicted signal, summed."""
    noise: float
    """Variance of ``agreement`` by chance, over ``power``."""


def evidence_steps(
    white: Whitened, index: SongIndex, fit: LineFit, low_s: float, high_s: float
) -> EvidenceSteps:
    """Multiply a part of a whitened clip, shape (n,), with what is predicted there; times in seconds."""
    step = int(STEP_S * index.rate)
    first, steps = round(low_s * index.rate), int((high_s - low_s) * index.rate) // step
    predicted = predicted_signal(index, fit.line, fit.impulse_response, fit.direct_at, first, steps * step)
    part = white[first : first + steps * step]
    agreement = (part * predicted).astype(np.float64).reshape(-1, step).sum(axis=1)
    power = (predicted.astype(np.float64) ** 2).reshape(-1, step).sum(axis=1)
    # Where the song itself is silent nothing shows whether it runs: a take ends with the last sound.
    at = (fit.line.song_time(low_s) + (np.arange(steps) + 0.5) * STEP_S * fit.line.speed) / AUDIBLE_S
    silent = ~index.audible[np.clip(at.astype(int), 0, len(index.audible) - 1)]
    agreement[silent] = power[silent] = 0.0
    return EvidenceSteps(agreement, power, float(np.square(part).mean()) + 1e-12)


def _level(index: SongIndex, low_s: float, high_s: float) -> float:
    """RMS of the song itself (not whitened) between two song times (s)."""
    some = index.samples[max(0, round(low_s * index.rate)) : max(0, round(high_s * index.rate))]
    return float(np.sqrt(np.square(some).mean())) if len(some) else 0.0


def _faint(index: SongIndex, low_s: float, high_s: float, beside_s: float) -> bool:
    """Whether a part at the song's start or end is so soft beside the GAIN_S from ``beside_s`` on that it
    could not be detected in the clip: then its absence proves nothing."""
    if high_s - low_s > FADE_S:
        return False
    softest, beside = (
        index.samples[max(0, round(a * index.rate)) : max(0, round(b * index.rate))]
        for a, b in ((low_s, high_s), (beside_s, beside_s + GAIN_S))
    )
    step = int(4 * STEP_S * index.rate)
    if len(softest) < step or not len(beside):
        return True
    power = np.square(softest[: len(softest) // step * step]).reshape(-1, step).mean(axis=1)
    return float(power.max()) < FAINT * float(np.square(beside).mean())


def meeting_point(
    white: Whitened, index: SongIndex, one: LineFit, other: LineFit, low_s: float, high_s: float
) -> float:
    """The clip time (s) between ``low_s`` and ``high_s`` at which a clip changes from one line to another:
    there samples were lost."""
    step = int(MEETING_STEP_S * index.rate)
    first = max(0, round(low_s * index.rate))
    steps = (min(len(white), round(high_s * index.rate)) - first) // step
    if steps < 1:
        return (low_s + high_s) / 2
    sound = white[first : first + steps * step].astype(np.float32, copy=False)
    prefers = np.zeros(len(sound), np.float32)
    for fit, sign in ((one, 1), (other, -1)):
        predicted = predicted_signal(index, fit.line, fit.impulse_response, fit.direct_at, first, len(sound))
        size = float(np.sqrt(np.dot(predicted, predicted))) + 1e-12
        prefers += np.float32(sign / size) * predicted * sound
    gained = np.concatenate([[0.0], np.cumsum(prefers.reshape(-1, step).sum(axis=1, dtype=np.float64))])
    return first / index.rate + int(gained.argmax()) * MEETING_STEP_S


def _running(agreement: NDArray[np.float64], power: NDArray[np.float64], core: int) -> int:
    """Step at which the song stops running, searched onward from a step where it surely runs."""
    window = round(GAIN_S / STEP_S)
    at = np.arange(core, len(power))
    since = np.maximum(at - window, 0)
    sums, powers = (np.concatenate([[0.0], np.cumsum(values)]) for values in (agreement, power))
    gain = CAUTION * np.maximum((sums[at] - sums[since]) / (powers[at] - powers[since] + 1e-12), 0)
    gain[at - since == 0] = 0
    evidence = np.cumsum(gain * agreement[at] - gain**2 * power[at] / 2)
    # Chance adds some evidence beyond the end: of ends about as good the first counts.
    return core + int((evidence >= evidence.max() - BY_CHANCE).argmax()) + 1
