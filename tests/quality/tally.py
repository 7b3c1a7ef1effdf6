"""Many scores as one table: counts, errors, and what changed since a kept run."""

import json
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np

from tests.quality.judging import Score

OUTCOMES = ("refused", "right", "doubtful", "missed", "WRONG")
"""From good to bad; of a clip with several takes the worst counts."""

HEAD = (
    f"{'':26s} clips takes  right doubt (1st list fair) WRONG miss | "
    f"{'median':>7s} {'p95':>7s} {'worst':>7s} ms | {'ppm':>6s} | {'ends':>5s} {'worst':>5s} s | "
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

    ``ends`` is how far the told start and end of a take are from the true ones; ``within`` the share of takes
    whose worst error lies inside the stated uncertainty; ``/bound`` the RMS error over the least any method
    can reach.
    """
    takes, right = sum(s.takes for s in scores), sum(s.right for s in scores)
    good = f"{100 * right / takes:5.1f}%" if takes else f"{sum(s.refused for s in scores):3d}no "
    doubt = [sum(getattr(s, part) for s in scores) for part in ("doubtful", "first", "listed", "fair_doubts")]
    middle, worst = _all(scores, lambda s: s.middle_ms), _all(scores, lambda s: s.worst_ms)
    within = [value for s in scores for value in s.within]
    over, ends = _all(scores, lambda s: s.over_bound), _all(scores, lambda s: s.ends_s)
    doubts = f"{doubt[0]:5d} ({doubt[1]:3d} {doubt[2]:4d} {doubt[3]:4d})"
    return (
        f"{title:26s} {len(scores):5d} {takes:5d} {good} {doubts} "
        f"{sum(s.wrong for s in scores):5d} {sum(s.missed for s in scores):4d} | "
        f"{_show(middle, 0.5, 3, 7)} {_show(worst, 0.95, 2, 7)} {_show(worst, 1.0, 2, 7)}    | "
        f"{_show(_all(scores, lambda s: s.speed_ppm), 0.5, 2, 6)} | "
        f"{_show(ends, 0.5, 2, 5)} {_show(ends, 1.0, 1, 5)}   | "
        f"{f'{100 * np.mean(within):4.0f} %' if within else '     -'} | "
        f"{f'{np.sqrt(np.mean(over**2)):6.2f}' if len(over) else '     -'}"
    )


def table(scores: Sequence[Score], group: Callable[[Score], str]) -> str:
    """Lines by group in the order of first appearance, and their total."""
    names = dict.fromkeys(group(score) for score in scores)
    lines = [HEAD, *(row(name, [s for s in scores if group(s) == name]) for name in names)]
    return "\n".join([*lines, row("all", scores)])


def levels(scores: Sequence[Score]) -> str:
    """Success by level and length: found, and wrong in brackets, of so many."""
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
    return "\n".join(lines)


def save(scores: Sequence[Score], path: Path) -> None:
    """Keep a run to compare with: outcome and worst error (ms) of every clip, one a line.

    Clips of earlier runs that this one did not make stay as they are.
    """
    kept: dict[str, list[str | float]] = json.loads(path.read_text("utf-8")) if path.exists() else {}
    kept |= {score.name: [outcome(score), round(max(score.worst_ms, default=0.0), 4)] for score in scores}
    lines = ",\n".join(f" {json.dumps(name)}: {json.dumps(kept[name])}" for name in sorted(kept))
    path.write_text("{\n" + lines + "\n}\n", encoding="utf-8")


def changes(scores: Sequence[Score], path: Path) -> str:
    """Tell what got better and what got worse since a kept run, over the clips that both have."""
    if not path.exists():
        return "no kept run to compare with"
    before = json.loads(path.read_text("utf-8"))
    better: list[str] = []
    worse: list[str] = []
    finer = coarser = 0
    both = [score for score in scores if score.name in before]
    for score in both:
        old, old_ms = before[score.name]
        new, new_ms = outcome(score), max(score.worst_ms, default=0.0)
        if OUTCOMES.index(old) != OUTCOMES.index(new):
            side = better if OUTCOMES.index(new) < OUTCOMES.index(old) else worse
            side.append(f"  {score.name}: {old} -> {new}")
        elif new == "right" and abs(new_ms - old_ms) > 0.05 + 0.2 * min(new_ms, old_ms):
            finer += new_ms < old_ms
            coarser += new_ms > old_ms
    lines = [f"against the kept run, {len(both)} clips: {len(better)} better, {len(worse)} worse"]
    lines += [f"errors (worst of a clip) clearly smaller in {finer}, clearly larger in {coarser}"]
    return "\n".join([*lines, "better:", *better, "worse:", *worse])
