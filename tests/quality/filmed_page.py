"""The window's own slate page, filmed by simulated cameras and placed: how far off, and what is wrong.

``python -m tests.quality.filmed_page --clips N --seed S`` has the real page painted while its device goes,
films what was painted as a screen would show it, and places the clip by its pictures alone. ``--late R`` is
how many refreshes after painting the screen shows a picture; the page counts on `LATE` of them.
Seeds below 1000 were looked at while this was written.
"""

import argparse
import os
import sys
import tempfile
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from functools import partial
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import numpy as np
from PySide6.QtWidgets import QApplication
from shiboken6 import delete

from app.window.jobs import Jobs
from app.window.slate.slate import LATE
from tests.app.window.slate.slate_stage import DIGEST, Stage, slate_session
from tests.quality.silent_board import Outcome, any_shot, placed_outcome
from tests.quality.slate_camera import PAGE, Floats, Shot, Shown, film

REFRESH = 60.0


def page_events(stage: Stage, shot: Shot, late: float = LATE) -> tuple[Shown, float]:
    """What a screen shows, from real time ``shot.waits_s`` on for ``shot.page_s``; and the song time (s) at
    that moment.

    The stage's page has the size of `PAGE`; the song starts to play with the first picture.
    """
    stage.page.resize(PAGE[1], PAGE[0])
    out: list[tuple[float, Callable[[], Floats] | None]] = [(0.0, partial(_light, stage.picture()))]
    stage.slate.toggle()
    begin_s: float | None = None
    before = stage.picture()
    for number in range(round(shot.page_s * REFRESH)):
        stage.go(1 / REFRESH)
        painted_s = shot.waits_s + number / REFRESH
        song_s = stage.take.song_s()
        if begin_s is None and song_s is not None:
            begin_s = song_s - float(shot.playback) * number / REFRESH
        picture = stage.picture()
        if not np.array_equal(picture, before):
            out.append((painted_s + late / REFRESH, partial(_light, picture)))
            before = picture
    stage.slate.toggle()
    out.append((shot.waits_s + shot.page_s, None))
    assert begin_s is not None
    return out, begin_s


def _light(grey: "np.ndarray[tuple[int, ...], np.dtype[np.uint8]]") -> Floats:
    return np.asarray(0.02 + 0.93 * (grey / 255.0) ** 2.2)


def filmed(stage: Stage, shot: Shot, kind: str, path: Path, late: float = LATE) -> Outcome:
    """Film the page and place the clip."""
    showing, song_s = page_events(stage, shot, late)
    shot = replace(shot, song_s=song_s)
    film(path, shot, showing)
    return placed_outcome(kind, shot, path, digest=DIGEST + "0" * 54)


def main() -> int:
    """Print what became of the clips; gives how many were placed wrongly."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--clips", type=int, default=10)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--late", type=float, default=LATE)
    chosen = parser.parse_args()
    app = QApplication(sys.argv[:1])
    rng = np.random.default_rng(chosen.seed)
    out = []

    def wait(so: Callable[[], bool]) -> None:
        while not so():
            app.processEvents()

    with tempfile.TemporaryDirectory() as folder:
        jobs = Jobs()
        session = slate_session(Path(folder))
        stage = Stage(session, jobs, wait)
        for number in range(chosen.clips):
            _, shot = any_shot(rng, number)
            camera, file = ((120, Fraction(120)), (120, Fraction(24)), (25, Fraction(25)))[number % 3]
            shot = replace(
                shot,
                camera=Fraction(camera),
                file=file,
                playback=Fraction(1),
                song="9F3C01AA",
                takes=(1,),
                page_s=3.0,
                refresh=REFRESH,
            )
            kind = f"{camera} as {float(file):g}"
            out.append(filmed(stage, shot, kind, Path(folder) / "clip.mp4", chosen.late))
            print(f"  {number:3} {out[-1]}", flush=True)
        stage.slate.end()
        jobs.close()
        delete(jobs)
    offs = [1000 * one.off_s for one in out if np.isfinite(one.off_s)]
    wrong = sum(one.wrong for one in out)
    placed = sum(one.verdict == "placed" for one in out)
    print(
        f"{placed} of {len(out)} placed, {wrong} wrongly; "
        f"off by {np.median(offs):.1f} ms, at most {max(offs):.1f}"
    )
    return wrong


if __name__ == "__main__":
    sys.exit(main())
