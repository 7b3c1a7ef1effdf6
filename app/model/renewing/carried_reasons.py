"""What is said of a take that was carried over to the next master: whether it was heard there, and where."""

from collections.abc import Sequence

from app.model.document.findings import TakePlacement
from app.model.document.verdict import Verdict
from app.model.reasons import Reason
from app.model.song_line import Line

NOT_YET = "carried over"
HERE = "carried, heard"
ELSEWHERE = "carried, heard elsewhere"
NOT_HEARD = "carried, not heard"
BY_CODE = "carried, by code"
WAS_CUT = "cut, heard here"
"""Not carried: it lay on what was cut, and sounds like another place."""
CODES = frozenset((NOT_YET, HERE, ELSEWHERE, NOT_HEARD, BY_CODE))
AGREE_S = 0.02
"""Where a take that was heard on the new master lies further from where it was carried than this, beyond what
both allow for, the two do not agree: half a frame at 25 a second."""
_WAS = "was"


def carried_reason(verdict: Verdict) -> Reason:
    """That a take was carried over and not heard yet; ``verdict`` is what it was on the earlier master."""
    return Reason(NOT_YET, ((_WAS, verdict.value),))


def is_carried(take: TakePlacement) -> bool:
    """Whether a take of a finding was carried over, heard on this master or not."""
    return take.reason.code in CODES


def was_placed(take: TakePlacement) -> bool:
    """Whether a carried take was placed on the earlier master, not in doubt."""
    return dict(take.reason.figures).get(_WAS) == Verdict.PLACED.value


def said_of(take: TakePlacement, code: str, off_s: float | None = None) -> Reason:
    """What is said of a carried take from now on."""
    was = tuple(one for one in take.reason.figures if one[0] == _WAS)
    return Reason(code, was if off_s is None else (*was, ("off_s", off_s)))


def off_s(heard: Line, carried: Line, clip_start_s: float, clip_end_s: float) -> float:
    """How much later one line lies in the song than the other, in the middle of a stretch of the clip (s)."""
    middle_s = (clip_start_s + clip_end_s) / 2
    return heard.song_time(middle_s) - carried.song_time(middle_s)


def reason_beside(decided: TakePlacement, found: Sequence[TakePlacement]) -> Reason | None:
    """What the sound on this master says of a take that a person decided on an earlier one.

    ``found`` are the takes of the machine through about that stretch of the clip. None where it says nothing:
    nothing was carried there, or the person put the take elsewhere than the machine all along.
    """
    for one in found:
        if is_carried(one):
            off = off_s(one.line, decided.line, decided.clip_start_s, decided.clip_end_s)
            if abs(off) <= AGREE_S + one.uncertainty_s:
                return one.reason
    return None
