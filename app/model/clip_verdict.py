"""What the verdicts on its takes make of a clip: the one place where that is decided."""

from collections.abc import Sequence

from app.model.document.verdict import Verdict
from app.model.reasons import NO_REASON, Reason


def of_takes(takes: Sequence[tuple[Verdict, Reason]]) -> tuple[Verdict, Reason]:
    """Verdict and reason of a clip with takes: doubtful as long as one of them is, with its doubt.

    >>> of_takes([(Verdict.PLACED, NO_REASON), (Verdict.DOUBTFUL, Reason("short"))])
    (<Verdict.DOUBTFUL: 'doubtful'>, Reason(code='short', figures=(), takes=(1, 2)))
    """
    doubts = [reason for verdict, reason in takes if verdict is Verdict.DOUBTFUL]
    if not doubts:
        return Verdict.PLACED, NO_REASON
    return Verdict.DOUBTFUL, doubts[0] if len(takes) == 1 else doubts[0].of(len(doubts), len(takes))
