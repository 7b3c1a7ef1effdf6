"""What an evening's work costs: ``python -m tests.bench.bench_shoot [--clips 40] [--minutes 4] [--long]``.

A shoot is made in a temporary folder, taken through the engine step by step, and then as the command does it.
Beside it runs the textbook way, one phase correlation of a whole clip with the whole song (the quickest of
several runs) on the same 8 kHz signals in the same run, so that the ratios hold on any machine. That way
finds neither drift nor a restart nor a doubt: it measures cost, not quality. The whole shoot is held against
only decoding its sound on all cores, and a second run against the first. Last, the start of the window is
held against that of an empty one.

Nothing fails here for being slow: figures are printed, and a person reads them.
"""

import argparse
import multiprocessing
import os
import platform
import shutil
import sys
import tempfile
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import Any

from tests.bench.spent import Spent, rows_text

EMPTY = """
from PySide6.QtWidgets import QApplication, QMainWindow
application = QApplication([])
window = QMainWindow()
window.show()
application.processEvents()
"""
OURS = """
import sys
from pathlib import Path
from PySide6.QtCore import QSettings
from PySide6.QtWidgets import QApplication
from app.engine import tasks
from app.window.frame.folders import Folders
from app.window.handoff.hand_over import hand_over
from app.window.frame.main_window import MainWindow
folder = Path(sys.argv[1])
application = QApplication([])
application.setStyle("Fusion")
settings = QSettings(str(folder / "settings.ini"), QSettings.Format.IniFormat)
folders = Folders(folder / "pictures", folder / "unsaved")
window = MainWindow(tasks, hand_over, settings, folders=folders)
window.show()
application.processEvents()
window.close()
"""
STARTS = 5


def alone(work: Callable[..., Any], *arguments: object) -> Any:
    """Run a function in a fresh process, whose memory is then its own."""
    with ProcessPoolExecutor(1, multiprocessing.get_context("spawn")) as pool:
        return pool.submit(work, *arguments).result()


def make(folder: Path, clips: int, minutes: float, megabits: float) -> None:
    """Make the song and the clips."""
    from tests.bench.made_shoot import make_shoot

    make_shoot(folder, clips, minutes, megabits)


def step_by_step(folder: Path, most: int) -> list[Spent]:
    """Every step of the engine on up to ``most`` clips, one process, one clip after the other."""
    from tests.bench.steps import steps

    return steps(folder, most)


def longer(folder: Path) -> list[Spent]:
    """What placing costs for each minute of clips of several lengths."""
    from tests.bench.steps import growth

    return growth(folder, (4, 16, 60))


def decoded(path: Path) -> int:
    """Decode the sound of a clip and do nothing with it; the samples there were."""
    import av

    with av.open(str(path)) as container:
        return sum(frame.samples for frame in container.decode(audio=0))


def decode_only_s(folder: Path, workers: int | None) -> float:
    """Seconds for decoding the sound of every clip on all cores, from nothing to the last one."""
    import time

    begun = time.perf_counter()
    with ProcessPoolExecutor(workers or os.cpu_count(), multiprocessing.get_context("spawn")) as pool:
        list(pool.map(decoded, sorted((folder / "clips").iterdir())))
    return time.perf_counter() - begun


