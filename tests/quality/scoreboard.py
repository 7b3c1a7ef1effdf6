"""The scoreboard of placement: ``python -m tests.quality.scoreboard``.

Songs with known truth, takes of them simulated as a rehearsal would spoil them, each placed by the engine and
judged. Songs and a room marked as kept apart are reported by themselves: nobody tunes the engine on them.
"""

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path

from tests.quality.judging import Score
from tests.quality.kept_run import changes, save
from tests.quality.kinds import KINDS
from tests.quality.levels import LEVEL_KIND
from tests.quality.refusals import REFUSALS
from tests.quality.runs import balanced, each_kind, read, run
from tests.quality.scoring import Spec, example, score
from tests.quality.songs import SongKey, library
from tests.quality.tally import levels, outcome, table
from tests.quality.totals import totals

BASELINE = Path(__file__).with_name("baseline.json")


def report(scores: Sequence[Score]) -> str:
    """Tables by kind and by style, those kept apart by themselves, then every clip that went wrong."""
    graded = [s for s in scores if s.kind == LEVEL_KIND]
    usual = sorted((s for s in scores if s.kind != LEVEL_KIND), key=lambda s: _ORDER.index(s.kind))
    open_, apart = ([s for s in usual if s.kept_apart is side] for side in (False, True))
    parts = []
    if open_:
        parts += ["BY KIND", table(open_, lambda s: s.kind), "BY SONG", table(open_, _style)]
    if apart:
        parts += ["KEPT APART (not for tuning)", table(apart, _style)]
    if graded:
        parts.append(levels(graded))
    parts += [
        f"{outcome(s)} {s.name}\n    " + "\n    ".join(s.notes)
        for s in scores
        if s.notes and not s.kept_apart
    ]
    parts += [f"{outcome(s)} {s.name} (kept apart)" for s in scores if s.notes and s.kept_apart]
    if usual:
        parts += ["ALL TOGETHER", totals(usual)]
    clips, engine = sum(s.clip_s for s in scores), sum(s.engine_s for s in scores)
    parts.append(
        f"{len(scores)} clips, {clips / 3600:.1f} h; engine {engine:.0f} s, {clips / max(engine, 1e-9):.0f} x"
    )
    return "\n".join(parts)


_ORDER = [*KINDS, *REFUSALS]


def _style(score: Score) -> str:
    """Composed songs go by their style, short ones by themselves; others by their name."""
    style, _, rest = score.song.partition("-")
    return style + ("" if rest.endswith("short") else ", whole") if rest else score.song


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
    parser.add_argument("--songs", type=int, default=12, help="how many composed songs")
    parser.add_argument("--short", action="store_true", help="songs of about a minute")
    parser.add_argument("--kinds", default="", help="comma-separated; default all but the levels")
    parser.add_argument("--levels", action="store_true", help="the table of levels only")
    parser.add_argument("--every", action="store_true", help="every strength of every kind and song")
    parser.add_argument("--count", type=int, default=0, help="about so many clips, a third without the song")
    parser.add_argument(
        "--out", type=Path, help="add results to this file as they come; go on where it stops"
    )
    parser.add_argument("--report", type=Path, help="only print the tables of such a file")
    parser.add_argument("--baselines", action="store_true", help="what simpler methods make of each take")
    parser.add_argument("--seed", type=int, default=1, help="of the clips")
    parser.add_argument("--song-seed", type=int, default=1, help="of the composed songs")
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--music", type=Path, help="a folder of songs (*.ogg, beats in *.json)")
    parser.add_argument("--only-music", action="store_true", help="leave the composed songs out")
    parser.add_argument("--save", action="store_true", help="keep this run to compare later ones with")
    parser.add_argument("--replay", default="", help="song:kind:strength:seed of one clip")
    chosen = parser.parse_args(arguments)
    if chosen.report:
        scores = read(chosen.report)
        print(report(scores), changes(scores, BASELINE), sep="\n")
        return int(any(s.wrong for s in scores))
    keys = library(0 if chosen.only_music else chosen.songs, chosen.music, chosen.song_seed, chosen.short)
    if chosen.replay:
        replay(chosen.replay, keys)
        return 0
    kinds = chosen.kinds.split(",") if chosen.kinds else []
    if unknown := set(kinds) - {*KINDS, *REFUSALS, LEVEL_KIND}:
        parser.error(
            f"no such kind: {', '.join(sorted(unknown))}; there are {', '.join([*KINDS, *REFUSALS])}"
        )
    if chosen.count:
        todo = balanced(chosen.count, chosen.seed, chosen.song_seed, chosen.short, kinds)
    else:
        usual = [kind for kind in _ORDER if chosen.every or not (kind in KINDS and KINDS[kind].long)]
        kinds = [LEVEL_KIND] if chosen.levels else kinds or usual
        todo = each_kind(keys, kinds, chosen.seed, chosen.every)
    scores = run(todo, chosen.workers, chosen.out, chosen.baselines)
    ours = [s for s in scores if not any(key.name == s.song and key.path for key in keys)]
    print(report(scores))
    print(changes(ours, BASELINE))
    if chosen.save:
        save(ours, BASELINE)
    return int(any(s.wrong for s in scores))


if __name__ == "__main__":
    sys.exit(main())
