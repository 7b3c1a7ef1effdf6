"""Verdicts: on a take as it was fitted, and on a clip from its takes; audio/shoot may change them later."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from audio.placement.answer import Placement, PlaceVerdict, TakeFit
from audio.placement.reason_codes import SWAY_LARGEST, SWAY_TYPICAL, Reason, ReasonCode
from audio.placement.rivals import CLEAR_DESPITE_EXCESS
from audio.placement.sway import Sway
from audio.placement.takes import LOST_S, LOUD, FittedTake, Takes
from audio.speed.stretched import StretchedTake

STRENGTH_NEEDED = 20.0
"""Standard deviations above chance for ``placed``. Chance alone stays under 3; bits of another song with the
very same machine drums have been seen to reach 19 (tests/quality)."""
LONGEST_PAUSE_S = 60.0
"""A recorder that pauses for longer begins a new file. Chosen by hand."""
CLEAR_S = 6.0
"""A take at least this long is believed beside a skipped part of the song. Chosen by hand: a shorter one may
be a bit of another recording."""
LEAST_GAP_S = 1.0
"""Nobody stops and restarts the playback in less; two takes closer than this meet. Chosen by hand."""
AMBIGUITY_BESIDE_A_STEP_S = 0.001
"""Beside a step in the line, as lost sound makes one, a take's direct sound must be known this well: a
reflection taken for it looks like a step too."""
LOOSE_S = 0.01
"""A position known less well than this, a quarter of a frame at 25 a second, is ``doubtful``."""

STRETCHED_STRENGTH_NEEDED = 12.0
"""The same as STRENGTH_NEEDED for a time-stretched take, whose strength is against all other places in the
song; other songs in the same tempo stay under 8 (tests/audio/speed asks for under 10)."""
LIVE_TEMPO = 0.04
"""A band that plays the song again keeps its tempo about so closely (share); a stretched playback is further
off. Chosen by hand, not tuned."""
MOST_JITTER_S = 0.015
"""A stretched playback scatters less about its line than this (s); a band does not. Chosen by hand, not
tuned."""
STRETCHED_LOOSE_S = 0.02
"""LOOSE_S for a time-stretched take, half a frame at 25 a second: stretching blurs every onset."""


def take_verdict(takes: Takes, number: int, sway: Sway | None) -> tuple[PlaceVerdict, Reason | None]:
    """The verdict on the take of that number, and the reason for a doubt, or what there is to say of it."""
    reason = _doubt(takes, number, sway)
    verdict = PlaceVerdict.DOUBTFUL if reason else PlaceVerdict.PLACED
    if sway is None:
        return verdict, reason
    figures = ((SWAY_LARGEST, round(sway.largest_s, 5)), (SWAY_TYPICAL, round(sway.typical_s, 5)))
    reason = reason or Reason(ReasonCode.SWAYS)
    return verdict, replace(reason, figures=(*reason.figures, *figures))


def _doubt(takes: Takes, number: int, sway: Sway | None) -> Reason | None:
    one = takes.found[number]
    fit = one.fit
    undecided = [rival for rival in one.rivals if rival.open]
    if undecided:
        return Reason(ReasonCode.FITS_ELSEWHERE, (("places", len(undecided)),))
    if sway is not None:
        # Summed along a line its sound smears into several arrivals; moment by moment there is one.
        if sway.half_width_s > LOOSE_S:
            return Reason(ReasonCode.SWAYS_FAR)
    elif fit.ambiguity_s > (AMBIGUITY_BESIDE_A_STEP_S if _steps(takes, number) else LOOSE_S):
        return Reason(ReasonCode.LOUD_ECHO)
    elif fit.half_width_s(one.start_s, one.end_s) > LOOSE_S:
        return Reason(ReasonCode.CLOCK_UNCLEAR)
    if fit.strength < STRENGTH_NEEDED:
        return Reason(ReasonCode.FAINT)
    if _leaps(takes, number):
        return Reason(ReasonCode.LEAP)
    return None


def stretched_verdict(take: StretchedTake) -> tuple[PlaceVerdict, Reason | None]:
    """The verdict on a time-stretched take, and the reason for a doubt."""
    reason = _stretched_doubt(take)
    return (PlaceVerdict.DOUBTFUL if reason else PlaceVerdict.PLACED), reason


def _stretched_doubt(take: StretchedTake) -> Reason | None:
    if take.undecided:
        return Reason(ReasonCode.FITS_ELSEWHERE)
    if take.strength < STRETCHED_STRENGTH_NEEDED:
        return Reason(ReasonCode.FAINT)
    if abs(take.line.speed - 1) < LIVE_TEMPO:
        return Reason(ReasonCode.NEAR_SONG_TEMPO)
    if take.jitter_s > MOST_JITTER_S:
        return Reason(ReasonCode.UNSTEADY_TEMPO)
    if take.uncertainty_s > STRETCHED_LOOSE_S:
        return Reason(ReasonCode.BLURRED)
    return None


def clip_answer(takes: Sequence[TakeFit], channel: int) -> Placement:
    """The answer for a clip with these takes, ``channel`` being the row they were found in: doubtful where
    one of them is."""
    if not takes:
        return Placement(PlaceVerdict.NO_SONG, Reason(ReasonCode.SONG_NOT_FOUND), (), channel)
    doubtful = [take for take in takes if take.verdict is PlaceVerdict.DOUBTFUL]
    if not doubtful:
        return Placement(PlaceVerdict.PLACED, None, tuple(takes), channel)
    reason = doubtful[0].reason
    if len(takes) > 1 and reason is not None:
        counts = (("doubtful", len(doubtful)), ("takes", len(takes)), ("reason", reason.code.value))
        reason = Reason(ReasonCode.SOME_TAKES, (*counts, *reason.figures))
    return Placement(PlaceVerdict.DOUBTFUL, reason, tuple(takes), channel)


def doubt_spread(takes: Sequence[TakeFit]) -> list[TakeFit]:
    """The takes of a clip, all doubtful where most of the clip is in doubt.

    Another song made of the same sounds fits here and there, and so does one that was time-stretched; once in
    a while a bit of it fits in one place only.
    """
    doubtful = sum(take.verdict is PlaceVerdict.DOUBTFUL for take in takes)
    shaky_s = sum(take.clip_length_s for take in takes if _is_shaky(take))
    whole_s = sum(take.clip_length_s for take in takes)
    mostly, wholly = 2 * doubtful > len(takes), 2 * shaky_s > whole_s
    return [
        replace(take, verdict=PlaceVerdict.DOUBTFUL, reason=Reason(ReasonCode.MOSTLY_DOUBTFUL))
        if take.verdict is PlaceVerdict.PLACED and (wholly or (mostly and take.strength <= LOUD))
        else take
        for take in takes
    ]


def doubt_damaged(takes: Sequence[TakeFit], damaged_s: float | None) -> list[TakeFit]:
    """The takes of a clip, doubtful where they run past the first damaged time stamp (clip s; None: none)."""
    if damaged_s is None:
        return list(takes)
    reason = Reason(ReasonCode.DAMAGED_STAMPS)
    return [
        replace(take, verdict=PlaceVerdict.DOUBTFUL, reason=reason) if take.clip_end_s > damaged_s else take
        for take in takes
    ]


def _is_shaky(take: TakeFit) -> bool:
    """Whether a take is in doubt for more than repeats in the song: loud and clear, it is the song anyway."""
    return take.verdict is PlaceVerdict.DOUBTFUL and take.strength <= LOUD


def _neighbours(takes: Takes, number: int) -> Iterator[tuple[FittedTake, float]]:
    """The takes that one meets without a gap, each with how much later in the song its line lies (s)."""
    one = takes.found[number]
    for other in takes.found[max(0, number - 1) : number + 2]:
        gap_s = max(one.start_s, other.start_s) - min(one.end_s, other.end_s)
        if other is not one and gap_s < LEAST_GAP_S:
            at = (max(one.start_s, other.start_s) + min(one.end_s, other.end_s)) / 2
            yield other, float(one.fit.line.lag_s(at, other.fit.line.song_time(at)))


def _steps(takes: Takes, number: int) -> bool:
    """Whether the line steps where a take meets a neighbour, by no more than lost sound explains."""
    return any(abs(leap_s) <= LOST_S for _, leap_s in _neighbours(takes, number))


def _leaps(takes: Takes, number: int) -> bool:
    """Whether a take meets a neighbour that lies elsewhere in the song.

    Lost sound moves a line by far less. A recorder that paused skips a part of the song, but goes on where
    the song then is; that is believed where the song is loud and clear on both sides.
    """
    one = takes.found[number]
    for other, leap_s in _neighbours(takes, number):
        if abs(leap_s) <= LOST_S:
            continue
        onward = leap_s > 0 if other.start_s > one.start_s else leap_s < 0
        if not (onward and abs(leap_s) < LONGEST_PAUSE_S and _is_clear(one) and _is_clear(other)):
            return True
    return False


def _is_clear(take: FittedTake) -> bool:
    """Whether a take cannot be bits of another recording: long, loud, far ahead of every rival."""
    ahead = all(not rival.open and rival.margin_sd > CLEAR_DESPITE_EXCESS for rival in take.rivals)
    return ahead and take.end_s - take.start_s > CLEAR_S and take.fit.strength > LOUD
