"""The corpus of bad files, alone and together: ``python -m tests.trouble.corpus [--record] [--some N]``.

Each file is read in a worker process, whose peak of memory is measured; then all are placed with a good clip
among them. It prints what is not as expected, the largest worker and the slowest file.
"""

import argparse
import hashlib
import json
import re
import shutil
import sys
import tempfile
import time
from pathlib import Path

from app.engine import tasks
from app.engine.workers import Progress, Stop, Workers
from app.model.answers import Answer
from app.model.document.verdict import Verdict
from app.model.reasons import sentence
from audio.files.media import Sound
from tests.audio.engine_songs import camera_file, song_file
from tests.trouble.bad_files import KINDS
from tests.trouble.damaged_files import EXPECTED, all_kinds, damaged_kinds, expected

BEGINNING = 24
"""Letters of a sentence that are compared: behind them come figures and names."""
BROKE = "The reader broke."
TRACEBACK = "Nobody expected"


def stem(text: str) -> str:
    """The beginning of a sentence, up to its first figure.

    >>> stem("The file is cut off after 1.2 s: copy it again.")
    'The file is cut off afte'
    """
    return re.split(r"[0-9(:]", text)[0][:BEGINNING].rstrip()


def read_apart(path: Path, _: None) -> tuple[str, str, float, int]:
    """What is said of a file, how long that took (s) and the process's memory (bytes)."""
    from tests.trouble.test_bad_files import read

    _reset_peak()
    begun = time.perf_counter()
    try:
        found = read(path)
    except Exception as error:
        found = f"{TRACEBACK}: {error!r}"
    took = time.perf_counter() - begun
    if isinstance(found, Sound):
        return "read", " ".join(found.warnings), took, _peak_bytes()
    return "refused", found, took, _peak_bytes()


def _reset_peak() -> None:
    try:
        Path("/proc/self/clear_refs").write_text("5")  # Linux, proc(5)
    except OSError:
        return


def _peak_bytes() -> int:
    try:
        status = Path("/proc/self/status").read_text("ascii")
    except OSError:
        return 0
    found = re.search(r"VmHWM:\s+(\d+) kB", status)
    return int(found[1]) * 1000 if found else 0


def _tools(stop: Stop, progress: Progress) -> None:
    return None


def _make_tools() -> object:
    return _tools


def alone(paths: list[Path]) -> list[tuple[str, str, float, int]]:
    """Each file by itself, in a worker process."""
    out: dict[int, tuple[str, str, float, int]] = {}

    def broken(path: Path) -> tuple[str, str, float, int]:
        return "refused", BROKE, 0.0, 0

    with Workers(_make_tools, workers=2, stop=lambda: False, progress=lambda path, share: None) as workers:  # type: ignore[arg-type]
        workers.each(read_apart, paths, lambda number, told: out.update({number: told}), broken, broken)
    return [out[number] for number in range(len(paths))]


def digests(paths: list[Path]) -> list[str]:
    """What tells whether a clip was changed."""
    return [hashlib.sha256(path.read_bytes()).hexdigest() if path.is_file() else "" for path in paths]


def together(folder: Path, paths: list[Path]) -> str:
    """All placed at once, a good clip among them; what is wrong, empty where nothing is."""
    song = tasks.song_from_file(song_file(folder / "song.wav"))
    good = camera_file(folder / "good.mov", (12.0, 10.0))
    answers: dict[Path, Answer] = {}
    tasks.place_clips(
        [song],
        [*paths, good],
        answered=lambda one: answers.update({Path(one.media.path): one}),
        use_cache=False,
    )
    lies = answers[good].takes[0].line.song_time(0.0) if answers[good].takes else float("nan")
    if answers[good].verdict is not Verdict.PLACED or abs(lies - 12.0) > 1e-4:
        return f"the good clip lies at {lies} s: {sentence(answers[good].reason)}"
    placed = [path.name for path, one in answers.items() if path != good and one.verdict is Verdict.PLACED]
    return f"placed though they hold no song: {placed}" if placed else ""


def main() -> int:
    """Run the corpus; gives the exit status."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--record", action="store_true", help="write down what is said, to be read through")
    parser.add_argument("--some", type=int, default=1, metavar="N", help="one kind of N")
    parser.add_argument("--alone", action="store_true", help="leave out placing them together")
    options = parser.parse_args()
    folder = Path(tempfile.mkdtemp(prefix="corpus-"))
    named = [(kind.name, kind.make) for kind in KINDS] + list(damaged_kinds())
    named = named[:: options.some]
    paths = []
    for number, (_, maker) in enumerate(named):
        (folder / str(number)).mkdir()
        paths.append(maker(folder / str(number)))
    before = digests(paths)
    told = alone(paths)
    if options.record:
        found = {name: [one[0], stem(one[1])] for (name, _), one in zip(named, told, strict=True)}
        new = {name: found[name] for name, _ in damaged_kinds()}
        EXPECTED.write_text(json.dumps(new, indent=0, ensure_ascii=False) + "\n", "utf-8")
    wrong = 0
    known = {kind.name: kind for kind in all_kinds()}
    for (name, _), (verdict, said, _, _) in zip(named, told, strict=True):
        kind = known.get(name)
        as_wished = kind is not None and (verdict == "read") is kind.readable and kind.says in said
        if not as_wished or "Errno" in said or (verdict == "refused" and not said.endswith(".")):
            wrong += 1
            print(f"{name}: {verdict}: {said}")
    print(f"{len(named)} kinds, {len(expected())} recorded, {wrong} not as expected")
    largest, slowest = max(one[3] for one in told), max(one[2] for one in told)
    print(f"largest worker {largest / 1e6:.0f} MB, slowest file {slowest:.1f} s")
    if not options.alone:
        trouble = together(folder, paths)
        print(trouble or "together: the good clip lies where it lies alone")
        wrong += bool(trouble)
    changed = sum(one != two for one, two in zip(before, digests(paths), strict=True))
    print(f"{changed} of {len(paths)} files changed")
    shutil.rmtree(folder, ignore_errors=True)
    return 1 if wrong or changed else 0


if __name__ == "__main__":
    sys.exit(main())
