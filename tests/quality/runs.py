"""Which clips a run is made of, and running them in processes so that nothing done is lost."""

import json
import os
import sys
import threading
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import replace
from itertools import zip_longest
from multiprocessing import connection, get_context, parent_process
from pathlib import Path

import numpy as np

from tests.quality.judging import Score
from tests.quality.kinds import KINDS
from tests.quality.levels import LEVEL_KIND, STRENGTHS
from tests.quality.refusals import REFUSALS
from tests.quality.scoring import Spec, kept_apart, score
from tests.quality.songs import SongKey
from tests.quality.styles import STYLES

THREADS = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS", "NUMBA_NUM_THREADS")
"""What tells linear algebra how many threads it may take."""
GROUP = 8
"""Clips of one song that a process is given at once: the song is rendered and indexed once for them."""


def strengths_of(kind: str) -> tuple[str, ...]:
    """In what strengths a kind comes."""
    return STRENGTHS if kind == LEVEL_KIND else KINDS[kind].strengths if kind in KINDS else ("-",)


def may_have(key: SongKey, kind: str) -> bool:
    """Whether a song can have a clip of a kind, as far as that is known beforehand."""
    styles = KINDS[kind].styles if kind in KINDS else ()
    return not styles or key.style in styles


def each_kind(keys: Sequence[SongKey], kinds: Sequence[str], seed: int, every: bool) -> list[Spec]:
    """Every kind for every song. Unless ``every``, a song has every second strength of a kind, in turn."""
    found = []
    for turn, key in enumerate(keys):
        for kind in kinds:
            strengths = strengths_of(kind)
            if kind in KINDS and not every and len(strengths) > 1:
                strengths = strengths[turn % 2 :: 2]
            found += [Spec(key, kind, strength, seed) for strength in strengths if may_have(key, kind)]
    return found


