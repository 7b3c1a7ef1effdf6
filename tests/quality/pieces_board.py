"""How well playback files and new masters are told: ``python -m tests.quality.pieces_board``.

Songs are ``rock-21`` and such (see `SongKey.named`; ``-short`` behind it is a minute), or files of a folder.
Per stretched file: error of its line at the song's strong onsets, in ms of song (`played_files` tells what is
taken as true), and whether the stated uncertainty holds it. Then what must be refused, and new masters: error
of the map of everything that still exists.
"""

import argparse
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import soxr

from audio.pieces.lives_on import lives_on
from audio.pieces.pieces import pieces_of
from audio.placement.search import SongIndex
from audio.rate import ENGINE_RATE
from audio.signals import Samples
from tests.quality.played_files import KIT, OWN_WAYS, marked, played
from tests.quality.songs import Song, SongKey, library

SPEEDS = (0.8, 0.97, 1.003, 1.03, 1.25, 1.5, 2.0)


@dataclass
class Tally:
    """Errors (ms) of files of one kind."""

    errors_ms: list[float] = field(default_factory=list)
    files: int = 0
    sure: int = 0
    held: int = 0

    def row(self, name: str) -> str:
        """Its line in the table."""
        if not self.errors_ms:
            return f"{name:22} {self.sure:3} of {self.files:3} told"
        middle, most = np.quantile(self.errors_ms, (0.5, 0.95))
        told = f"{self.sure:3} of {self.files:3} told, {self.held:3} within their uncertainty"
        return f"{name:22} {told}; error at onsets {middle:6.2f} ms, 95 % {most:6.2f} ms"


def stretched_files(
    song: Song, ways: Sequence[str], speeds: Sequence[float], tallies: dict[str, Tally]
) -> None:
    """Stretch a song in all ways and find its line."""
    index = SongIndex.build(song.master, ENGINE_RATE)
    feed, onsets_s = marked(song)
    for way in ways:
        for speed in speeds:
            file = played(feed, onsets_s, speed, way)
            pieces = [piece for piece in pieces_of(file.samples, index) if piece.sure]
            errors_s, held = [], True
            for piece in pieces:
                inside = (file.heard_s >= piece.start_s) & (file.heard_s <= piece.end_s)
                off_s = piece.line.song_time(file.heard_s[inside]) - file.onsets_s[inside]
                errors_s += list(np.abs(off_s))
                held &= bool(np.quantile(np.abs(off_s), 0.95) <= piece.uncertainty_s) if len(off_s) else True
            told = len(errors_s) > 0.8 * len(file.onsets_s)
            for name in (way, f"{way} {speed:g}"):
                tally = tallies.setdefault(name, Tally())
                tally.files += 1
                tally.sure += told
                tally.held += told and held
                tally.errors_ms += [1000 * one for one in errors_s]
            print(
                f"{song.name} {way} {speed:g}: {len(pieces)} pieces,"
                f" marks scatter {1000 * file.scatter_s:.1f} ms,"
                f" error {1000 * float(np.median(errors_s)) if errors_s else float('nan'):.2f} ms,"
                f" stated {1000 * pieces[0].uncertainty_s if pieces else float('nan'):.2f} ms",
                flush=True,
            )


def refused(key: SongKey, tally: Tally) -> None:
    """Other songs, and the song played again: nothing of them may be told for sure."""
    index = SongIndex.build(key.load().master, ENGINE_RATE)
    for other in (key.sister(), key.stranger(), key.played_again()):
        if other is not None:
            tally.files += 1
            tally.sure += any(piece.sure for piece in pieces_of(other.master, index))


