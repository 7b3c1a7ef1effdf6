"""Takes of one song found on several references: the song itself, and files of it that were played."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from audio.placement.answer import PlaceRival, PlaceVerdict
from audio.placement.reason_codes import Reason, ReasonCode
from audio.placement.takes import LOUD
from audio.references.by_timecode import held_to_timecode, is_backed, is_by_timecode, is_contradicted
from audio.references.contests import OWN_SPEED
from audio.references.reference import Reference, Told

ALIKE_S = 0.002
"""Places that differ by no more than this beyond their uncertainty are one (s). Chosen by hand."""
ONSETS_S = 0.04
"""What is found at a changed tempo with its pitch kept is known by its onsets, which stretching moves: by 6
to 17 ms, so this much off is no contradiction (s)."""
EDGE_S = 1.0
"""Takes that share less than this (s) only meet."""
CLEARER = 1.3
"""A take that stands out by so much more than another over the same stretch was heard, and the other one only
resembles it. Chosen by hand: of the same sound, two references make the same to some per cent."""
ELSEWHERE_S = 0.5
"""Places further apart than this are different passages (s); nearer, maps may be wrong."""
LONGER_S = 2.0
"""By so much longer, a take is kept for its length though another is surer (s). Chosen by hand."""


def one_song(takes: Sequence[Told], references: Mapping[str, Reference]) -> list[Told]:
    """The takes of one song without those that another reference tells too.

    Where two agree, the surer one stays. Where they do not, a placed take is believed beside weak ones in
    doubt; of others the surer stays, in doubt, with the other as a rival.
    """
    out: list[Told] = []
    for one in sorted(takes, key=_sureness, reverse=True):
        for number, kept in enumerate(out):
            if kept.reference == one.reference or _shared_s(kept, one) < _edge_s(kept, one):
                continue
            out[number], rest = _both(kept, one, references)
            if rest is None:
                break
            one = rest
        else:
            out.append(one)
    return sorted(_apart(out), key=lambda one: one.fit.clip_start_s)


def _sureness(one: Told) -> tuple[bool, bool, float]:
    fit = one.fit
    return fit.verdict is PlaceVerdict.PLACED, fit.strength > LOUD, -fit.uncertainty_s


def _edge_s(one: Told, other: Told) -> float:
    return min(EDGE_S, 0.3 * min(one.fit.clip_length_s, other.fit.clip_length_s))


def _shared_s(one: Told, other: Told) -> float:
    return min(one.fit.clip_end_s, other.fit.clip_end_s) - max(one.fit.clip_start_s, other.fit.clip_start_s)


def _both(kept: Told, one: Told, references: Mapping[str, Reference]) -> tuple[Told, Told | None]:
    """Two takes over one stretch: what is kept of the surer, and what is left of the other to be kept too."""
    if is_by_timecode(kept.fit) or is_by_timecode(one.fit):
        return _beside_timecode(kept, one)
    off_s = _off_s(kept, one)
    allowed_s = float(np.hypot(kept.fit.uncertainty_s, one.fit.uncertainty_s)) + ALIKE_S
    # What fits so much better is what was heard: the other only resembles it.
    heard = kept.stands_out > CLEARER * one.stands_out
    if abs(off_s) <= max(allowed_s, ONSETS_S if _by_onsets(kept, one, references) else 0.0):
        both, rest = _longer(_as_timecode_told(kept, one), one)
        return (both if heard else _with_doubt(both, one)), rest
    placed = [told.fit.verdict is PlaceVerdict.PLACED for told in (kept, one)]
    if heard and placed[0] and (not placed[1] or abs(off_s) > ELSEWHERE_S):
        return kept, None
    if placed == [True, False] and one.fit.strength < LOUD:
        return kept, None
    doubted = _with_rival(kept, one)
    if placed[0]:
        figures = (("off_s", round(off_s, 4)), ("with", references[one.reference].name))
        reason = Reason(ReasonCode.PLAYBACK_DISAGREES, figures)
        doubted = replace(doubted, fit=replace(doubted.fit, verdict=PlaceVerdict.DOUBTFUL, reason=reason))
    return doubted, None


def _beside_timecode(kept: Told, one: Told) -> tuple[Told, Told | None]:
    """Two takes over one stretch of which one is known by timecode only."""
    code, heard = (kept, one) if is_by_timecode(kept.fit) else (one, kept)
    fit = held_to_timecode(heard.fit, code.fit)
    if fit is None:
        return code, None
    held = replace(heard, fit=fit)
    if fit.verdict is PlaceVerdict.DOUBTFUL:
        return held, None
    before, after = code.fit.clip_start_s, code.fit.clip_end_s
    start, end = min(before, fit.clip_start_s), max(after, fit.clip_end_s)
    return held.reaching(start, end), None


def _as_timecode_told(kept: Told, one: Told) -> Told:
    """A take with what timecode says of the other, which lies in the same place."""
    reason = one.fit.reason
    if is_contradicted(one.fit):
        rivals = (*one.fit.rivals[:1], *kept.fit.rivals)
        fit = replace(kept.fit, verdict=PlaceVerdict.DOUBTFUL, reason=reason, rivals=rivals)
        return replace(kept, fit=fit)
    if is_backed(one.fit) and kept.fit.verdict is PlaceVerdict.PLACED and kept.fit.reason is None:
        return replace(kept, fit=replace(kept.fit, reason=reason))
    return kept


def _with_doubt(kept: Told, one: Told) -> Told:
    """A take with what is open on another reference that fits about as well: a playback file may hold only
    one of two passages of the song that are the same."""
    fit = kept.fit
    beyond_s = one.fit.line.song_time(fit.clip_start_s) - one.fit.song_start_s
    known = [rival.song_start_s for rival in fit.rivals]
    new = [
        rival._replace(song_start_s=rival.song_start_s + beyond_s)
        for rival in one.fit.rivals
        if rival.open and all(abs(rival.song_start_s + beyond_s - at) > ELSEWHERE_S for at in known)
    ]
    if not new:
        return kept
    rivals = (*fit.rivals, *new)
    count = sum(rival.open for rival in rivals)
    reason = Reason(ReasonCode.FITS_ELSEWHERE, (("places", count),))
    return replace(kept, fit=replace(fit, verdict=PlaceVerdict.DOUBTFUL, reason=reason, rivals=rivals))


def _off_s(kept: Told, one: Told) -> float:
    """How much later in the song the other one lies, where they differ most (s)."""
    start = max(kept.fit.clip_start_s, one.fit.clip_start_s)
    end = min(kept.fit.clip_end_s, one.fit.clip_end_s)
    return max((one.fit.line.song_time(at) - kept.fit.line.song_time(at) for at in (start, end)), key=abs)


def _by_onsets(kept: Told, one: Told, references: Mapping[str, Reference]) -> bool:
    """Whether one of the two was found on the song itself at another tempo, and so perhaps by onsets only."""
    return any(
        references[told.reference].is_song and abs(told.found.speed - 1) > OWN_SPEED for told in (kept, one)
    )


def _longer(kept: Told, one: Told) -> tuple[Told, Told | None]:
    """Two that agree: the longer stays where it is as good, else the surer, and what the other has beyond."""
    longer = one.fit.clip_length_s > kept.fit.clip_length_s + LONGER_S
    covers = (
        one.fit.clip_start_s <= kept.fit.clip_start_s + EDGE_S
        and one.fit.clip_end_s >= kept.fit.clip_end_s - EDGE_S
    )
    if longer and covers and one.fit.verdict is kept.fit.verdict and references_alike(kept, one):
        return one, None
    before = kept.fit.clip_start_s - one.fit.clip_start_s
    after = one.fit.clip_end_s - kept.fit.clip_end_s
    if max(before, after) < LONGER_S:
        return kept, None
    if before > after:
        return kept, one.within(one.fit.clip_start_s, kept.fit.clip_start_s)
    return kept, one.within(kept.fit.clip_end_s, one.fit.clip_end_s)


def references_alike(kept: Told, one: Told) -> bool:
    """Whether the other one is about as sure."""
    return one.fit.uncertainty_s <= 2 * kept.fit.uncertainty_s + ALIKE_S


def _with_rival(kept: Told, one: Told) -> Told:
    """A take with another's place among its rivals."""
    song_s = one.fit.line.song_time(kept.fit.clip_start_s)
    strength = min(1.0, one.fit.strength / max(kept.fit.strength, 1e-9))
    rivals = (*kept.fit.rivals, PlaceRival(song_s, strength, True))
    return replace(kept, fit=replace(kept.fit, rivals=rivals))


def _apart(takes: Sequence[Told]) -> list[Told]:
    """The takes, where two overlap at an edge, with the less sure one cut off there."""
    out = list(takes)
    for place, kept in enumerate(out):
        for number in range(place + 1, len(out)):
            one = out[number]
            if _shared_s(kept, one) > 0 and kept.reference != one.reference:
                before = one.fit.clip_start_s < kept.fit.clip_start_s
                start = one.fit.clip_start_s if before else kept.fit.clip_end_s
                end = kept.fit.clip_start_s if before else one.fit.clip_end_s
                if end > start:
                    out[number] = one.within(start, end)
    return out
