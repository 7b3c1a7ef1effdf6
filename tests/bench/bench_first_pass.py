"""How long a first pass takes, and a changed lock: ``python -m tests.bench.bench_first_pass``.

A song of ten minutes with 200 takes, 60 needs and 300 faults and keepers. Times are held against a plain
count in the same run, as a ratio that holds on any machine: for every bar, every take is asked whether it
covers it. Seconds of the processor are told beside seconds of the clock, for others may use the machine.

Nothing fails here for being slow: figures are printed, and a person reads them.
"""

import argparse
import os
import platform
import statistics
import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from fractions import Fraction

from app.model.document.cut import Lock, Setting
from app.model.document.plan import Passage
from app.model.document.song import FIRST_SONG, LEVEL_STEP_S
from app.model.first_pass.rules import rules_of
from app.model.first_pass.solver import Solver
from app.model.on_song import SongView
from tests.bench.bench_missing import plain_count
from tests.bench.large_score import large_shoot, planned

RATE = Fraction(25)
AIM_S, LOCK_AIM_S = 2.0, 0.3
RULES = {
    "as they come": (),
    "fast": (("pace", "fast"),),
    "slow": (("pace", "slow"),),
    "four frames before": (("frames before", "4"),),
    "cuts on beats": (("cuts", "beats"),),
}


def with_beats(shoot: SongView) -> SongView:
    """The shoot with four beats to a bar, families of sections, and levels, as in a song that was mapped."""
    song = shoot.song
    assert song is not None
    bars = song.map.bars_s
    beats = tuple(bar + n * (bars[1] - bars[0]) / 4 for bar in bars for n in range(4))
    sections = tuple(replace(one, family=one.name) for one in song.map.sections)
    levels = tuple(-10.0 - 5 * (int(n / 120) % 3) for n in range(int(song.duration_s / LEVEL_STEP_S)))
    song_map = replace(song.map, beats_s=beats, sections=sections, levels_db=levels)
    return replace(shoot, song=replace(song, map=song_map))


def timed(what: Callable[[], object]) -> tuple[float, float]:
    """Seconds of the clock and of the processor."""
    clock, processor = time.perf_counter(), time.process_time()
    what()
    return time.perf_counter() - clock, time.process_time() - processor


def locks(shoot: SongView, count: int) -> list[Lock]:
    """Locks of four bars, from all over the song, each on another angle."""
    assert shoot.song is not None
    last = len(shoot.song.map.bars_s) - 4
    return [
        Lock(
            f"lock-{n}",
            FIRST_SONG,
            Passage(first_bar=(first := 1 + n * last // count), last_bar=first + 3),
            shoot.angles[n % (len(shoot.angles) - 1)].id,
        )
        for n in range(count)
    ]


def row(name: str, taken: Sequence[tuple[float, float]], base_s: float, aim_s: float) -> None:
    """Print the figures of one question."""
    clock, processor = ([one[n] for one in taken] for n in (0, 1))
    middle = statistics.median(processor)
    late = sum(one > aim_s for one in clock)
    print(
        f"{name:<34}{statistics.median(clock):>8.2f}{max(clock):>8.2f}{middle:>8.2f}{max(processor):>8.2f}"
        f"{middle / base_s:>8.1f}{late:>6} of {len(taken)} over {aim_s} s"
    )


def main(arguments: Sequence[str] | None = None) -> int:
    """Make, measure, print."""
    parser = argparse.ArgumentParser(
        prog="python -m tests.bench.bench_first_pass", description=(__doc__ or "").split("\n\n")[1]
    )
    parser.add_argument("--takes", type=int, default=200)
    parser.add_argument("--minutes", type=float, default=10.0, help="length of the song")
    parser.add_argument("--count", type=int, default=5, help="whole solutions")
    parser.add_argument("--locks", type=int, default=20, help="locks, one after the other")
    parser.add_argument("--seed", type=int, default=1, help="of the made shoot")
    chosen = parser.parse_args(arguments)
    load = f", load {os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else ""
    print(f"Python {platform.python_version()}, {os.cpu_count()} cores{load}")
    shoot = planned(large_shoot(chosen.takes, chosen.minutes, seed=chosen.seed), seed=chosen.seed + 1)
    shoot = with_beats(shoot)
    base_s = statistics.median(timed(lambda: plain_count(shoot))[1] for _ in range(chosen.count))
    print(f"{chosen.takes} takes; a plain count takes {base_s * 1e3:.0f} ms of the processor")
    print(f"{'seconds':<34}{'clock':>8}{'worst':>8}{'proc.':>8}{'worst':>8}{'ratio':>8}")
    for name, settings in RULES.items():
        rules = rules_of(Setting(*one) for one in settings)
        whole = [timed(lambda: Solver(shoot, rules, RATE).solve()) for _ in range(chosen.count)]  # noqa: B023
        row(name, whole, base_s, AIM_S)
        kept = Solver(shoot, rules, RATE)
        kept.solve()
        changed = []
        for lock in locks(shoot, chosen.locks):
            changed.append(timed(lambda: kept.solve(locks=[lock])))  # noqa: B023
        row(f"  after a changed lock ({len(kept.solve().shots)} shots)", changed, base_s, LOCK_AIM_S)
    return 0


if __name__ == "__main__":
    sys.exit(main())
