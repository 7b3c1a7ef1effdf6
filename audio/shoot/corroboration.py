"""A doubtful take decided by another clip of the same moment.

A passage that the song repeats to the sample cannot be told by the song. But another camera ran on through
that moment, from the song's start perhaps, and is placed without doubt; both heard the same drums and the
same shouts. For each place the doubtful take may have, the other clip's placement says where that take must
lie in it; their live sound agrees at the right one only.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from audio.files.media import Sound
from audio.line import Line
from audio.placement.align import (
    LOOSE_S,
    NO_REST_S,
    Placement,
    PlaceRival,
    PlaceVerdict,
    TakeFit,
)
from audio.placement.line_fit import refine_line
from audio.placement.search import SongIndex
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
"""So much of a take is compared, from its middle: a doubtful take's clock is doubtful, and more
would smear."""
AROUND_S = 30.0
"""A witness is heard this much beyond its take: a rival may lie before the song's first sound."""
LEAP_S = 0.06
"""A step in the song that no lost sound explains."""
SAME_FIT = 0.8
"""A rival that is chosen must fit this well against the line it replaces."""


@dataclass(frozen=True, slots=True, eq=False)
class ClipSound:
    """A clip with its sound and the answer on it."""

    name: str
    """What a person calls it: the name of its file."""
    sound: Sound
    placement: Placement
    simultaneous: bool = False
    """Of a witness: whether the clocks of both cameras say that it was recorded at the time."""

    def line(self, take: TakeFit) -> Line:
        """A take's line in times of the sound's samples."""
        return Line(take.clip_start_s - self.sound.start_s, take.song_start_s, take.speed)


def could_corroborate(take: TakeFit, corroborator: Placement) -> bool:
    """Whether a clip's answer makes it worth hearing as a witness: a placed take that covers all places the
    take may have."""
    return any(_covers(seen, take) for seen in corroborator.takes)


def corroborated(clip: ClipSound, corroborators: Iterable[ClipSound], index: SongIndex) -> Placement:
    """Decide the doubtful takes of a clip by the first witness that can tell.

    Takes that nobody can decide stay doubtful, with their reasons. A decided take may lie at one of its
    rivals; its reason then, and where its own place was confirmed, names the witness. Doubts of other kinds
    (an echo as loud as the song, a leap) stay.

    Parameters
    ----------
    clip : Heard
    witnesses : iterable of Heard
        Likeliest first. They are asked for one by one, and only while a take is open.
    """
    takes = list(clip.placement.takes)
    if not any(_open(take) for take in takes):
        return clip.placement
    for corroborator in corroborators:
        for number, take in enumerate(takes):
            if _open(take):
                found = _decided_by(clip, take, corroborator, index)
                if found is not None and not _leaps(takes, number, found):
                    takes[number] = found
        if not any(_open(take) for take in takes):
            break
    if takes == list(clip.placement.takes):
        return clip.placement
    return with_takes(clip.placement, takes)


def _open(take: TakeFit) -> bool:
    return take.verdict is PlaceVerdict.DOUBTFUL and take.uncertainty_s <= LOOSE_S


def _shifts(take: TakeFit) -> list[float]:
    """Where the take may lie, s later in the song than its line; its own place first."""
    return [0.0, *(rival.song_start_s - take.song_start_s for rival in take.rivals)]


def _covers(seen: TakeFit, take: TakeFit) -> bool:
    if seen.verdict is not PlaceVerdict.PLACED:
        return False
    length = (take.clip_end_s - take.clip_start_s) * take.speed
    end = seen.song_start_s + (seen.clip_end_s - seen.clip_start_s) * seen.speed
    slack = (1 - INSIDE) * length
    starts = [take.song_start_s + shift for shift in _shifts(take)]
    return all(seen.song_start_s - slack <= s and s + length <= end + slack for s in starts)


def _decided_by(clip: ClipSound, take: TakeFit, corroborator: ClipSound, index: SongIndex) -> TakeFit | None:
    """The take as a witness has it; None if it cannot tell."""
    told: list[float] = []
    for seen in corroborator.placement.takes:
        if _covers(seen, take):
            shift = _shift_told(clip, take, corroborator, seen, index)
            if shift is not None:
                told.append(shift)
    if len(told) != 1:
        return None
    reason = f"Decided by another clip of the same moment: {corroborator.name}."
    if told[0] == 0.0:
        return replace(take, verdict=PlaceVerdict.PLACED, reason=reason)
    return _moved(clip, take, told[0], reason, index)


