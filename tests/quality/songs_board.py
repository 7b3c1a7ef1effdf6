"""The board of several songs: ``python -m tests.quality.songs_board``.

Every clip of a heap is held against all songs. Told are takes placed rightly, in doubt and missed, and WRONG
ones: placed on another song, elsewhere in their own, or where no song runs.
"""

import argparse
import statistics
import sys
import time
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from app.engine.references import Shelf
from audio.placement.align import Hearing
from audio.placement.answer import Placement, PlaceVerdict, TakeFit
from audio.progress import never
from audio.references.held import held_against
from audio.references.reference import Reference
from audio.references.settled import settled
from tests.quality.scene import Take
from tests.quality.song_heaps import HEAPS, HeapClip, heap_clips, songs_of

OFF_S = 0.04
"""A placed take further off than a frame is wrong (s)."""


@dataclass(slots=True)
class Tally:
    """What came of takes."""

    count: Counter[str] = field(default_factory=Counter)
    errors_s: list[float] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    seconds: float = 0.0

    def told(self, name: str) -> str:
        """A line of the table."""
        words = ", ".join(f"{self.count[word]} {word}" for word in ("right", "doubt", "missed", "WRONG"))
        off = statistics.median(self.errors_s) * 1000 if self.errors_s else float("nan")
        return f"{name}: {words}; median error {off:.3f} ms; {self.seconds:.0f} s"

    def add(self, other: "Tally") -> None:
        """Count another's along."""
        self.count += other.count
        self.errors_s += other.errors_s
        self.notes += other.notes
        self.seconds += other.seconds


def answers_on(sound: Hearing, references: Sequence[Reference], shelf: Shelf) -> dict[str, Placement]:
    """What a clip is of each song."""
    keys = [one.key for one in references]
    held = held_against(sound, keys, shelf.index, {}, never)
    placements = {key: one.placement for key, one in held.items()}
    return settled(lambda: sound, placements, references, shelf.composite, never)


def judged(clip: HeapClip, found: Mapping[str, Placement], truths: Iterable[tuple[str, Take]]) -> Tally:
    """Hold answers against truths, both in song time."""
    out = Tally()
    left = [(song, fit) for song, placement in found.items() for fit in placement.takes]
    for song, take in truths:
        mine = [(at, fit) for at, fit in left if _over_s(fit, take) > 0.5]
        placed = [(at, fit) for at, fit in mine if fit.verdict is PlaceVerdict.PLACED]
        left = [one for one in left if one not in mine]
        right = [fit for at, fit in placed if at == song and abs(_off_s(fit, take)) < OFF_S]
        wrong = [(at, fit) for at, fit in placed if at != song or abs(_off_s(fit, take)) >= OFF_S]
        for at, fit in wrong:
            out.notes.append(f"WRONG {clip.name}: of {song}, placed on {at}, {_off_s(fit, take):+.3f} s off")
        if wrong:
            out.count["WRONG"] += 1
        elif right:
            out.count["right"] += 1
            out.errors_s += [abs(_off_s(fit, take)) for fit in right]
        else:
            out.count["doubt" if mine else "missed"] += 1
            why = [f"{at}: {fit.reason.code if fit.reason else '-'} ({fit.strength:.0f})" for at, fit in mine]
            out.notes.append(f"{'doubt' if mine else 'missed'} {clip.name}: of {song}; {'; '.join(why)}")
    for at, fit in left:
        if fit.verdict is PlaceVerdict.PLACED:
            out.count["WRONG"] += 1
            out.notes.append(f"WRONG {clip.name}: placed on {at} where no song runs")
    return out


def _over_s(fit: TakeFit, take: Take) -> float:
    return min(fit.clip_end_s, take.clip_end_s) - max(fit.clip_start_s, take.clip_start_s)


def _off_s(fit: TakeFit, take: Take) -> float:
    start, end = max(fit.clip_start_s, take.clip_start_s), min(fit.clip_end_s, take.clip_end_s)
    return fit.line.song_time((start + end) / 2) - take.song_at((start + end) / 2)


def heap(name: str, seed: int, count: int) -> Tally:
    """Place a heap."""
    songs = songs_of(name, seed)
    references = [Reference(key, key) for key in songs]
    shelf = Shelf({key: song.master for key, song in songs.items()})
    out = Tally()
    for clip in heap_clips(name, seed, count):
        begun = time.perf_counter()
        found = answers_on(Hearing(clip.example.sound), references, shelf)
        one = judged(clip, found, clip.takes)
        one.seconds = time.perf_counter() - begun
        out.add(one)
    return out


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command; 1 if anything was placed wrong, else 0."""
    parser = argparse.ArgumentParser(prog="python -m tests.quality.songs_board", description=__doc__)
    parser.add_argument("--heaps", default=",".join(HEAPS), help="comma-separated; empty for none")
    parser.add_argument("--clips", type=int, default=60, help="in each heap")
    parser.add_argument("--seed", type=int, default=1)
    chosen = parser.parse_args(arguments)
    whole = Tally()
    for name in filter(None, chosen.heaps.split(",")):
        one = heap(name, chosen.seed, chosen.clips)
        print(one.told(name), *one.notes, sep="\n  ", flush=True)
        whole.add(one)
    return int(whole.count["WRONG"] > 0)


if __name__ == "__main__":
    sys.exit(main())
