"""Faults that pictures show: the words by which they are told, and what they are as marks."""

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
_WORDS = {
    "black": "black picture",
    "frozen": "frozen picture",
    "over": "overexposed",
    "under": "underexposed",
    "soft": "soft",
    "bump": "bump",
    "flicker": "flicker",
    "dropped": "dropped frames",
}


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
    """A fault in words, with its figure.

    >>> fault_words("flicker", 0.0312)
    'flicker (0.031)'
    """
    return f"{_WORDS[reason]} ({measure:.2g})"


def seen_faults(marks: Collection[Mark]) -> tuple[Mark, ...]:
    """The faults among marks that pictures propose and nobody decided on yet."""
    return tuple(one for one in marks if one.state is MarkState.PROPOSED and one.by in REASONS)
