"""How well faults are proposed from pictures: ``python -m tests.quality.picture_board --shoots N --seed S``.

Shoots at random (`faulty_shoots`) as H.264 files, at ordinary and at poor bit rates and six frame rates. Told
by kind: faults that were put in and found (a proposal with their word overlaps them), of those how many with
both edges within half a second, and false proposals (that overlap no fault of their word) in ten minutes of
good footage, with what was in the take. ``--sample`` does the same with the sample shoot, untouched and with
faults put in. Seeds below 1000 are for tuning.
"""

import argparse
import tempfile
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path

import numpy as np

from audio.pictures.faults import REASONS, Proposal, proposals
from audio.pictures.sampling import pictures_of, stamps_of
from audio.pictures.trace import Trace, trace_of
from tests.quality.faulty_sample import CLIPS, COPIES, make
from tests.quality.faulty_shoots import random_takes
from tests.quality.made_takes import Fault
from tests.quality.scene_files import encode

EDGE_S = 0.5
SURE = 0.0, 0.5, 0.7, 0.85, 0.95, 1.01
"""Between these, how sure proposals are is held against how often they are right."""


@dataclass(slots=True)
class Tally:
    """Counts by kind."""

    put_in: Counter[str] = field(default_factory=Counter)
    found: Counter[str] = field(default_factory=Counter)
    exact: Counter[str] = field(default_factory=Counter)
    in_sight: Counter[str] = field(default_factory=Counter)
    """Put in, and large enough for a viewer to see …"""
    seen: Counter[str] = field(default_factory=Counter)
    """… and found."""
    sure: list[tuple[str, float, bool]] = field(default_factory=list)
    """Of every proposal: its word, how sure it was, and whether it was right."""
    false: Counter[str] = field(default_factory=Counter)
    false_beside: Counter[str] = field(default_factory=Counter)
    """False ones by what else was in the take."""
    good_s: float = 0.0

    def add(
        self, faults: Sequence[Fault], found: Sequence[Proposal], length_s: float, good: Sequence[str] = ()
    ) -> list[str]:
        """Judge the proposals of a clip; lines about what went wrong."""
        notes = []
        self.good_s += length_s - sum(one.end_s - one.start_s for one in faults)
        for fault in faults:
            self.put_in[fault.kind] += 1
            self.in_sight[fault.kind] += fault.in_sight
            same = [one for one in found if one.reason == fault.reason and _overlap(one, fault)]
            if not same:
                notes.append(f"missed {fault}")
                continue
            self.found[fault.kind] += 1
            self.seen[fault.kind] += fault.in_sight
            start_s, end_s = min(one.clip_start_s for one in same), max(one.clip_end_s for one in same)
            if abs(start_s - fault.start_s) <= EDGE_S and abs(end_s - fault.end_s) <= EDGE_S:
                self.exact[fault.kind] += 1
            else:
                notes.append(f"edges {start_s:.2f} to {end_s:.2f} of {fault}")
        for one in found:
            right = any(one.reason == fault.reason and _overlap(one, fault) for fault in faults)
            self.sure.append((one.reason, one.sure, right))
            if not right:
                self.false[one.reason] += 1
                self.false_beside.update(good or ("nothing",))
                notes.append(f"FALSE {one}")
        return notes

    def table(self) -> str:
        """As lines."""
        lines = [f"{'kind':10} {'put in':>6} {'found':>6} {'edges':>6} {'in sight':>8} {'found':>6}"]
        for kind in sorted(self.put_in):
            put_in, found = self.put_in[kind], self.found[kind]
            lines.append(
                f"{kind:10} {put_in:6} {found:6} {self.exact[kind]:6} {self.in_sight[kind]:8} "
                f"{self.seen[kind]:6}   {self.seen[kind] / max(1, self.in_sight[kind]):4.0%}"
            )
        minutes = self.good_s / 60
        false = sum(self.false.values())
        lines.append(
            f"{false} false in {minutes:.0f} minutes of good footage: "
            f"{10 * false / max(minutes, 1e-9):.2f} in ten minutes"
        )
        lines += [f"  {reason}: {self.false[reason]}" for reason in REASONS if self.false[reason]]
        if false:
            lines.append("  beside " + ", ".join(f"{one} {n}" for one, n in self.false_beside.most_common()))
        for low, high in pairwise(SURE):
            some = [right for _, sure, right in self.sure if low <= sure < high]
            if some:
                lines.append(
                    f"  sure {low:.2f} to {high:.2f}: {sum(some)} of {len(some)} right, {np.mean(some):.0%}"
                )
        return "\n".join(lines)


def _overlap(one: Proposal, fault: Fault) -> bool:
    return one.clip_start_s < fault.end_s + 0.1 and one.clip_end_s > fault.start_s - 0.1


def traces_of_shoot(seed: int, folder: Path) -> list[tuple[Trace, list[Fault], list[str], float]]:
    """The takes of a shoot, written as files and looked at."""
    seen = []
    for number, take in enumerate(random_takes(seed)):
        path = folder / f"{seed}-{number}.mp4"
        quality = "poor" if take.poor else "good"
        encode(path, take.frames(), take.rate, quality=quality, missing=take.missing)
        seen.append((_looked_at(path), take.faults, take.good, take.seconds))
        path.unlink()
    return seen


def judge(shots: Sequence[tuple[Trace, list[Fault], list[str], float]], tally: Tally) -> list[str]:
    """Judge the takes of one angle."""
    notes = []
    for number, (seen, faults, good, length_s) in enumerate(shots):
        others = [one[0] for n, one in enumerate(shots) if n != number]
        for note in tally.add(faults, proposals(seen, others, ()), length_s, good):
            notes.append(f"take {number} ({', '.join(good)}): {note}")
    return notes


def judge_sample(tally: Tally) -> Iterator[str]:
    """Judge the sample shoot: untouched, and extended by clips with faults put in."""
    own = {path: _looked_at(path) for path in sorted(CLIPS.rglob("*.M*"))}
    for path, seen in own.items():
        others = [one for other, one in own.items() if other != path and other.parent == path.parent]
        for note in tally.add([], proposals(seen, others, ()), float(seen.stamps[-1]), ("untouched",)):
            yield f"{path.name}: {note}"
    with tempfile.TemporaryDirectory() as folder:
        for copy in COPIES:
            seen = _looked_at(make(copy, Path(folder)))
            others = [one for path, one in own.items() if path.parent.name == Path(copy.file).parent.name]
            for note in tally.add(
                [copy.fault], proposals(seen, others, ()), float(seen.stamps[-1]), ("copy",)
            ):
                yield f"{copy.file}: {note}"


def _looked_at(path: Path) -> Trace:
    return trace_of(pictures_of(path), stamps_of(path))


def main() -> None:
    """Run the board."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--shoots", type=int, default=20)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--quiet", action="store_true", help="the table only")
    parser.add_argument("--sample", action="store_true", help="the sample shoot instead")
    asked = parser.parse_args()
    tally = Tally()
    if asked.sample:
        for note in judge_sample(tally):
            print(note, flush=True)
        print(tally.table())
        return
    with tempfile.TemporaryDirectory() as folder:
        for seed in range(asked.seed, asked.seed + asked.shoots):
            for note in judge(traces_of_shoot(seed, Path(folder)), tally):
                if not asked.quiet:
                    print(f"shoot {seed}, {note}", flush=True)
    print(tally.table())


if __name__ == "__main__":
    main()
