"""What the verdicts on its takes make of a clip: the one place where that is decided."""

from collections.abc import Sequence

from app.model.document.verdict import Verdict, verdict_word
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


def clip_word(verdict: Verdict, reason: Reason) -> str:
    """What is said of a clip in a word or two: how many of its takes are placed, where some are and some are
    in doubt, for the certain ones are used all the same.

    >>> clip_word(Verdict.DOUBTFUL, Reason("faint").of(6, 10)), clip_word(Verdict.DOUBTFUL, Reason("faint"))
    ('4 of 10 placed', 'in doubt')
    """
    if verdict is Verdict.DOUBTFUL and reason.takes is not None:
        doubtful, takes = reason.takes
        if doubtful < takes:
            return f"{takes - doubtful} of {takes} placed"
    return verdict_word(verdict)
