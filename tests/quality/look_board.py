"""How well clips are grouped by their looks: ``python -m tests.quality.look_board --shoots 20 --seed 2000``.

Drawn shoots of which the set-ups are known (`look_shoots`). Told by kind of pair: of two clips of one set-up,
the share in one group; of two of different set-ups, the share kept apart; and what of it is told with so much
certainty that the program goes by it. Then how often the engine was right
where it said so: for pairs, and for the place of each clip. Weights are fitted on ``drawn`` shoots with seeds
below 1000 (`look_fit`); ``--style woven`` draws in another way. ``--sample`` looks at the files of the sample
shoot, whose set-ups are their folders.
"""

import argparse
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import combinations, pairwise
from pathlib import Path

import numpy as np

from app.model.alike import SURE
from audio.pictures.likeness import groups_of, pair_odds, view_groups
from audio.pictures.portraits import portrait_of
from audio.pictures.sampling import pictures_of, stamps_of
from audio.pictures.trace import trace_of
from tests.quality.look_shoots import Shot, kind_of, random_shoot
from tests.quality.scene_places import Style

KINDS = ("tripod", "handheld", "roaming", "moved", "nudged", "relit", "neighbour", "other")
STEPS = (0.0, 0.02, 0.1, 0.3, 0.5, 0.7, 0.8, 0.9, 0.95, 1.0)
SAMPLE = Path(__file__).parents[2] / "sample_media" / "clips"


@dataclass(slots=True)
class Board:
    """Counts over shoots."""

    right: Counter[tuple[str, bool]] = field(default_factory=Counter)
    """Pairs told rightly, by kind and whether they are one set-up."""
    all: Counter[tuple[str, bool]] = field(default_factory=Counter)
    sure: Counter[tuple[str, bool, bool]] = field(default_factory=Counter)
    """The same of pairs both of whose clips are sure of their place, and whether they are told rightly: the
    others are left in doubt."""
    pairs: list[tuple[float, bool]] = field(default_factory=list)
    """What was said of each pair, and whether it is one set-up."""
    clips: list[tuple[float, bool]] = field(default_factory=list)
    """How sure each clip's place is said to be, and whether it is right."""

    def add(self, shots: Sequence[Shot]) -> None:
        """Group the clips of a shoot, and hold the groups against the truth."""
        portraits = [portrait_of(shot) for shot in shots]
        odds = np.full((len(shots), len(shots)), 0.5)
        for a, b in combinations(range(len(shots)), 2):
            odds[a, b] = odds[b, a] = pair_odds(portraits[a], portraits[b])
        found = groups_of(odds)
        for a, b in combinations(range(len(shots)), 2):
            same = shots[a].set_up == shots[b].set_up
            key = kind_of(shots[a], shots[b]), same
            self.all[key] += 1
            right = (found[a].group == found[b].group) == same
            self.right[key] += right
            self.sure[(*key, right)] += min(found[a].sure, found[b].sure) >= SURE
            self.pairs.append((float(odds[a, b]), same))
        for n, one in enumerate(found):
            mates = [m for m, other in enumerate(found) if other.group == one.group and m != n]
            theirs = {m for m, shot in enumerate(shots) if shot.set_up == shots[n].set_up and m != n}
            alone = not mates and not theirs
            self.clips.append((one.sure, alone or len(theirs.intersection(mates)) > len(mates) / 2))

    def share(self, same: bool, without: Iterable[str] = ()) -> float:
        """The share of pairs told rightly."""
        keys = [key for key in self.all if key[1] == same and key[0] not in set(without)]
        return sum(self.right[key] for key in keys) / max(1, sum(self.all[key] for key in keys))

    def lines(self) -> list[str]:
        """The tables."""
        found = ["pairs of one set-up, joined"]
        found += [self._line(kind, True) for kind in KINDS if self.all[kind, True]]
        found += [f"  all {self.share(True):.1%}, without roaming {self.share(True, ['roaming']):.1%}"]
        found += ["pairs of different set-ups, kept apart"]
        found += [self._line(kind, False) for kind in KINDS if self.all[kind, False]]
        found += [f"  all {self.share(False):.1%}"]
        found += ["pairs: said to be one set-up, were one", *_calibration(self.pairs)]
        found += ["clips: sure of their place, were right", *_calibration(self.clips)]
        return found

    def _line(self, kind: str, same: bool) -> str:
        right, of = self.right[kind, same], self.all[kind, same]
        told, wrong = self.sure[kind, same, True], self.sure[kind, same, False]
        return (
            f"  {kind:10} {right} of {of} ({right / of:.1%}); with certainty {told} rightly, "
            f"{wrong} wrongly, {of - told - wrong} in doubt"
        )


def board(seeds: Iterable[int], style: Style) -> Board:
    """Many shoots."""
    found = Board()
    for seed in seeds:
        found.add(random_shoot(seed, style))
    return found


def sample_lines() -> list[str]:
    """The sample's clips with pictures, with group and certainty."""
    paths = sorted(path for path in SAMPLE.rglob("*") if path.suffix in (".MP4", ".MOV"))
    traces = [trace_of(pictures_of(path), stamps_of(path)) for path in paths]
    found = view_groups(traces)
    return [
        f"  {path.parent.name:14}{path.name:12} group {one.group + 1:2}, {one.sure:.0%}"
        for path, one in zip(paths, found, strict=True)
    ]


def _calibration(said: Sequence[tuple[float, bool]]) -> list[str]:
    values = np.array(said, float).reshape(-1, 2)
    found = []
    for low, high in pairwise(STEPS):
        mine = values[(values[:, 0] >= low) & (values[:, 0] < high)]
        if len(mine):
            mean, was = mine.mean(axis=0)
            found.append(f"  {low:.2f} to {high:.2f}: {len(mine):5}, said {mean:.1%}, were {was:.1%}")
    return found


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--shoots", type=int, default=20)
    parser.add_argument("--seed", type=int, default=2000)
    parser.add_argument("--style", choices=["drawn", "woven"], default="drawn")
    parser.add_argument("--sample", action="store_true", help="the sample shoot instead")
    told = parser.parse_args()
    seeds = range(told.seed, told.seed + told.shoots)
    print("\n".join(sample_lines() if told.sample else board(seeds, told.style).lines()))


if __name__ == "__main__":
    main()