def _shift_told(
    clip: ClipSound, take: TakeFit, corroborator: ClipSound, seen: TakeFit, index: SongIndex
) -> float | None:
    """Which of a take's places the live sound of a witness's take tells, if any."""
    other = residual_sound(
        corroborator.sound.samples[corroborator.placement.channel],
        index,
        corroborator.line(seen),
        seen.clip_start_s - corroborator.sound.start_s - AROUND_S,
        seen.clip_end_s - corroborator.sound.start_s + AROUND_S,
    )
    if other is None:
        return None
    reach = GEOMETRY_S + take.uncertainty_s + seen.uncertainty_s
    shifts = _shifts(take)
    heights: list[tuple[float, float, ResidualMatch]] = []
    for shift in shifts:
        # The song is taken out anew for every place: what is left of it then agrees equally in all.
        one = _stretch(clip, take, shift, index)
        compared = None if one is None else match_residuals(one, other, index.rate)
        place = None if compared is None else compared.at(0.0, reach)
        if compared is None or place is None:
            return None
        heights.append((*place, compared))
    best = int(np.argmax([height for _, height, _ in heights]))
    off, height, compared = heights[best]
    for number, shift in enumerate(shifts):
        if number != best and abs(shift - shifts[best]) < 2 * reach:
            return None
    others = max((there[1] for number, there in enumerate(heights) if number != best), default=0.0)
    share = SHARE_SIMULTANEOUS if corroborator.simultaneous else SHARE
    return shifts[best] if compared.only_at(off, height, others, share) else None


def _stretch(clip: ClipSound, take: TakeFit, shift_s: float, index: SongIndex) -> Residual | None:
    start, end = take.clip_start_s - clip.sound.start_s, take.clip_end_s - clip.sound.start_s
    middle, half = (start + end) / 2, min(LONGEST_S, end - start) / 2
    samples = clip.sound.samples[clip.placement.channel]
    return residual_sound(
        samples, index, clip.line(take).shifted(shift_s), middle - half, middle + half, between=True
    )


def _moved(clip: ClipSound, take: TakeFit, shift_s: float, reason: str, index: SongIndex) -> TakeFit | None:
    """The take fitted anew at one of its rivals; None if the song does not fit there."""
    start_s = clip.sound.start_s
    row = clip.sound.samples[clip.placement.channel]
    flat = whiten(row, index.rate) if row.dtype == np.float32 else LazyWhitened(row, index.rate)
    line = clip.line(take).shifted(shift_s)
    start, end = take.clip_start_s - start_s, take.clip_end_s - start_s
    # On a clip at another speed, the fit is about that speed.
    fit = refine_line(flat, index, line, start, end) if abs(take.speed - 1) < 1e-3 else None
    if fit is None or fit.strength < SAME_FIT * take.strength or fit.ambiguity_s > LOOSE_S:
        return None
    chosen = take.song_start_s + shift_s
    others = [rival for rival in take.rivals if abs(rival.song_start_s - chosen) > LEAP_S]
    return replace(
        take,
        song_start_s=float(fit.line.song_time(start)),
        speed=float(fit.line.speed),
        uncertainty_s=fit.half_width_s(start, end) + fit.ambiguity_s,
        speed_sd=float(fit.speed_sd),
        verdict=PlaceVerdict.PLACED,
        reason=reason,
        strength=fit.strength,
        rivals=(PlaceRival(take.song_start_s, 1.0), *others),
        lags=tuple(
            (float(at) + start_s, float(lag), float(strength))
            for at, lag, strength in zip(fit.lag_clip_s, fit.lag_s, fit.lag_strength, strict=True)
        ),
    )


def _leaps(takes: Sequence[TakeFit], number: int, one: TakeFit) -> bool:
    """Whether a take, decided as ``one``, would meet a neighbour that lies elsewhere in the song."""
    for place in (number - 1, number + 1):
        if not 0 <= place < len(takes):
            continue
        first, second = (takes[place], one) if place < number else (one, takes[place])
        leap = first.song_start_s + (second.clip_start_s - first.clip_start_s) * first.speed
        if second.clip_start_s - first.clip_end_s < NO_REST_S and abs(leap - second.song_start_s) > LEAP_S:
            return True
    return False


def with_takes(placement: Placement, takes: Sequence[TakeFit]) -> Placement:
    """The answer for a clip whose takes were judged anew: doubtful where one of them is."""
    doubtful = [take for take in takes if take.verdict is PlaceVerdict.DOUBTFUL]
    if not doubtful:
        return replace(placement, verdict=PlaceVerdict.PLACED, reason="", takes=tuple(takes))
    reason = doubtful[0].reason
    if len(takes) > 1:
        reason = f"{len(doubtful)} of {len(takes)} takes: {reason}"
    return replace(placement, verdict=PlaceVerdict.DOUBTFUL, reason=reason, takes=tuple(takes))
