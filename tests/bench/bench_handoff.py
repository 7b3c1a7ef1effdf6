"""How quickly a hand-off is written: ``python -m tests.bench.bench_handoff [--takes 200]``.

An invented evening of mixed rates is written as a timeline, as event lists and as tables, each with its
reading back, and held against writing and reading back the plain JSON report in the same run, as a ratio that
holds on any machine. Media are not touched.

Nothing fails here for being slow: figures are printed, and a person reads them.
"""

import argparse
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from app.handoff.event_list import edl_file
from app.handoff.tables import coverage_table, report_file, take_table
from app.handoff.timeline import otio_file
from tests.app.handoff.large_shoot import large_shoot

RUNS = 5


def spent(work: Callable[[], object]) -> float:
    """Seconds for a run, the middle of several."""
    times = []
    for _ in range(RUNS):
        before = time.perf_counter()
        work()
        times.append(time.perf_counter() - before)
    return statistics.median(times)


def main() -> int:
    """Measure and print; gives the exit status."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--takes", type=int, default=200)
    takes = parser.parse_args().takes
    value = large_shoot(max(1, takes // 2))
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        base = spent(lambda: report_file.write(value, folder / "x.json"))
        print(f"{sum(len(clip.takes) for clip in value.clips)} takes")
        print(f"{'report':12}{base:8.3f} s  1.0 ×")
        for what, work in (
            ("timeline", lambda: otio_file.write(value, folder / "x.otio")),
            ("event lists", lambda: list(edl_file.write(value, folder, "x"))),
            ("takes", lambda: take_table.write(value, folder / "x.csv")),
            ("coverage", lambda: coverage_table.write(value, folder / "y.csv")),
        ):
            seconds = spent(work)
            print(f"{what:12}{seconds:8.3f} s  {seconds / base:.1f} ×")
    return 0


if __name__ == "__main__":
    sys.exit(main())
