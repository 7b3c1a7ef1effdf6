"""The figures a whole run is judged by."""

from collections.abc import Callable, Sequence

import numpy as np

from tests.quality.judging import Score
from tests.quality.kinds import KINDS

LONG_ENOUGH_S = 8.0
"""Errors of shorter takes are told apart from the rest."""


def totals(scores: Sequence[Score]) -> str:
    """Verdicts, errors, clocks, ends and uncertainties over all clips of a run, a line each.

    A take is decidable unless a doubt about it is fair. Errors and clocks leave out the kinds whose truth is
    rough, clocks the clips that lost samples too: no one line can follow those.
    """
    exact = [s for s in scores if not (s.kind in KINDS and KINDS[s.kind].rough_truth)]
    clocks = [s for s in exact if s.kind != "dropped"]
    lines = [
        *_verdicts(scores),
        *_errors(exact),
        *_clocks("45 to 120 s", clocks, 45.0, 120.0, 10.0),
        *_clocks("over 120 s", clocks, 120.0, np.inf, 2.0),
        *_ends_and_doubts(scores),
    ]
    return "\n".join(lines)


def _values(scores: Sequence[Score], pick: Callable[[Score], Sequence[float]]) -> np.ndarray:
    return np.abs(np.array([value for score in scores for value in pick(score)], dtype=np.float64))


def _with_lengths(scores: Sequence[Score], pick: Callable[[Score], Sequence[float]]) -> np.ndarray:
    """Rows of value (made positive) and length of the take."""
    pairs = [pair for s in scores for pair in zip(pick(s), s.take_s, strict=True)]
    return np.abs(np.array(pairs, dtype=np.float64).reshape(-1, 2))


def _verdicts(scores: Sequence[Score]) -> list[str]:
    """Nothing wrong in n: the rate is below 3/n with 95 % confidence ("rule of three", textbook)."""
    wrong = sum(s.wrong for s in scores)
    placed = wrong + sum(s.right for s in scores)
    fair = sum(s.fair_doubts for s in scores)
    takes = sum(s.takes for s in scores) - fair
    doubtful = sum(s.doubtful for s in scores if s.takes) - fair
    missed = sum(s.missed for s in scores)
    none = [s for s in scores if not s.takes]
    known = f" (below {300 / placed:.2f} %)" if placed and not wrong else ""
    return [
        f"WRONG {wrong} of {placed} placed{known}",
        f"{takes} decidable takes: doubtful {doubtful} ({100 * doubtful / max(1, takes):.2f} %), "
        f"missed {missed} ({100 * missed / max(1, takes):.2f} %); fair doubts {fair}",
        f"{len(none)} clips without the song: refused {sum(s.refused for s in none)}, "
        f"doubtful {sum(s.doubtful for s in none)}, WRONG {sum(s.wrong for s in none)}",
    ]


def _errors(scores: Sequence[Score]) -> list[str]:
    worst, middle = (_with_lengths(scores, pick) for pick in (lambda s: s.worst_ms, lambda s: s.middle_ms))
    told = []
    for name, chosen in (
        ("8 s and more", worst[:, 1] >= LONG_ENOUGH_S),
        ("less", worst[:, 1] < LONG_ENOUGH_S),
    ):
        if chosen.any():
            told.append(
                f"takes of {name}: {chosen.sum()}, error median {np.median(middle[chosen, 0]):.3f}, "
                f"p95 {np.quantile(worst[chosen, 0], 0.95):.3f}, worst {worst[chosen, 0].max():.2f} ms"
            )
    return told


def _clocks(name: str, scores: Sequence[Score], least_s: float, most_s: float, limit_ppm: float) -> list[str]:
    values = _with_lengths(scores, lambda s: s.speed_ppm)
    ppm = values[(values[:, 1] >= least_s) & (values[:, 1] < most_s), 0]
    if not len(ppm):
        return []
    inside = 100 * np.mean(ppm <= limit_ppm)
    return [
        f"clock of takes {name}: {len(ppm)}, p95 {np.quantile(ppm, 0.95):.2f}, worst {ppm.max():.2f} ppm, "
        f"{inside:.1f} % within {limit_ppm:.0f}"
    ]


def _ends_and_doubts(scores: Sequence[Score]) -> list[str]:
    told = []
    if len(ends := _values(scores, lambda s: s.ends_s)):
        told.append(f"ends: {100 * np.mean(ends <= 0.5):.1f} % within 0.5 s, worst {ends.max():.1f} s")
    if within := [value for s in scores for value in s.within]:
        told.append(f"stated uncertainty (95 %) holds {100 * np.mean(within):.1f} % of {len(within)}")
    if agree := [value for s in scores for value in s.agree]:
        apart = _values(scores, lambda s: s.apart_ms).max()
        told.append(
            f"two cameras of one moment agree: {sum(agree)} of {len(agree)}, worst {apart:.2f} ms apart"
        )
    return told