def command_s(folder: Path) -> tuple[float, float]:
    """Seconds for the command as a person calls it, and for calling it once more."""
    import subprocess
    import time

    taken = []
    for _ in range(2):
        begun = time.perf_counter()
        subprocess.run(
            [sys.executable, "-m", "app", "place", str(folder / "song.wav"), str(folder / "clips")],
            check=True,
            env={**os.environ, "XDG_CACHE_HOME": str(folder / "cache")},
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        taken.append(time.perf_counter() - begun)
    return taken[0], taken[1]


def three_hours(folder: Path) -> tuple[float, float, float]:
    """Memory (MB) with the song ready, after reading a clip of three hours, and after placing it."""
    from audio.files.media import read_song, read_sound
    from audio.placement.align import place
    from audio.placement.search import SongIndex
    from audio.rate import ENGINE_RATE as RATE

    index = SongIndex.build(read_song(folder / "song.wav", RATE), RATE)
    ready = highest_mb()
    sound = read_sound(folder / "long.mp4", RATE)
    read = highest_mb()
    place(sound, index)
    return ready, read, highest_mb()


def make_long(folder: Path) -> None:
    """Write ``long.mp4``: three hours of two channels, and the song in them."""
    from tests.bench.made_shoot import make_long_clip

    make_long_clip(folder)


def mapped(folder: Path) -> tuple[Any, float]:
    """The song as the command reads it, and this process's memory at its highest (MB)."""
    from app.engine import tasks

    return tasks.song_from_file(folder / "song.wav", use_cache=False), highest_mb()


def whole(folder: Path, song: Any, workers: int | None) -> tuple[float, float, float, str]:
    """The shoot as the command places it.

    Gives the seconds, the megabytes of memory of this process and of the largest worker at their highest, and
    the verdicts. The song comes ready: a child begins with its parent's highest mark, so that a parent which
    had mapped the song would hide what a worker takes.
    """
    import time
    from collections import Counter

    from app.engine import tasks
    from app.model.answers import Answer

    answers: dict[str, Answer] = {}  # comparing clips answers some of them again
    begun = time.perf_counter()
    clips = tasks.find_clips([folder / "clips"])

    def answered(answer: Answer) -> None:
        answers[answer.media.path] = answer

    tasks.place_clips([song], clips, answered=answered, workers=workers, use_cache=False)
    seconds = time.perf_counter() - begun
    counts = Counter(clip.verdict.value for clip in answers.values())
    verdicts = ", ".join(f"{number} {word}" for word, number in counts.most_common())
    return seconds, highest_mb(), highest_mb(of_children=True), verdicts


def highest_mb(of_children: bool = False) -> float:
    """Memory at its highest (MB) of this process, or of the largest child that ended."""
    import resource

    found = resource.getrusage(resource.RUSAGE_CHILDREN if of_children else resource.RUSAGE_SELF).ru_maxrss
    return found * (1 if sys.platform == "darwin" else 1024) / 1e6  # bytes there, kilobytes elsewhere


def start_s(program: str, folder: Path) -> float:
    """Seconds from nothing to a window that is shown: the middle one of several starts."""
    import statistics
    import subprocess
    import time

    taken = []
    for _ in range(STARTS + 1):
        begun = time.perf_counter()
        subprocess.run(
            [sys.executable, "-c", program, str(folder)],
            check=True,
            env={"QT_QPA_PLATFORM": "offscreen", **os.environ},
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        taken.append(time.perf_counter() - begun)
    return statistics.median(taken[1:])  # the first start fills the system's file cache


def main(arguments: Sequence[str] | None = None) -> int:
    """Make, measure, print."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench.bench_shoot")
    parser.add_argument("--clips", type=int, default=40)
    parser.add_argument("--megabits", type=float, default=100.0, help="a second of picture")
    parser.add_argument(
        "--long", action="store_true", help="a clip of three hours too (takes minutes to make)"
    )
    parser.add_argument("--minutes", type=float, default=4.0, help="length of a clip")
    parser.add_argument("--steps", type=int, default=5, help="clips taken step by step")
    parser.add_argument("--workers", type=int, help="processes for the whole shoot (default: one a core)")
    chosen = parser.parse_args(arguments)
    load = f", load {os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else ""
    print(f"Python {platform.python_version()}, {os.cpu_count()} cores{load}")
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        alone(make, folder, chosen.clips, chosen.minutes, chosen.megabits)
        megabytes = sum(path.stat().st_size for path in (folder / "clips").iterdir()) / 1e6
        print(f"{chosen.clips} clips of {chosen.minutes:g} minutes, {megabytes:.0f} MB")
        print(rows_text(alone(step_by_step, folder, chosen.steps)))
        print()
        print(rows_text(alone(longer, folder)))
        song, mapping = alone(mapped, folder)
        seconds, own, others, verdicts = alone(whole, folder, song, chosen.workers)
        recorded = chosen.clips * chosen.minutes * 60
        faster = recorded / seconds
        print(f"\nwhole shoot, its clips read and placed: {seconds:.1f} s, {faster:.0f} times real time")
        print(f"  {seconds / chosen.clips:.2f} s a clip; {verdicts}")
        decoding = decode_only_s(folder, chosen.workers)
        print(f"  only decoding their sound, on all cores: {decoding:.1f} s; ratio {seconds / decoding:.2f}")
        once, again = command_s(folder)
        print(f"  the command: {once:.1f} s, once more: {again:.2f} s, {again / once:.1%} of it")
        print(f"  memory at its highest: {own:.0f} MB, and {others:.0f} MB in the largest worker")
        print(f"  mapping the song before that: {mapping:.0f} MB")
        shutil.rmtree(folder / "clips")
        if chosen.long:
            alone(make_long, folder)
            ready, read, placed = alone(three_hours, folder)
            print("\na clip of three hours, memory at its highest:")
            print(f"  song ready {ready:.0f} MB, clip read {read:.0f} MB, placed {placed:.0f} MB")
        empty, ours = start_s(EMPTY, folder), start_s(OURS, folder)
        print(
            f"\nwindow shown after {ours:.2f} s, an empty one after {empty:.2f} s: {ours / empty:.2f} times"
        )
    return 0


if __name__ == "__main__":
    sys.exit(main())