def new_masters(key: SongKey) -> Iterator[tuple[str, Samples, list[tuple[float, float, float]], float]]:
    """New masters of a song: name, samples, stretches of the old (from, to, new start; s), and speed."""
    song = key.load()
    other = key.mixed("rough")
    mix = (other or song).master
    limited = np.tanh(6 * mix / np.abs(mix).max()).astype(np.float32)
    end_s = min(len(mix), len(song.master)) / ENGINE_RATE
    a_s, b_s, c_s = (round(share * end_s, 3) for share in (0.25, 0.4, 0.6))
    for name, speed, source in (
        ("lead-in", 1.0, song.master),
        ("remix, limited", 1.0, limited),
        ("0.3 % faster", 1.003, limited),
    ):
        for what, parts in (
            ("whole", [(0.0, end_s)]),
            ("verse cut", [(0.0, a_s), (b_s, end_s)]),
            ("chorus doubled", [(0.0, c_s), (b_s, end_s)]),
        ):
            pieces = [source[round(x * ENGINE_RATE) : round(y * ENGINE_RATE)] for x, y in parts]
            whole = np.concatenate([np.zeros(2 * ENGINE_RATE, np.float32), *pieces])
            if speed != 1:
                whole = soxr.resample(whole, ENGINE_RATE, ENGINE_RATE / speed).astype(np.float32)
            stretches, at_s = [], 2.0
            for x, y in parts:
                stretches.append((x, y, at_s / speed))
                at_s += y - x
            yield f"{name}, {what}", whole, stretches, speed


def masters(key: SongKey, tallies: dict[str, Tally]) -> None:
    """Map new masters of a song; every tenth of a second that still exists is asked for."""
    index = SongIndex.build(key.load().master, ENGINE_RATE)
    for name, new, stretches, speed in new_masters(key):
        found = lives_on(index, new)
        tally = tallies.setdefault(f"master: {name.partition(',')[0]}", Tally())
        asked, mapped = 0, 0
        for from_s, to_s, new_s in stretches:
            # The last second of a song is its dying tone: what is not heard cannot be told.
            for moment_s in np.arange(from_s + 0.05, to_s - (1.0 if to_s == stretches[-1][1] else 0.05), 0.1):
                due_s = new_s + (moment_s - from_s) / speed
                asked += 1
                off_s = [
                    abs(one.new_start_s + (moment_s - one.old_start_s) * one.speed - due_s)
                    for one in found
                    if one.old_start_s <= moment_s <= one.old_end_s
                ]
                if off_s:
                    mapped += 1
                    tally.errors_ms.append(1000 * float(min(off_s)))
        tally.files += 1
        tally.sure += mapped == asked
        tally.held += mapped == asked and max(tally.errors_ms, default=9.0) < 1.0
        print(f"{key.name} {name}: {mapped} of {asked} moments mapped, {len(found)} pieces", flush=True)


def main() -> None:
    """Run the board."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--songs", default="rock-31,ballad-31,waltz-31", help="names, with commas")
    parser.add_argument("--music", type=Path, help="a folder of songs, beside the composed ones")
    parser.add_argument("--ways", default=",".join(OWN_WAYS), help=f"{', '.join(OWN_WAYS)}, {KIT}")
    parser.add_argument("--speeds", default=",".join(f"{one:g}" for one in SPEEDS))
    parser.add_argument("--only", choices=("stretched", "refused", "masters"))
    options = parser.parse_args()
    keys = [SongKey.named(name) for name in options.songs.split(",") if name]
    keys += [] if options.music is None else library(0, options.music)
    tallies: dict[str, Tally] = {}
    other = Tally()
    for key in keys:
        if options.only in (None, "stretched"):
            speeds = [float(one) for one in options.speeds.split(",")]
            stretched_files(key.load(), options.ways.split(","), speeds, tallies)
        if options.only in (None, "refused") and not key.path:
            refused(key, other)
        if options.only in (None, "masters"):
            masters(key, tallies)
    print()
    for name, tally in sorted(tallies.items()):
        print(tally.row(name))
    if other.files:
        print(f"not this song: {other.sure} of {other.files} told for sure (none may be)")


if __name__ == "__main__":
    main()
