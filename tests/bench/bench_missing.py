"""How quickly *still missing* answers after an edit: ``python -m tests.bench.bench_missing``.

A song of ten minutes with 200 takes, 60 needs and 300 faults and keepers. Before each question one more fault
is set, so that nothing can be answered from what was asked before. The time is held against a plain count in
the same run, as a ratio that holds on any machine: for every bar, every take is asked whether it covers it.

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

from app.model.coverage.coverage import coverage
from app.model.coverage.missing import still_missing
from app.model.coverage.need_bars import subject_bars
from app.model.document.marks import Mark, MarkKind
from app.model.on_song import SongView
from app.model.song_map.bar_spans import bar_spans
from tests.bench.large_score import large_shoot, planned

AIM_S = 0.2


def plain_count(shoot: SongView) -> int:
    """How often a take covers a bar, by asking every take for every bar."""
    assert shoot.song is not None
    takes = [take for clip in shoot.clips for take in clip.takes]
    return sum(
        take.song_start_s <= bar.start_s and take.song_end_s >= bar.end_s
        for bar in bar_spans(shoot.song)
        for take in takes
    )


def edited(shoot: SongView, number: int) -> SongView:
    """The shoot with one more fault."""
    at = number % len(shoot.clips)
    clip = shoot.clips[at]
    start_s = clip.takes[0].clip_start_s + 0.5 + 0.1 * number
    mark = Mark(f"more-{number}", clip.id, MarkKind.FAULT, start_s, start_s + 4.0)
    clips = list(shoot.clips)
    clips[at] = replace(clip, marks=(*clip.marks, mark))
    return replace(shoot, clips=tuple(clips))


def timed(ask: Callable[[SongView], object], shoot: SongView, count: int) -> list[float]:
    """Seconds for each question, each after an edit."""
    taken = []
    for n in range(count):
        changed = edited(shoot, n)
        begun = time.perf_counter()
        ask(changed)
        taken.append(time.perf_counter() - begun)
    return taken


def main(arguments: Sequence[str] | None = None) -> int:
    """Make, measure, print."""
    parser = argparse.ArgumentParser(
        prog="python -m tests.bench.bench_missing", description=(__doc__ or "").split("\n\n")[1]
    )
    parser.add_argument("--takes", type=int, default=200)
    parser.add_argument("--minutes", type=float, default=10.0, help="length of the song")
    parser.add_argument("--needs", type=int, default=60)
    parser.add_argument("--marks", type=int, default=300)
    parser.add_argument("--count", type=int, default=30, help="edits")
    chosen = parser.parse_args(arguments)
    load = f", load {os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else ""
    print(f"Python {platform.python_version()}, {os.cpu_count()} cores{load}")
    shoot = planned(large_shoot(chosen.takes, chosen.minutes), chosen.needs, chosen.marks)
    base_s = statistics.median(timed(plain_count, shoot, chosen.count))
    passes = len(still_missing(shoot))
    print(f"{chosen.takes} takes, {chosen.needs} needs, {chosen.marks} marks: {passes} passes are missing")
    print(f"a plain count takes {base_s * 1e3:.1f} ms")
    print(f"{'':<24}{'median':>9}{'worst':>9}{'ratio':>8}{'over 0.2 s':>14}")
    for name, ask in (
        ("still missing", still_missing),
        ("needs bar by bar", subject_bars),
        ("coverage", coverage),
    ):
        taken = timed(ask, shoot, chosen.count)
        middle, late = statistics.median(taken), sum(one > AIM_S for one in taken)
        print(
            f"{name:<24}{middle * 1e3:>9.1f}{max(taken) * 1e3:>9.1f}{middle / base_s:>8.1f}"
            f"{late:>8} of {len(taken)}"
        )
    return 0


if __name__ == "__main__":
    sys.exit(main())
