"""Faults that pictures show: the words by which they are told, and what they are as marks."""

from collections import Counter
from collections.abc import Collection

from app.model.document.marks import FaultReason, Mark, MarkKind, MarkState
from app.model.seen import Proposed

REASONS = {
    "black": FaultReason.LIGHT,
    "frozen": FaultReason.OTHER,
    "over": FaultReason.LIGHT,
    "under": FaultReason.LIGHT,
    "soft": FaultReason.FOCUS,
    "bump": FaultReason.BUMP,
    "flicker": FaultReason.LIGHT,
    "dropped": FaultReason.OTHER,
}
"""What a fault is proposed as. The words are those of the report, which other programs read."""


CALLED = {
    "black": "black picture",
    "frozen": "frozen",
    "over": "overexposed",
    "under": "underexposed",
    "soft": "soft",
    "bump": "bump",
    "flicker": "flicker",
    "dropped": "dropped frames",
}
"""What each is called on screen."""


def as_mark(clip_id: str, seen: Proposed, duration_s: float = 0.0) -> Mark:
    """A fault seen in a clip as the mark that is proposed; a clip's length (s) bounds it, where known."""
    end_s = min(seen.clip_end_s, duration_s) if duration_s > 0 else seen.clip_end_s
    return Mark(
        id="",
        clip_id=clip_id,
        kind=MarkKind.FAULT,
        clip_start_s=max(0.0, seen.clip_start_s),
        clip_end_s=end_s,
        reason=REASONS[seen.reason],
        words=fault_words(seen.reason, seen.measure),
        by=seen.reason,
        state=MarkState.PROPOSED,
        measure=seen.measure,
    )


def fault_words(reason: str, measure: float) -> str:
    """A fault in words, with the figure on which it is proposed (see `audio.pictures.faults.Proposal`).

    >>> fault_words("soft", 0.4)
    'soft, 40 % of the best sharpness'
    >>> fault_words("dropped", 1), fault_words("dropped", 0)
    ('1 frame missing', 'sound missing')
    """
    whole = round(measure)
    match reason:
        case "black":
            return "black picture"
        case "frozen":
            return f"frozen, {_frames(whole)} repeated"
        case "over":
            return f"overexposed, {100 * measure:.0f} % more clipped than usual"
        case "under":
            return f"underexposed, {100 * measure:.0f} % more blocked than usual"
        case "soft":
            return f"soft, {100 * measure:.0f} % of the best sharpness"
        case "bump":
            return f"bump, {measure:.2g} picture heights per second"
        case "flicker":
            return f"flicker, {measure:.2g} % of the light"
        case "dropped":
            return f"{_frames(whole)} missing" if whole else "sound missing"
    raise KeyError(reason)


def proposed_words(marks: Collection[Mark]) -> str:
    """How many faults are proposed, and of which kinds; empty where there are none.

    >>> proposed_words([as_mark("c", Proposed(one, 0, 1, 1)) for one in ("soft", "bump", "soft")])
    '3 proposed: soft (2), bump'
    """
    found = Counter(CALLED[one.by] for one in seen_faults(marks))
    kinds = [kind if count == 1 else f"{kind} ({count})" for kind, count in found.items()]
    return f"{found.total()} proposed: {', '.join(kinds)}" if found else ""


def _frames(number: int) -> str:
    return "1 frame" if number == 1 else f"{number} frames"


def seen_faults(marks: Collection[Mark]) -> tuple[Mark, ...]:
    """The faults among marks that pictures propose and nobody decided on yet."""
    return tuple(one for one in marks if one.state is MarkState.PROPOSED and one.by in REASONS)
