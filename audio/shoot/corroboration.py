"""A doubtful take decided by another clip of the same moment.

A passage that the song repeats to the sample cannot be told apart by the song. But another camera recorded
through that moment, from the song's start perhaps, and is placed without doubt; both recorded the same live
sound, drums and shouts. For each position the doubtful take may have, the other clip's placement says where
that take must lie in it; the two live residuals correlate at the right one only.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from audio.files.media import Sound
from audio.line import Line
from audio.placement.answer import Placement, PlaceRival, PlaceVerdict, TakeFit
from audio.placement.line_fit import refine_line
from audio.placement.reason_codes import Reason, ReasonCode, sway_figures
from audio.placement.search import SongIndex
from audio.placement.verdicts import LEAST_GAP_S, LOOSE_S, clip_answer
from audio.shoot.residual import Residual, residual_sound
from audio.shoot.residual_match import (
    GEOMETRY_S,
    INSIDE,
    SHARE,
    SHARE_SIMULTANEOUS,
    ResidualMatch,
    match_residuals,
)
from audio.whitening import LazyWhitened, whiten

LONGEST_S = 45.0
"""At most this much of a take is compared, from its middle: the clock of a doubtful take is doubtful, and
more would smear the correlation. Chosen by hand."""
AROUND_S = 30.0
"""The corroborating clip is compared this far beyond its take: a rival may lie before the song's first sound.
Chosen by hand."""
LEAP_S = 0.06
"""A step in the song that no lost sound explains (as LOST_S in audio/placement/takes.py)."""
SAME_FIT = 0.8
"""A rival that is chosen must fit this well against the line it replaces (share). Chosen by hand: a true
position fits about as well, a chance one far worse."""
SONG_SPEED = 1e-3
"""A clip within this of the song's speed (no unit) can be fitted as it is; see ``_refitted``."""


@dataclass(frozen=True, slots=True, eq=False)
class ClipSound:
    """A clip with its sound and the answer on it."""

    name: str
    """What a person calls it: the name of its file."""
    sound: Sound
    placement: Placement
    simultaneous: bool = False
    """Of a corroborating clip: whether the clocks of both cameras put both recordings at the same time."""

    def line(self, take: TakeFit) -> Line:
        """A take's line in times of the sound's samples."""
        return take.line.delayed(-self.sound.start_s)


def could_corroborate(take: TakeFit, placement: Placement) -> bool:
    """Whether another clip is worth comparing: it has a placed take that covers every position the take may
    have."""
    return any(_covers(other, take) for other in placement.takes)


def corroborated(clip: ClipSound, corroborators: Iterable[ClipSound], index: SongIndex) -> Placement:
    """Decide the doubtful takes of a clip by the first corroborating clip that can.

    Takes that no clip can decide stay doubtful, with their reasons. A decided take may lie at one of its
    rivals; its reason then, and where its own position was confirmed, names the corroborating clip. Doubts of
    other kinds (an ambiguous direct sound, a leap) stay.

    Parameters
    ----------
    clip : ClipSound
    corroborators : iterable of ClipSound
        Likeliest first. They are read one by one, and only while a take is undecided.
    """
    takes = list(clip.placement.takes)
    if not any(_is_undecided(take) for take in takes):
        return clip.placement
    for corroborator in corroborators:
        for number, take in enumerate(takes):
            if _is_undecided(take):
                found = _decided_by(clip, take, corroborator, index)
                if found is not None and not _leaps(takes, number, found):
                    takes[number] = found
        if not any(_is_undecided(take) for take in takes):
            break
    if takes == list(clip.placement.takes):
        return clip.placement
    return clip_answer(takes, clip.placement.channel)


def _is_undecided(take: TakeFit) -> bool:
    """Whether another clip can decide the take: it cannot mend time stamps."""
    damaged = take.reason is not None and take.reason.code is ReasonCode.DAMAGED_STAMPS
    return take.verdict is PlaceVerdict.DOUBTFUL and take.uncertainty_s <= LOOSE_S and not damaged


def _shifts_s(take: TakeFit) -> list[float]:
    """Where the take may lie, s later in the song than its line; its own position first."""
    return [0.0, *(rival.song_start_s - take.song_start_s for rival in take.rivals)]


def _covers(other: TakeFit, take: TakeFit) -> bool:
    """Whether a placed take holds another one at every position that one may have."""
    if other.verdict is not PlaceVerdict.PLACED:
        return False
    length_s = take.clip_length_s * take.speed
    song_end_s = other.line.song_time(other.clip_end_s)
    slack_s = (1 - INSIDE) * length_s
    starts = [take.song_start_s + shift_s for shift_s in _shifts_s(take)]
    return all(other.song_start_s - slack_s <= s and s + length_s <= song_end_s + slack_s for s in starts)


