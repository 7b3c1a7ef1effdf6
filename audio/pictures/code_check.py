"""What the code on the slate says of a clip that its sound has placed."""

from collections.abc import Sequence
from dataclasses import replace

from audio.line import Line
from audio.pictures.code_lines import CodeLine
from audio.placement.answer import Placement, PlaceRival, PlaceVerdict, TakeFit
from audio.placement.reason_codes import Reason, ReasonCode

AGREES_S = 0.15
"""Within this (s of song) code and sound agree. Screens and loudspeakers are late by some hundredths of a
second, each by its own; the code decides between places, not about milliseconds."""
SAME_SPEED = 0.01
"""Relative difference of speed up to which code and sound agree."""


def checked(placement: Placement, lines: Sequence[CodeLine]) -> Placement:
    """The placement with each take held against the code in it, if there is a sure one.

    Where both agree, that is told, and settles whether the take belongs elsewhere in the song. Where they do
    not, the take is in doubt.
    """
    takes = []
    for take in placement.takes:
        seen = [
            one
            for one in lines
            if one.sure and not one.code.by_hand and take.clip_start_s - 1 <= one.last_s <= take.clip_end_s
        ]
        takes.append(_held_against(take, seen[0]) if seen else take)
    if tuple(takes) == placement.takes:
        return placement
    doubts = [take for take in takes if take.verdict is PlaceVerdict.DOUBTFUL]
    if not doubts:
        return replace(placement, verdict=PlaceVerdict.PLACED, reason=None, takes=tuple(takes))
    return replace(
        placement,
        verdict=PlaceVerdict.DOUBTFUL,
        reason=placement.reason or doubts[0].reason,
        takes=tuple(takes),
    )


def _held_against(take: TakeFit, code: CodeLine) -> TakeFit:
    off_s = _off_s(take.line, code)
    same_speed = abs(take.speed / code.line.speed - 1) <= SAME_SPEED
    elsewhere = take.reason is not None and take.reason.code is ReasonCode.FITS_ELSEWHERE
    decided = Reason(ReasonCode.CODE_DECIDES, (("off_s", round(off_s, 3)),))
    if same_speed and abs(off_s) <= AGREES_S:
        if take.verdict is PlaceVerdict.PLACED:
            agreed = Reason(ReasonCode.CODE_AGREES, (("off_s", round(off_s, 3)),))
            return replace(take, reason=take.reason or agreed)
        near = [one for one in take.rivals if one.open and abs(one.song_start_s - take.song_start_s) < 0.5]
        if elsewhere and not near:
            rivals = tuple(rival._replace(open=False) for rival in take.rivals)
            return replace(take, verdict=PlaceVerdict.PLACED, reason=decided, rivals=rivals)
        return take
    if same_speed and elsewhere:
        for number, rival in enumerate(take.rivals):
            there = take.line.shifted(rival.song_start_s - take.song_start_s)
            if rival.open and abs(_off_s(there, code)) <= AGREES_S:
                others = [one._replace(open=False) for n, one in enumerate(take.rivals) if n != number]
                left = PlaceRival(take.song_start_s, 1.0, False)
                # The place was fitted as a rival only: a person looks at it once.
                return replace(take, line=there, reason=decided, rivals=(left, *others))
    contradicted = Reason(ReasonCode.CODE_CONTRADICTS, (("off_s", round(-off_s, 3)),))
    return replace(take, verdict=PlaceVerdict.DOUBTFUL, reason=contradicted)


def _off_s(line: Line, code: CodeLine) -> float:
    """How much later in the song a line is than the code (s), where the code was read."""
    return code.line.lag_s(code.line.clip_s, line.song_time(code.line.clip_s))
