"""Many scores as one table: counts and errors by group."""

from collections.abc import Callable, Sequence

import numpy as np

from tests.quality.bounds import level_needed_db
from tests.quality.judging import Score
from tests.quality.totals import LONG_ENOUGH_S

OUTCOMES = ("refused", "right", "doubtful", "missed", "WRONG")
"""From good to bad; of a clip with several takes the worst counts."""

SONG_S = 60.0
"""How long the songs are in which clips of falling level are looked for."""
HEAD = (
    f"{'':22s} clips takes  right doubt (1st list fair) WRONG miss | "
    f"{'median':>7s} {'p95':>7s} {'worst':>7s} {'>= 8 s':>7s} ms | {'ppm':>6s} | "
    f"{'ends':>5s} {'worst':>5s} s | "
    "within | /bound"
)


def outcome(score: Score) -> str:
    """What became of a clip, in a word."""
    if score.wrong:
        return "WRONG"
    if score.missed:
        return "missed"
    if score.doubtful:
        return "doubtful"
    return "right" if score.takes else "refused"


def _all(scores: Sequence[Score], pick: Callable[[Score], Sequence[float]]) -> np.ndarray:
    return np.abs(np.array([value for score in scores for value in pick(score)], dtype=np.float64))


def _show(values: np.ndarray, share: float, digits: int, width: int) -> str:
    return f"{np.quantile(values, share):{width}.{digits}f}" if len(values) else f"{'-':>{width}s}"


def row(title: str, scores: Sequence[Score]) -> str:
    """One line: median error at the middle of a take; p95 and worst over its start, middle and end.

    ``>= 8 s`` is the worst of takes so long, ``ends`` how far the told start and end of a take are from the
    true ones, ``within`` the share of takes whose worst error the stated uncertainty holds, ``/bound`` the
    RMS error over the least any method can reach.
    """
    takes, right = sum(s.takes for s in scores), sum(s.right for s in scores)
    good = f"{100 * right / takes:5.1f}%" if takes else f"{sum(s.refused for s in scores):3d}no "
    doubt = [sum(getattr(s, part) for s in scores) for part in ("doubtful", "first", "listed", "fair_doubts")]
    middle, worst = _all(scores, lambda s: s.middle_ms), _all(scores, lambda s: s.worst_ms)
    within = [value for s in scores for value in s.within]
    longer = np.abs(
        [e for s in scores for e, t in zip(s.worst_ms, s.take_s, strict=True) if t >= LONG_ENOUGH_S]
    )
    over, ends = _all(scores, lambda s: s.over_bound), _all(scores, lambda s: s.ends_s)
    doubts = f"{doubt[0]:5d} ({doubt[1]:3d} {doubt[2]:4d} {doubt[3]:4d})"
    return (
        f"{title:22s} {len(scores):5d} {takes:5d} {good} {doubts} "
        f"{sum(s.wrong for s in scores):5d} {sum(s.missed for s in scores):4d} | "
        f"{_show(middle, 0.5, 3, 7)} {_show(worst, 0.95, 2, 7)} {_show(worst, 1.0, 2, 7)} "
        f"{_show(longer, 1.0, 2, 7)}    | "
        f"{_show(_all(scores, lambda s: s.speed_ppm), 0.5, 2, 6)} | "
        f"{_show(ends, 0.5, 2, 5)} {_show(ends, 1.0, 1, 5)}   | "
        f"{f'{100 * np.mean(within):4.0f} %' if within else '     -'} | "
        f"{f'{np.sqrt(np.mean(over**2)):6.2f}' if len(over) else '     -'}"
        f"{_simpler(scores)}"
    )


def _simpler(scores: Sequence[Score]) -> str:
    """What share of the takes simpler methods find, where they were asked."""
    names = dict.fromkeys(name for score in scores for name in score.others)
    found = {name: [one for score in scores for one in score.others.get(name, [])] for name in names}
    return "".join(f" | {name} {100 * np.mean(values):3.0f} %" for name, values in found.items() if values)


def table(scores: Sequence[Score], group: Callable[[Score], str]) -> str:
    """Lines by group in the order of first appearance, and their total."""
    names = dict.fromkeys(group(score) for score in scores)
    lines = [HEAD, *(row(name, [s for s in scores if group(s) == name]) for name in names)]
    return "\n".join([*lines, row("all", scores)])


def levels(scores: Sequence[Score]) -> str:
    """Success by level and length: found, and wrong in brackets, of so many, and an ideal's limit."""
    found: dict[tuple[str, str], list[Score]] = {}
    for score in scores:
        length, _, level = score.strength.partition(" at ")
        found.setdefault((length, level), []).append(score)
    across = list(dict.fromkeys(level for _, level in found))
    lines = ["playback under drums, shouts and noise: found (WRONG) of tried"]
    lines.append(f"{'':6s}" + "".join(f"{level:>14s}" for level in across))
    for length in dict.fromkeys(length for length, _ in found):
        cells = [found.get((length, level), []) for level in across]
        texts = [f"{sum(s.right for s in c)} ({sum(s.wrong for s in c)}) of {len(c)}" for c in cells]
        lines.append(f"{length:6s}" + "".join(f"{text:>14s}" for text in texts))
        seconds = float(length.split()[0])
        lines[-1] += f"   an ideal correlator in white noise: to {level_needed_db(seconds, SONG_S):.0f} dB"
    return "\n".join(lines)