def _decided_by(clip: ClipSound, take: TakeFit, corroborator: ClipSound, index: SongIndex) -> TakeFit | None:
    """The take as a corroborating clip has it; None if that cannot tell."""
    decided: list[float] = []
    for other in corroborator.placement.takes:
        if _covers(other, take):
            shift_s = _matching_shift_s(clip, take, corroborator, other, index)
            if shift_s is not None:
                decided.append(shift_s)
    if len(decided) != 1:
        return None
    reason = Reason(ReasonCode.CORROBORATED, (("clip", corroborator.name), *sway_figures(take.reason)))
    if decided[0] == 0.0:
        return replace(take, verdict=PlaceVerdict.PLACED, reason=reason)
    return _refitted(clip, take, decided[0], reason, index)


def _matching_shift_s(
    clip: ClipSound, take: TakeFit, corroborator: ClipSound, other: TakeFit, index: SongIndex
) -> float | None:
    """At which of a take's positions its residual correlates with that of another clip's take, if at any."""
    begin_s = corroborator.sound.start_s
    theirs = residual_sound(
        corroborator.sound.samples[corroborator.placement.channel],
        index,
        corroborator.line(other),
        other.clip_start_s - begin_s - AROUND_S,
        other.clip_end_s - begin_s + AROUND_S,
    )
    if theirs is None:
        return None
    reach_s = GEOMETRY_S + take.uncertainty_s + other.uncertainty_s
    shifts = _shifts_s(take)
    heights: list[tuple[float, float, ResidualMatch]] = []
    for shift_s in shifts:
        # The song is removed anew for every position: what remains of it then correlates equally in all.
        ours = _residual_at(clip, take, shift_s, index)
        match = None if ours is None else match_residuals(ours, theirs, index.rate)
        peak = None if match is None else match.at(0.0, reach_s)
        if match is None or peak is None:
            return None
        heights.append((*peak, match))
    best = int(np.argmax([height for _, height, _ in heights]))
    off_s, height, match = heights[best]
    for number, shift_s in enumerate(shifts):
        if number != best and abs(shift_s - shifts[best]) < 2 * reach_s:
            return None
    others = max((peak[1] for number, peak in enumerate(heights) if number != best), default=0.0)
    share = SHARE_SIMULTANEOUS if corroborator.simultaneous else SHARE
    return shifts[best] if match.only_at(off_s, height, others, share) else None


def _residual_at(clip: ClipSound, take: TakeFit, shift_s: float, index: SongIndex) -> Residual | None:
    """The residual of a take's middle, if the take lay ``shift_s`` later in the song."""
    start, end = take.clip_start_s - clip.sound.start_s, take.clip_end_s - clip.sound.start_s
    middle, half = (start + end) / 2, min(LONGEST_S, end - start) / 2
    samples = clip.sound.samples[clip.placement.channel]
    return residual_sound(
        samples, index, clip.line(take).shifted(shift_s), middle - half, middle + half, half_hop=True
    )


def _refitted(
    clip: ClipSound, take: TakeFit, shift_s: float, reason: Reason, index: SongIndex
) -> TakeFit | None:
    """The take fitted anew at one of its rivals; None if the song does not fit there."""
    start_s = clip.sound.start_s
    row = clip.sound.samples[clip.placement.channel]
    white = whiten(row, index.rate) if row.dtype == np.float32 else LazyWhitened(row, index.rate)
    line = clip.line(take).shifted(shift_s)
    start, end = take.clip_start_s - start_s, take.clip_end_s - start_s
    # A clip at another speed would have to be resampled first, a sway tracked anew; it stays doubtful.
    known = abs(take.speed - 1) < SONG_SPEED and not take.sways
    fit = refine_line(white, index, line, start, end) if known else None
    if fit is None or fit.strength < SAME_FIT * take.strength or fit.ambiguity_s > LOOSE_S:
        return None
    chosen_s = take.song_start_s + shift_s
    others = [rival for rival in take.rivals if abs(rival.song_start_s - chosen_s) > LEAP_S]
    return replace(
        take,
        line=Line(take.clip_start_s, float(fit.line.song_time(start)), float(fit.line.speed)),
        uncertainty_s=fit.half_width_s(start, end) + fit.ambiguity_s,
        speed_sd=float(fit.speed_sd),
        verdict=PlaceVerdict.PLACED,
        reason=reason,
        strength=fit.strength,
        rivals=(PlaceRival(take.song_start_s, 1.0, open=True), *others),
        lags=tuple(
            (float(at) + start_s, float(lag), float(strength))
            for at, lag, strength in zip(fit.lag_clip_s, fit.lag_s, fit.lag_strength, strict=True)
        ),
    )


def _leaps(takes: Sequence[TakeFit], number: int, one: TakeFit) -> bool:
    """Whether a take, decided as ``one``, would meet a neighbour that lies elsewhere in the song."""
    for beside in (number - 1, number + 1):
        if not 0 <= beside < len(takes):
            continue
        first, second = (takes[beside], one) if beside < number else (one, takes[beside])
        leap_s = first.line.lag_s(second.clip_start_s, second.song_start_s)
        if second.clip_start_s - first.clip_end_s < LEAST_GAP_S and abs(leap_s) > LEAP_S:
            return True
    return False
