"""Placed takes compared with each other: the live sound that two clips share must lie where both say.

The live residuals of two clips of one moment put one against the other to a millisecond; so do their
placements. They may differ by their uncertainties and by the geometry of the set
(``residual_match.GEOMETRY_S``). More is a contradiction, and one of the two is wrong.
"""

from dataclasses import dataclass, replace
from enum import StrEnum

from audio.placement.answer import Placement, PlaceRival, PlaceVerdict, TakeFit
from audio.placement.reason_codes import Reason, ReasonCode
from audio.placement.search import SongIndex
from audio.placement.verdicts import clip_answer
from audio.shoot.corroboration import ClipSound
from audio.shoot.residual import residual_sound
from audio.shoot.residual_match import GEOMETRY_S, match_residuals

EXCERPT_S = 15.0
"""This much of the first take is compared, from the middle of what both show. Chosen by hand."""
AROUND_S = 5.0
"""How far around the expected position the second take is compared first. Chosen by hand."""


class Comparison(StrEnum):
    """What came of comparing two takes."""

    AGREE = "agree"
    CONTRADICT = "contradict"
    UNDECIDED = "undecided"
    """They share no live sound that could tell: perhaps they are not of one moment."""


@dataclass(frozen=True, slots=True)
class Finding:
    """Two takes compared."""

    comparison: Comparison
    off_s: float = 0.0
    """How much later in the song the shared sound puts the first take than its placement does, if the second
    one's is right."""


def compare_takes(
    clip: ClipSound, number: int, other: ClipSound, other_number: int, index: SongIndex
) -> Finding:
    """Compare a placed take of a clip with one of another clip.

    An excerpt of the first take is matched with the same moment of the second; only where that does not
    agree, with all of the second take.
    """
    take, seen = clip.placement.takes[number], other.placement.takes[other_number]
    start, end = _excerpt(take, seen)
    samples = clip.sound.samples[clip.placement.channel]
    line, begin = clip.line(take), clip.sound.start_s
    ours = residual_sound(samples, index, line, start - begin, end - begin, half_hop=True)
    if ours is None:
        return Finding(Comparison.UNDECIDED)
    reach_s = GEOMETRY_S + take.uncertainty_s + seen.uncertainty_s
    other_samples, other_begin = other.sound.samples[other.placement.channel], other.sound.start_s
    near = [seen.line.clip_time(take.line.song_time(at)) for at in (start, end)]
    for low, high in (
        (max(seen.clip_start_s, near[0] - AROUND_S), min(seen.clip_end_s, near[1] + AROUND_S)),
        (seen.clip_start_s, seen.clip_end_s),
    ):
        theirs = residual_sound(other_samples, index, other.line(seen), low - other_begin, high - other_begin)
        match = None if theirs is None else match_residuals(ours, theirs, index.rate)
        if match is None:
            continue
        here = match.at(0.0, reach_s)
        if here is not None and match.only_at(*here):
            return Finding(Comparison.AGREE, here[0])
        off_s, height = match.best
        if low == seen.clip_start_s and high == seen.clip_end_s and abs(off_s) > reach_s:
            only = match.only_at(off_s, height)
            return Finding(Comparison.CONTRADICT, off_s) if only else Finding(Comparison.UNDECIDED)
    return Finding(Comparison.UNDECIDED)


def contradicted(placement: Placement, number: int, off_s: float, name: str) -> Placement:
    """The answer for a clip with one take doubtful, because another clip puts it elsewhere.

    The other position comes first among its rivals, so that a person can choose it.

    Parameters
    ----------
    off_s : float
        How much later in the song the other clip puts the take (s).
    name : str
        What a person calls the other clip.
    """
    take = placement.takes[number]
    takes = list(placement.takes)
    takes[number] = replace(
        take,
        verdict=PlaceVerdict.DOUBTFUL,
        reason=Reason(ReasonCode.CONTRADICTED, (("clip", name), ("off_s", off_s))),
        rivals=(PlaceRival(take.song_start_s + off_s, 1.0, open=True), *take.rivals),
    )
    return clip_answer(takes, placement.channel)


def _excerpt(take: TakeFit, seen: TakeFit) -> tuple[float, float]:
    """Ends (clip s) of the part of the first take that is compared: what both show, or else its middle."""
    low = take.line.clip_time(seen.song_start_s)
    high = low + seen.clip_length_s * seen.speed / take.speed
    low, high = max(low, take.clip_start_s), min(high, take.clip_end_s)
    if high - low < min(EXCERPT_S, take.clip_length_s) / 2:
        low, high = take.clip_start_s, take.clip_end_s
    middle, half = (low + high) / 2, min(EXCERPT_S, high - low) / 2
    return middle - half, middle + half
