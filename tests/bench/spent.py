"""Seconds spent on steps, and how they are told beside a baseline."""

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Spent:
    """Wall time of one step, for each clip (or each song) it was done on."""

    step: str
    wall_s: tuple[float, ...]
    each: str = "clip"
    baseline: bool = False

    @property
    def mean_s(self) -> float:
        """Wall seconds each."""
        return sum(self.wall_s) / len(self.wall_s)


def rows_text(rows: Sequence[Spent]) -> str:
    """A table: seconds each, slowest, and the ratio to the baseline step.

    >>> print(rows_text([Spent("read", (1.0, 2.0)), Spent("textbook", (0.5,), baseline=True)]))
    step                                      seconds       slowest    ratio
    read                                      1.500 a clip  2.000       3.00
    textbook                                  0.500 a clip  0.500       1.00
    """
    base = next(row.mean_s for row in rows if row.baseline)
    lines = [f"{'step':<40}  {'seconds':<14}{'slowest':<9}{'ratio':>7}"]
    for row in rows:
        spent = f"{row.mean_s:.3f} a {row.each:<6}{max(row.wall_s):<9.3f}"
        lines.append(f"{row.step:<40}  {spent}{row.mean_s / base:>7.2f}")
    return "\n".join(line.rstrip() for line in lines)
