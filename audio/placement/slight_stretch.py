"""Songs whose tempo was changed by some per cent, the pitch kept: one take instead of many bits.

At the song's own speed such a clip looks like several takes, each on a line of slope 1, that walk along one
line of another slope. Where takes wander (see `audio.placement.steadiness`) the clip is searched by band
energies and onsets near the song's speed; what is found there at another speed replaces them. Only onsets
know its line, and stretching moves onsets: it stays in doubt until the file that was played is known.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from audio.line import Line
from audio.placement.answer import PlaceRival, PlaceVerdict, TakeFit
from audio.placement.reason_codes import Reason, ReasonCode
from audio.placement.verdicts import STRETCHED_STRENGTH_NEEDED, stretched_verdict
from audio.signals import Samples
from audio.speed.any_speed import WAVEFORM_NEEDED
from audio.speed.log_bands import band_energies
from audio.speed.speed_refinement import from_waveform, refined
from audio.speed.speed_search import SongBands, lines_at
from audio.speed.stretched import StretchedTake, place_stretched

STEPS = range(-2, 3)
"""Steps of speed searched (see `audio.speed.speed_search`): 0.93 to 1.07."""
GAP_S = 10.0
"""Takes closer than this are of one run. Chosen by hand: in between the bits were too weak to be found."""
BESIDE_S = 15.0
"""So much of the clip is searched on either side of a run."""
SHORTEST_S = 6.0
"""A shorter run cannot be told from a take at the song's own speed."""
SLIGHTEST = 0.0015
"""A speed closer to the song's own (share) is that; clocks and lost sound explain it."""
LEAST_WALK_S = 0.025
"""The same where the run leaves its line by less (s): the error is that small, too."""
SURELY = 3.0
"""Standard deviations of the speed by which it must differ from the song's own."""


@dataclass(frozen=True, slots=True)
class Bits:
    """A run of takes that wander, in the clip's order."""

    first: int
    """Number of its first take."""
    last: int
    start_s: float
    """In the clip, as ``end_s``."""
    end_s: float


@dataclass(frozen=True, slots=True)
class Stretched:
    """What a search by onsets says of a run."""

    takes: tuple[TakeFit, ...] = ()
    whole_s: tuple[tuple[float, float], ...] = ()
    """Where each really begins and ends (clip s)."""
    resampled: bool = False
    """The waveform agrees at another speed: the pitch was not kept, and another search finds it."""


def runs_of_bits(takes: Sequence[TakeFit], wandering: Sequence[bool]) -> list[Bits]:
    """Runs of neighbours that wander, or lie beside one that does and are in doubt."""
    out: list[list[int]] = []
    for number, take in enumerate(takes):
        if not wandering[number] and take.verdict is PlaceVerdict.PLACED:
            continue
        follows = bool(out) and out[-1][-1] == number - 1
        if follows and take.clip_start_s - takes[number - 1].clip_end_s < GAP_S:
            out[-1].append(number)
        else:
            out.append([number])
    bits = [
        Bits(run[0], run[-1], takes[run[0]].clip_start_s, takes[run[-1]].clip_end_s)
        for run in out
        if any(wandering[number] for number in run)
    ]
    return [one for one in bits if one.end_s - one.start_s >= SHORTEST_S]


def stretched_in(samples: Samples, start_s: float, bands: SongBands, stop: Callable[[], bool]) -> Stretched:
    """Search a part of a clip by onsets, near the song's own speed. Raises Stopped.

    Parameters
    ----------
    samples : float32, shape (n,)
        As they are (not whitened); the first lies at ``start_s`` of the clip.
    """
    clip = band_energies(samples, bands.rate)
    seconds = len(samples) / bands.rate
    lines = [line for step in STEPS for line in lines_at(clip, 0.0, seconds, bands, step)]
    if not lines:
        return Stretched()
    best = replace(max(lines, key=lambda line: line.evidence), pitch_kept=True)
    found = [
        take
        for take in place_stretched(
            samples, bands, refined(clip, bands, best), STRETCHED_STRENGTH_NEEDED, stop
        )
        if _off_speed(take)
    ]
    if not found:
        return Stretched()
    along = replace(best, line=found[0].line, pitch_kept=False)
    if from_waveform(samples, bands, along)[1] >= WAVEFORM_NEEDED:
        return Stretched(resampled=True)
    fits = tuple(perhaps_stretched(take, start_s) for take in found)
    return Stretched(fits, tuple((take.whole_s[0] + start_s, take.whole_s[1] + start_s) for take in found))


def _off_speed(take: StretchedTake) -> bool:
    """Whether a take does not run at the song's own speed."""
    off = abs(take.line.speed - 1)
    walk_s = off * (take.end_s - take.start_s) / 2
    return off > max(SLIGHTEST, SURELY * take.speed_sd) and walk_s > LEAST_WALK_S


def replaced(takes: Sequence[TakeFit], bits: Bits, found: Sequence[TakeFit]) -> list[int]:
    """Numbers of the takes of a run that are bits of what was found there."""
    out = []
    for number in range(bits.first, bits.last + 1):
        take = takes[number]
        over_s = sum(
            max(0.0, min(take.clip_end_s, one.clip_end_s) - max(take.clip_start_s, one.clip_start_s))
            for one in found
        )
        if over_s > take.clip_length_s / 2:
            out.append(number)
    return out


def perhaps_stretched(take: StretchedTake, start_s: float) -> TakeFit:
    """A take where waveforms agree bit by bit: it is the recording, and its tempo was changed."""
    fit = stretched_fit(take, start_s)
    if fit.verdict is PlaceVerdict.PLACED or take.undecided:
        return fit
    reason = Reason(ReasonCode.PERHAPS_STRETCHED, (("speed", round(fit.speed, 4)),))
    return replace(fit, verdict=PlaceVerdict.DOUBTFUL, reason=reason)


def stretched_fit(take: StretchedTake, start_s: float) -> TakeFit:
    """A time-stretched take, on the clip's own clock; its sound begins at ``start_s`` of that."""
    verdict, reason = stretched_verdict(take)
    song_start_s = float(take.line.song_time(take.start_s))
    return TakeFit(
        line=Line(take.start_s + start_s, song_start_s, take.line.speed),
        clip_end_s=take.end_s + start_s,
        uncertainty_s=take.uncertainty_s,
        speed_sd=take.speed_sd,
        verdict=verdict,
        reason=reason,
        strength=take.strength,
        rivals=tuple(PlaceRival(song_start_s + r.shift_s, min(1.0, r.strength), r.open) for r in take.rivals),
        lags=tuple((clip_s + start_s, lag_s, strength) for clip_s, lag_s, strength in take.lags),
    )


def part_of_run(
    row: np.ndarray[tuple[int], np.dtype[np.generic]], rate: int, low_s: float, high_s: float
) -> tuple[Samples, float]:
    """The samples of a channel between two of its times (s), as floats, and the time of the first."""
    first, last = max(0, round(low_s * rate)), min(len(row), round(high_s * rate))
    return row[first:last].astype(np.float32, copy=False), first / rate
