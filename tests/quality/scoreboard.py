"""The scoreboard of placement: ``python -m tests.quality.scoreboard``.

Songs with known truth, takes of them simulated as a rehearsal would spoil them, each placed by the engine and
judged. Songs and a room marked as kept apart are reported by themselves: nobody tunes the engine on them.
"""

import argparse
import os
import sys
import time
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from pathlib import Path

from tests.quality.judging import Score
from tests.quality.kinds import KINDS
from tests.quality.levels import LEVEL_KIND, STRENGTHS
from tests.quality.refusals import REFUSALS
from tests.quality.scoring import Spec, example, kept_apart, score
from tests.quality.songs import SongKey, library
from tests.quality.tally import changes, levels, outcome, save, table

BASELINE = Path(__file__).with_name("baseline.json")


def specs(keys: Sequence[SongKey], kinds: Sequence[str], seed: int, every: bool) -> list[Spec]:
    """All clips of a run. Unless ``every``, a song has every second strength of a kind, in turn."""
    found = []
    for turn, key in enumerate(keys):
        for kind in kinds:
            strengths = (
                STRENGTHS if kind == LEVEL_KIND else KINDS[kind].strengths if kind in KINDS else ("-",)
            )
            if kind in KINDS and not every and len(strengths) > 1:
                strengths = strengths[turn % 2 :: 2]
            found += [Spec(key, kind, strength, seed) for strength in strengths]
    return found


def attempt(spec: Spec) -> Score | None:
    """Score one clip; an engine that falls over has missed it, and the note says how."""
    try:
        return score(spec)
    except Exception as error:  # the board goes on, whatever the engine does
        failed = Score(
            spec.name, spec.key.name, spec.kind, spec.strength, kept_apart(spec), takes=1, missed=1
        )
        failed.notes.append(f"CRASH {type(error).__name__}: {error}")
        return failed


def _attempt_all(group: Sequence[Spec]) -> list[Score]:
    return [result for result in map(attempt, group) if result is not None]


def run(todo: Sequence[Spec], workers: int) -> list[Score]:
    """Score clips in so many processes; those of one song together, to render and index it once."""
    groups = [
        [spec for spec in todo if spec.key == key][start : start + 10]
        for key in dict.fromkeys(spec.key for spec in todo)
        for start in range(0, sum(spec.key == key for spec in todo), 10)
    ]
    begun, done = time.perf_counter(), 0
    for name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
        os.environ[name] = "1"  # for the processes about to start; this one has loaded its libraries
    results: list[Score] = []
    pool = ProcessPoolExecutor(workers, get_context("spawn")) if workers > 1 else None
    try:
        for group, part in zip(groups, (pool.map if pool else map)(_attempt_all, groups), strict=True):
            results += part
            done += len(group)
            print(
                f"\r{done} of {len(todo)} clips, {time.perf_counter() - begun:.0f} s ",
                end="",
                file=sys.stderr,
            )
    finally:
        if pool:
            pool.shutdown(cancel_futures=True)
    print(file=sys.stderr)
    return results


def report(scores: Sequence[Score]) -> str:
    """Tables by kind and by song, those kept apart by themselves, then every clip that went wrong."""
    graded = [s for s in scores if s.kind == LEVEL_KIND]
    usual = [s for s in scores if s.kind != LEVEL_KIND]
    open_, apart = ([s for s in usual if s.kept_apart is side] for side in (False, True))
    parts = []
    if open_:
        parts += ["BY KIND", table(open_, lambda s: s.kind), "BY SONG", table(open_, lambda s: s.song)]
    if apart:
        parts += ["KEPT APART (not for tuning)", table(apart, lambda s: s.song)]
    if graded:
        parts.append(levels(graded))
    parts += [
        f"{outcome(s)} {s.name}\n    " + "\n    ".join(s.notes)
        for s in scores
        if s.notes and not s.kept_apart
    ]
    parts += [f"{outcome(s)} {s.name} (kept apart)" for s in scores if s.notes and s.kept_apart]
    clips, engine = sum(s.clip_s for s in scores), sum(s.engine_s for s in scores)
    parts.append(
        f"{len(scores)} clips, {clips / 3600:.1f} h; engine {engine:.0f} s, {clips / max(engine, 1e-9):.0f} x"
    )
    return "\n".join(parts)


def replay(name: str, keys: Sequence[SongKey]) -> None:
    """Make one clip again, tell its truth, the engine's answer and the verdict on it."""
    song_name, kind, strength, seed = name.rsplit(":", 3)
    key = next((key for key in keys if key.name == song_name), None) or SongKey.named(song_name)
    spec = Spec(key, kind, strength, int(seed))
    clip = example(spec, key.load())
    if clip is None:
        print("this song has no such clip")
        return
    print(f"clip of {clip.sound.samples.shape[1] / clip.sound.rate:.2f} s from {clip.sound.start_s} s")
    for take in clip.takes:
        print(take)
    result = score(spec)
    print(*(f"{field}: {value}" for field, value in (result.as_dict() if result else {}).items()), sep="\n")


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command; 1 if anything was placed wrong, else 0."""
    parser = argparse.ArgumentParser(prog="python -m tests.quality.scoreboard", description=__doc__)
    parser.add_argument("--songs", type=int, default=8, help="how many composed songs")
    parser.add_argument("--short", action="store_true", help="songs of about a minute")
    parser.add_argument("--kinds", default="", help="comma-separated; default all but the levels")
    parser.add_argument("--levels", action="store_true", help="the table of levels only")
    parser.add_argument("--every", action="store_true", help="every strength of every kind for every song")
    parser.add_argument("--seed", type=int, default=1, help="of the clips")
    parser.add_argument("--song-seed", type=int, default=1, help="of the composed songs")
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--music", type=Path, help="a folder of songs (*.ogg, beats in *.json)")
    parser.add_argument("--only-music", action="store_true", help="leave the composed songs out")
    parser.add_argument("--save", action="store_true", help="keep this run to compare later ones with")
    parser.add_argument("--replay", default="", help="song:kind:strength:seed of one clip")
    chosen = parser.parse_args(arguments)
    keys = library(0 if chosen.only_music else chosen.songs, chosen.music, chosen.song_seed, chosen.short)
    if chosen.replay:
        replay(chosen.replay, keys)
        return 0
    kinds = (
        [LEVEL_KIND] if chosen.levels else chosen.kinds.split(",") if chosen.kinds else [*KINDS, *REFUSALS]
    )
    if unknown := set(kinds) - {*KINDS, *REFUSALS, LEVEL_KIND}:
        parser.error(
            f"no such kind: {', '.join(sorted(unknown))}; there are {', '.join([*KINDS, *REFUSALS])}"
        )
    scores = run(specs(keys, kinds, chosen.seed, chosen.every), chosen.workers)
    ours = [s for s in scores if any(key.name == s.song and not key.path for key in keys)]
    print(report(scores))
    print(changes(ours, BASELINE))
    if chosen.save:
        save(ours, BASELINE)
    return int(any(s.wrong for s in scores))


if __name__ == "__main__":
    sys.exit(main())
