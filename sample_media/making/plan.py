"""What of the plan the true takes meet, from the spans of takes alone.

Rule: a bar counts for an angle if one of its takes runs through the whole bar, and for a need if so many
angles that show its subject have the bar. A need is met if enough of its bars count, partly met if fewer do,
unmet if none does.
"""

import csv
from dataclasses import dataclass
from pathlib import Path
from typing import Any

NEAR_S = 0.001
"""A take that begins or ends on a bar line to within that has the bar."""


@dataclass(frozen=True, slots=True)
class Need:
    """One line of plan.csv, its empty cells filled: bars count from 1, both are included."""

    section: str
    first_bar: int
    last_bar: int
    subject: str
    least_bars: int
    least_angles: int
    note: str

    @property
    def bars(self) -> list[int]:
        """All bars it is about."""
        return list(range(self.first_bar, self.last_bar + 1))


def read_needs(path: Path, song: dict[str, Any]) -> list[Need]:
    """Needs of a plan on the sections of the song's truth; a section is named by its letter or its name."""
    sections = song["sections"]
    ends = [*(later["first_bar"] - 1 for later in sections[1:]), len(song["bars_s"])]
    spans = {
        key: (section["first_bar"], end)
        for section, end in zip(sections, ends, strict=True)
        for key in (section["letter"], section["name"])
    }
    needs = []
    with path.open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            first, last = spans[row["section"]]
            first, last = int(row["first_bar"] or first), int(row["last_bar"] or last)
            least_bars, least_angles = (
                int(row["least_bars"] or last - first + 1),
                int(row["least_angles"] or 1),
            )
            needs.append(
                Need(row["section"], first, last, row["subject"], least_bars, least_angles, row["note"])
            )
    return needs


def read_subjects(path: Path) -> dict[str, set[str]]:
    """What each angle shows; several subjects are parted by ``;``."""
    with path.open(encoding="utf-8", newline="") as file:
        return {
            row["angle"]: {one.strip() for one in row["subjects"].split(";")} - {""}
            for row in csv.DictReader(file)
        }


def bars_of_takes(
    song: dict[str, Any], clips: list[dict[str, Any]], verdicts: set[str]
) -> dict[str, set[int]]:
    """Bars, from 1, that each angle has whole in one take of a clip with one of the verdicts."""
    lines = [*song["bars_s"], song["bars_end_s"]]
    found: dict[str, set[int]] = {}
    for clip in clips:
        bars = found.setdefault(clip["angle"], set())
        for take in clip["takes"] if clip["verdict"] in verdicts else ():
            start = take["song_start_s"]
            end = start + (take["clip_end_s"] - take["clip_start_s"]) * take["speed"]
            bars |= {
                bar
                for bar in range(1, len(lines))
                if start <= lines[bar - 1] + NEAR_S and lines[bar] <= end + NEAR_S
            }
    return found


def answer(need: Need, subjects: dict[str, set[str]], bars: dict[str, set[int]]) -> dict[str, Any]:
    """State of a need, the bars it lacks (none once it is met), and the angles that have some of its bars."""
    angles = [
        a for a, shown in subjects.items() if need.subject in shown and bars.get(a, set()) & set(need.bars)
    ]
    counted = [bar for bar in need.bars if sum(bar in bars[a] for a in angles) >= need.least_angles]
    met = len(counted) >= need.least_bars
    return {
        "state": "met" if met else "partly" if counted else "unmet",
        "missing_bars": [] if met else [bar for bar in need.bars if bar not in counted],
        "angles": angles,
    }


def plan_truth(folder: Path, song: dict[str, Any], clips: list[dict[str, Any]]) -> dict[str, Any]:
    """What is met of the plan in a folder, with all true takes and before the doubtful ones are decided."""
    subjects = read_subjects(folder / "angles.csv")
    every = bars_of_takes(song, clips, {"placed", "doubtful"})
    sure = bars_of_takes(song, clips, {"placed"})
    return {
        "rule": "a bar counts for an angle if one of its takes runs through the whole bar; "
        "in_doubt tells the state while takes in doubt are not counted",
        "needs": [
            {
                "section": need.section,
                "first_bar": need.first_bar,
                "last_bar": need.last_bar,
                "subject": need.subject,
                "least_bars": need.least_bars,
                "least_angles": need.least_angles,
                **answer(need, subjects, every),
                "in_doubt": answer(need, subjects, sure),
            }
            for need in read_needs(folder / "plan.csv", song)
        ],
    }
