"""Placed takes held against each other: the live sound that two clips share must lie where both say.

What two clips of one moment share, the song aside, puts one against the other to the thousandth of a second;
so do their placements. They may differ by their uncertainties and by what the room makes of it
(``moments.GEOMETRY_S``). More is a contradiction, and one of the two is wrong.
"""

from dataclasses import dataclass, replace
from enum import StrEnum

from audio.placement.align import Placement, PlaceRival, PlaceVerdict, TakeFit
from audio.placement.search import SongIndex
from audio.shoot.corroboration import ClipSound, with_takes
from audio.shoot.residual import residual_sound
from audio.shoot.residual_match import GEOMETRY_S, match_residuals

EXCERPT_S = 15.0
"""So much of the first take is compared, from the middle of what both show."""
AROUND_S = 5.0
"""Of the second take, what is heard first around the place where it should agree."""


class Comparison(StrEnum):
    """What came of holding two takes against each other."""

    AGREE = "agree"
    CONTRADICT = "contradict"
    UNDECIDED = "untold"
    """They share no live sound that could tell: perhaps they are not of one moment."""


@dataclass(frozen=True, slots=True)
class Finding:
    """Two takes held against each other."""

    comparison: Comparison
    off_s: float = 0.0
    """How much later in the song the shared sound puts the first take than its placement does, if the second
    one's is right."""


def compare_takes(
    clip: ClipSound, number: int, other: ClipSound, other_number: int, index: SongIndex
) -> Finding:
    """Hold a placed take of a clip against one of another clip.

    Looked at are 15 s of the first take, against the same moment of the second; where that agrees, no more is
    done. Else against all of the second take.
    """
    take, seen = clip.placement.takes[number], other.placement.takes[other_number]
    start, end = _excerpt(take, seen)
    samples = clip.sound.samples[clip.placement.channel]
    line, begin = clip.line(take), clip.sound.start_s
    one = residual_sound(samples, index, line, start - begin, end - begin, between=True)
    if one is None:
        return Finding(Comparison.UNDECIDED)
    reach = GEOMETRY_S + take.uncertainty_s + seen.uncertainty_s
    other_samples, other_begin = other.sound.samples[other.placement.channel], other.sound.start_s
    song = [take.song_start_s + (at - take.clip_start_s) * take.speed for at in (start, end)]
    near = [seen.clip_start_s + (at - seen.song_start_s) / seen.speed for at in song]
    for low, high in (
        (max(seen.clip_start_s, near[0] - AROUND_S), min(seen.clip_end_s, near[1] + AROUND_S)),
        (seen.clip_start_s, seen.clip_end_s),
    ):
        there = residual_sound(other_samples, index, other.line(seen), low - other_begin, high - other_begin)
        compared = None if there is None else match_residuals(one, there, index.rate)
        if compared is None:
            continue
        here = compared.at(0.0, reach)
        if here is not None and compared.only_at(*here):
            return Finding(Comparison.AGREE, here[0])
        off, height = compared.best
        if low == seen.clip_start_s and high == seen.clip_end_s and abs(off) > reach:
            return (
                Finding(Comparison.CONTRADICT, off)
                if compared.only_at(off, height)
                else Finding(Comparison.UNDECIDED)
            )
    return Finding(Comparison.UNDECIDED)


def contradicted(placement: Placement, number: int, off_s: float, name: str) -> Placement:
    """The answer for a clip with one take doubtful, for another clip puts it elsewhere.

    The other place comes first among its rivals, so that a person can choose it.

    Parameters
    ----------
    off_s : float
        How much later in the song the other clip puts the take.
    name : str
        What a person calls the other clip.
    """
    take = placement.takes[number]
    way = "later" if off_s > 0 else "earlier"
    reason = (
        f"It contradicts {name}: by the live sound that both heard, it lies {abs(off_s):.2f} s {way} "
        "in the song. Check both against the picture."
    )
    takes = list(placement.takes)
    takes[number] = replace(
        take,
        verdict=PlaceVerdict.DOUBTFUL,
        reason=reason,
        rivals=(PlaceRival(take.song_start_s + off_s, 1.0), *take.rivals),
    )
    return with_takes(placement, takes)


def _excerpt(take: TakeFit, seen: TakeFit) -> tuple[float, float]:
    """The stretch of the first take (clip s) that is compared: what both show, or else its middle."""
    low = take.clip_start_s + (seen.song_start_s - take.song_start_s) / take.speed
    high = low + (seen.clip_end_s - seen.clip_start_s) * seen.speed / take.speed
    low, high = max(low, take.clip_start_s), min(high, take.clip_end_s)
    if high - low < min(EXCERPT_S, take.clip_end_s - take.clip_start_s) / 2:
        low, high = take.clip_start_s, take.clip_end_s
    middle, half = (low + high) / 2, min(EXCERPT_S, high - low) / 2
    return middle - half, middle + half
