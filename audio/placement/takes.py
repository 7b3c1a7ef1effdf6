"""The takes of a clip: fitted lines with their ends and rivals, at the speed that explains most of the
clip."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from audio.placement.alignments import find_alignments
from audio.placement.blocks import Blocks
from audio.placement.ends import meeting_point, take_ends
from audio.placement.line_fit import LineFit, fit_line, refit
from audio.placement.rivals import RivalFit, find_rivals
from audio.placement.search import BLOCK_S, SongIndex
from audio.placement.shared_room import settled_echoes
from audio.placement.spans import (
    FAINTEST,
    FIRM,
    MOST_STEPS,
    SAME_POSITION_S,
    FittedSpan,
    fitted_spans,
    prediction_match,
    step_s,
)
from audio.progress import no_progress, part_of
from audio.signals import Samples
from audio.speed.resampling import to_song_speed
from audio.whitening import LazyWhitened, Whitened

WORTH_A_FIT = 4.0
"""Evidence (log-likelihood ratio) below which an alignment is not fitted: chance makes 12 at times."""
LOST_S = 0.06
"""More than a camera loses in one go."""
MEET_S = 4.0
"""How far to both sides of a step its exact moment is searched. Chosen by hand."""
SHORTEST_S = 1.5
"""A shorter take cannot be told from a fragment of chance. Chosen by hand."""
FRAGMENT_S = 4.0
"""A shorter take can be the end of another one, fitted to a repeat of the song …"""
BESIDE_S = 1.0
"""… where it lies this close to that one. Both chosen by hand."""
DROWNED = 5.0
"""A doubtful take whose strength per root second is less than that of another take by this factor is chance:
in hours of noise some part always fits a little. Chosen by hand."""
SMEARING = 60e-6
"""A clock this far off (no unit) smears blocks: where the song is faint, a second search at the corrected
speed finds more …"""
LOUD = 60.0
"""… and where it stands so many standard deviations above chance, that is not needed, unless the clock …"""
TEARING = 150e-6
"""… is so far off that blocks no longer agree with their neighbours. Chosen by hand."""


ALIGNED, FITTED = 0.4, 0.7
"""Shares of the work, about, after which a clip's alignments are found, and their lines fitted; only the bar
of progress needs them."""


@dataclass(frozen=True, slots=True)
class FittedTake:
    """A take in a clip resampled to the song's speed (see :class:`Takes`); clip times in seconds of that."""

    fit: LineFit
    start_s: float
    end_s: float
    """The part that the line is fitted to."""
    rivals: list[RivalFit]
    heard_s: tuple[float, float]
    """The part in which the song is detected."""

    @property
    def undecided(self) -> bool:
        """Whether it fits elsewhere as well."""
        return any(rival.open for rival in self.rivals)


@dataclass(frozen=True, slots=True, eq=False)
class Takes:
    """All takes of a clip that was resampled to the song's speed: divide their clip times by ``speed``."""

    speed: float
    found: list[FittedTake]

    @property
    def explained(self) -> float:
        """Strength times duration (s), summed over the takes."""
        return sum(one.fit.strength * (one.end_s - one.start_s) for one in self.found) / self.speed

    @property
    def undecided(self) -> bool:
        """Whether every take fits elsewhere as well."""
        return all(one.undecided for one in self.found)


def find_takes(
    white: Whitened, index: SongIndex, stop: Callable[[], bool], progress: Callable[[float], None]
) -> Takes:
    """Find the takes of a whitened clip, shape (n,), that run at the song's own speed, but for clock drift.
    Raises Stopped."""
    takes = _searched_again(_at_speed(white, index, 1.0, stop, progress), white, index, stop)
    progress(1.0)
    return takes


def find_takes_at(
    white: Samples,
    index: SongIndex,
    speeds: Sequence[float],
    stop: Callable[[], bool],
    progress: Callable[[float], None],
) -> Takes | None:
    """Find the takes of a whitened clip at the one of several speeds (no unit) that explains most. Raises
    Stopped.

    Tones and talk fit here and there at some speed: a speed at which every take fits elsewhere as well does
    not count.
    """
    best: Takes | None = None
    for number, speed in enumerate(speeds):
        report = part_of(progress, number / (len(speeds) + 1), 1 / (len(speeds) + 1))
        takes = _searched_again(_at_speed(white, index, speed, stop, report), white, index, stop)
        if not takes.undecided and (best is None or takes.explained > best.explained):
            best = takes
    return best