def balanced(count: int, seed: int, song_seed: int, short: bool, kinds: Sequence[str] = ()) -> list[Spec]:
    """About ``count`` clips over styles, songs and kinds, a third of them without the song.

    Unless ``short``, a fourth of the songs is of whole length, with half as many clips, and one clip in 250
    is of the long kinds.
    """
    rng = np.random.default_rng((seed, song_seed, count))
    turns = max(1, round(count / len(STYLES) / 80))
    keys: list[SongKey] = []
    for turn in range(turns):
        for place, style in enumerate(STYLES):
            whole = not short and (place + turn) % 4 == 3
            name = f"{style}-{song_seed + 10 * turn}" + ("" if whole else "-short")
            keys += [SongKey.named(name)] * (1 if whole else 2)
    long = [kind for kind in KINDS if KINDS[kind].long]
    usual = [kind for kind in KINDS if kind not in long and (not kinds or kind in kinds)]
    none = [kind for kind in REFUSALS if not kinds or kind in kinds]
    found: list[Spec] = []
    seen: Counter[tuple[SongKey, str, str]] = Counter()
    rare = 0 if short or kinds else count // 250
    for some, number in ((usual, count - count // 3 - rare), (none, count // 3), (long, rare)):
        for place, kind in enumerate(some):
            fitting = [key for key in keys if may_have(key, kind)]
            order = [fitting[at] for at in rng.permutation(len(fitting))]
            strengths, first = strengths_of(kind), int(rng.integers(1 << 20))
            for turn in range(number * (place + 1) // len(some) - number * place // len(some)):
                key, strength = order[turn % len(order)], strengths[(first + turn) % len(strengths)]
                if kind in long:
                    key = replace(key, short=True)
                found.append(Spec(key, kind, strength, seed + seen[key, kind, strength]))
                seen[key, kind, strength] += 1
    return found


def attempt(spec: Spec, baselines: bool = False) -> Score | None:
    """Score one clip; an engine that falls over has missed it, and the note says how."""
    try:
        return score(spec, baselines)
    except Exception as error:  # the board goes on, whatever the engine does
        failed = Score(
            spec.name, spec.key.name, spec.kind, spec.strength, kept_apart(spec), takes=1, missed=1
        )
        failed.notes.append(f"CRASH {type(error).__name__}: {error}")
        return failed


def _attempt_all(group: Sequence[Spec], baselines: bool) -> list[Score | None]:
    return [attempt(spec, baselines) for spec in group]


def _end_with_parent() -> None:
    """End this process as soon as the one that started it is gone, however it went."""
    parent = parent_process()

    def watch() -> None:
        if parent is not None:
            connection.wait([parent.sentinel])
            os._exit(1)

    threading.Thread(target=watch, daemon=True).start()


def run(todo: Sequence[Spec], workers: int, out: Path | None = None, baselines: bool = False) -> list[Score]:
    """Score clips in so many processes.

    With ``out``, every result is added to that file as it comes, and clips it already has are not made again;
    the answer is then all the file has.
    """
    done = names_in(out) if out else set()
    todo = [spec for spec in todo if spec.name not in done]
    groups = _groups(todo, workers)
    begun, made = time.perf_counter(), 0
    results: list[Score] = []
    for group, part in _parts(groups, workers, baselines):
        made += len(group)
        results += [one for one in part if one is not None]
        if out:
            _append(out, group, part)
        print(f"\r{made} of {len(todo)} clips, {time.perf_counter() - begun:.0f} s ", end="", file=sys.stderr)
    print(file=sys.stderr)
    return read(out) if out else results


def _groups(todo: Sequence[Spec], workers: int) -> list[list[Spec]]:
    """Groups of one song each; about ``workers`` songs take turns, so that none is rendered twice."""
    by_song: dict[SongKey, list[Spec]] = {}
    for spec in todo:
        by_song.setdefault(spec.key, []).append(spec)
    lanes: list[list[list[Spec]]] = [[] for _ in range(workers)]
    for specs in by_song.values():
        shortest = min(lanes, key=len)
        shortest += [specs[start : start + GROUP] for start in range(0, len(specs), GROUP)]
    return [group for turn in zip_longest(*lanes) for group in turn if group is not None]


def _parts(
    groups: Sequence[Sequence[Spec]], workers: int, baselines: bool
) -> Iterator[tuple[Sequence[Spec], list[Score | None]]]:
    if workers < 2:
        for group in groups:
            yield group, _attempt_all(group, baselines)
        return
    pool = ProcessPoolExecutor(workers, get_context("spawn"), _end_with_parent)
    before = {name: os.environ.get(name) for name in THREADS}
    os.environ.update(dict.fromkeys(THREADS, "1"))  # for the processes that start; this one has its libraries
    try:
        jobs = {pool.submit(_attempt_all, group, baselines): group for group in groups}
        for job in as_completed(jobs):
            yield jobs[job], job.result()
    finally:
        pool.shutdown(cancel_futures=True)
        # Whoever starts a process later is to get what this one has.
        for name, value in before.items():
            if value is None:
                os.environ.pop(name, None)
            else:
                os.environ[name] = value


def _append(out: Path, group: Sequence[Spec], part: Sequence[Score | None]) -> None:
    """One line a clip; one that the song cannot have is named only."""
    broken = out.exists() and out.read_bytes()[-1:] not in (b"", b"\n")
    with out.open("a", encoding="utf-8") as file:
        file.write("\n" if broken else "")  # after a run that was killed while it wrote
        for spec, one in zip(group, part, strict=True):
            values = {"name": spec.name} if one is None else one.as_dict()
            file.write(json.dumps(values, default=float) + "\n")


def _lines(path: Path) -> Iterator[dict[str, object]]:
    if path.exists():
        for line in path.read_text("utf-8").splitlines():
            try:
                yield json.loads(line)
            except json.JSONDecodeError:
                continue  # the last line of a run that was killed


def names_in(path: Path) -> set[str]:
    """The clips a file of results has."""
    return {str(values["name"]) for values in _lines(path)}


def read(path: Path) -> list[Score]:
    """The results in a file, the last of each clip."""
    return list({str(v["name"]): Score.read(v) for v in _lines(path) if "kind" in v}.values())
