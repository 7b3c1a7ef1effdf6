"""A run kept to compare later ones with, and what got better and what got worse since."""

import json
from collections.abc import Sequence
from pathlib import Path

from tests.quality.judging import Score
from tests.quality.tally import OUTCOMES, outcome

Kept = dict[str, tuple[str, float]]
"""Outcome and worst error (ms) by the name of the clip."""


def save(scores: Sequence[Score], path: Path) -> None:
    """Keep a run; clips of earlier runs that this one did not make stay as they are.

    The file has a line for each kind: song, strength and seed of every clip, and what became of it.
    """
    kept = _read(path)
    kept |= {score.name: (outcome(score), round(max(score.worst_ms, default=0.0), 4)) for score in scores}
    by_kind: dict[str, dict[str, tuple[str, float]]] = {}
    for name in sorted(kept):
        song, kind, strength, seed = name.rsplit(":", 3)
        by_kind.setdefault(kind, {})[f"{song}:{strength}:{seed}"] = kept[name]
    lines = ",\n".join(f" {json.dumps(kind)}: {json.dumps(by_kind[kind])}" for kind in sorted(by_kind))
    path.write_text("{\n" + lines + "\n}\n", encoding="utf-8")


def _read(path: Path) -> Kept:
    found: Kept = {}
    for kind, clips in (json.loads(path.read_text("utf-8")) if path.exists() else {}).items():
        for name, (what, worst_ms) in clips.items():
            song, strength, seed = name.rsplit(":", 2)
            found[f"{song}:{kind}:{strength}:{seed}"] = what, float(worst_ms)
    return found


def changes(scores: Sequence[Score], path: Path) -> str:
    """Tell what got better and what got worse since a kept run, over the clips that both have."""
    before = _read(path)
    if not before:
        return "no kept run to compare with"
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