def _searched_again(takes: Takes, white: Whitened, index: SongIndex, stop: Callable[[], bool]) -> Takes:
    best = max(takes.found, key=lambda one: one.fit.strength, default=None)
    off = 0.0 if best is None else abs(best.fit.line.speed - 1)
    if best is None or off < SMEARING or (off < TEARING and best.fit.strength > LOUD):
        return takes
    if isinstance(white, LazyWhitened):  # hours of it, resampled, would not fit into memory
        return takes
    closer = _at_speed(white, index, takes.speed * best.fit.line.speed, stop, no_progress)
    return closer if closer.explained > takes.explained else takes


def _at_speed(
    white: Whitened,
    index: SongIndex,
    speed: float,
    stop: Callable[[], bool],
    progress: Callable[[float], None],
) -> Takes:
    clip = white if isinstance(white, LazyWhitened) else to_song_speed(white, index.rate, speed)
    alignments, blocks = find_alignments(clip, index, stop, part_of(progress, 0.0, ALIGNED))
    worth = [one for one in alignments if one.total > WORTH_A_FIT]
    spans = fitted_spans(clip, index, worth, part_of(progress, ALIGNED, FITTED - ALIGNED))
    found: list[FittedTake] = []
    low = 0.0
    for number, span in enumerate(spans):
        progress(FITTED + (1 - FITTED) * number / len(spans))
        high = len(clip) / index.rate
        meeting = None
        if number + 1 < len(spans):
            following = spans[number + 1]
            high = min(high, following.start_s + BLOCK_S)
            if following.start_s - span.end_s < MEET_S and step_s(span, following) < LOST_S:
                around = (span.end_s + following.start_s) / 2
                meeting = meeting_point(
                    clip, index, span.fit, following.fit,
                    max(span.start_s, around - MEET_S), min(following.end_s, around + MEET_S),
                )  # fmt: skip
                high = meeting
        for one in _takes_of(clip, index, span, blocks, low, high):
            low = one.end_s
            found.append(one)
        if meeting is not None:
            low = meeting
    found = merged(clip, index, found, blocks)
    kept = [one for one in found if not _is_fragment(one, found) and not is_chance(one, found)]
    fits = settled_echoes([one.fit for one in kept])
    return Takes(speed, [replace(one, fit=fit) for one, fit in zip(kept, fits, strict=True)])


def merged(clip: Whitened, index: SongIndex, found: Sequence[FittedTake], blocks: Blocks) -> list[FittedTake]:
    """The takes, with neighbours joined that are one take found on different repeats of the song."""
    out: list[FittedTake] = []
    for one in found:
        both = _as_one(clip, index, out[-1], one, blocks) if out else None
        if both is None:
            out.append(one)
        else:
            out[-1] = both
    return out


def _as_one(
    clip: Whitened, index: SongIndex, one: FittedTake, other: FittedTake, blocks: Blocks
) -> FittedTake | None:
    """Two neighbours as one take, if they touch and lie on one line, or could.

    Where the song is identical in two places, one part may have been found on the copy of what precedes the
    other. A leap that fits a copy to a millisecond is not chance: the song ran on.
    """
    if other.start_s - one.end_s > BESIDE_S:
        return None
    at = (one.end_s + other.start_s) / 2
    apart_s = one.fit.line.lag_s(at, other.fit.line.song_time(at))
    line, least = one.fit.line, FAINTEST
    if abs(apart_s) > SAME_POSITION_S:
        least = max(one.fit.strength, other.fit.strength)
        if _is_twin(one, apart_s):
            line = other.fit.line
        elif not _is_twin(other, -apart_s):
            return None
    fit = fit_line(clip, index, line, one.start_s, other.end_s)
    if fit is None or fit.strength < least:
        return None
    return _examined(
        clip, index, FittedSpan(fit, one.start_s, other.end_s), fit, blocks, one.start_s, other.end_s
    )


def _is_twin(one: FittedTake, shift_s: float) -> bool:
    """Whether the song is identical where a take lies and ``shift_s`` later."""
    return any(rival.twin and abs(rival.shift_s - shift_s) <= SAME_POSITION_S for rival in one.rivals)


def _is_fragment(one: FittedTake, found: Sequence[FittedTake]) -> bool:
    """Whether a take is only the end of a longer one beside it, which also fits some repeat of the song."""
    if one.end_s - one.start_s > FRAGMENT_S or not one.undecided:
        return False
    beside = [
        other
        for other in found
        if other is not one and max(one.start_s, other.start_s) - min(one.end_s, other.end_s) < BESIDE_S
    ]
    return any(other.end_s - other.start_s > 2 * FRAGMENT_S for other in beside)


def is_chance(one: FittedTake, found: Sequence[FittedTake]) -> bool:
    """Whether a take is no more than chance, in a clip in which the song is clear elsewhere."""

    def stands_out(take: FittedTake) -> float:
        return take.fit.strength / float(np.sqrt(take.end_s - take.start_s))

    weak = one.undecided and one.fit.strength < FIRM
    return weak and max(map(stands_out, found)) > DROWNED * stands_out(one)


def _takes_of(
    clip: Whitened,
    index: SongIndex,
    span: FittedSpan,
    blocks: Blocks,
    low_s: float,
    high_s: float,
    depth: int = 0,
) -> list[FittedTake]:
    """The takes of a span: one, or several where a rival fits better from some moment on.

    Of two starts in a song that nearly repeats itself, the second may lie on the first one's line, one repeat
    off: then that line explains much of it.
    """
    whole = _best_position(clip, index, span, blocks, low_s, high_s)
    if whole is None or depth == MOST_STEPS:
        return [] if whole is None else [whole]
    for rival in whole.rivals:
        for at, shifts in ((rival.from_s, (0.0, rival.shift_s)), (rival.until_s, (rival.shift_s, 0.0))):
            parts = [] if at is None else _parts(clip, index, whole, at, shifts)
            if parts:
                before, after = parts
                first = _takes_of(clip, index, before, blocks, low_s, before.end_s, depth + 1)
                low_s = max(low_s, first[-1].end_s) if first else before.end_s
                return first + _takes_of(clip, index, after, blocks, low_s, high_s, depth + 1)
    return [whole]


def _parts(
    clip: Whitened, index: SongIndex, whole: FittedTake, at_s: float, shifts: tuple[float, float]
) -> list[FittedSpan]:
    """A take split where a rival starts or stops to fit better; empty if either part is too weak to tell."""
    parts = []
    spans = ((whole.start_s, at_s), (at_s, whole.end_s))
    for (start, end), shift in zip(spans, shifts, strict=True):
        fit = fit_line(clip, index, whole.fit.line.shifted(shift), start, end)
        if fit is None or fit.strength < FIRM:
            return []
        parts.append(FittedSpan(fit, start, end))
    return parts


def _best_position(
    clip: Whitened, index: SongIndex, span: FittedSpan, blocks: Blocks, low_s: float, high_s: float
) -> FittedTake | None:
    """The ends and rivals of a take, at whichever of its positions matches the whole span best."""
    first = _examined(clip, index, span, span.fit, blocks, low_s, high_s)
    if first is None or all(rival.margin_sd >= 0 for rival in first.rivals):
        return first
    fits = [span.fit]
    for rival in first.rivals:
        if rival.margin_sd < 0:
            fit = fit_line(clip, index, span.fit.line.shifted(rival.shift_s), first.start_s, first.end_s)
            if fit is not None and fit.strength >= FAINTEST:
                fits.append(fit)
    best = max(fits, key=lambda fit: prediction_match(clip, index, fit, span))
    return first if best is span.fit else _examined(clip, index, span, best, blocks, low_s, high_s)


def _examined(
    clip: Whitened,
    index: SongIndex,
    span: FittedSpan,
    fit: LineFit,
    blocks: Blocks,
    low_s: float,
    high_s: float,
) -> FittedTake | None:
    ends = take_ends(clip, index, fit, span.start_s, span.end_s, low_s, high_s)
    start, end = ends.start_s, ends.end_s
    if end - start < SHORTEST_S:
        return None
    # The first fit may have included sound from outside the take.
    closer = refit(clip, index, fit, start, end)
    if closer is not None and closer.strength >= FAINTEST:
        fit = closer
    rivals = find_rivals(clip, index, fit, blocks.peaks_within(start, end), start, end)
    return FittedTake(fit, start, end, rivals, (ends.heard_from_s, ends.heard_until_s))
