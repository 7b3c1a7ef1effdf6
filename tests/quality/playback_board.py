"""Clips shot to stretched playback files: ``python -m tests.quality.playback_board``.

Each file is a short song at another speed, its pitch kept by one of two stretchers that are not the kit's
(`stretching`), behind two seconds of silence. Given the file, its line to the song is found as the program
finds it, and clips are heard on both. Errors against the file are what placing made; errors against the song
have the file's own line in them. Without the file (``--alone``) a clip has the song only: told is what came
of each take, in how many pieces, and how many in one take at about its speed.
"""

import argparse
import statistics
import sys
import time
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field

from app.engine.references import Shelf
from audio.line import Line
from audio.pieces.pieces import pieces_of
from audio.placement.align import Hearing
from audio.placement.answer import Placement, PlaceVerdict, TakeFit
from audio.references.reference import Piece, Reference
from tests.quality.scene import Take
from tests.quality.song_heaps import playback_clips, playback_of
from tests.quality.songs import Song, composed
from tests.quality.songs_board import OFF_S, answers_on

SPEEDS = (0.8, 0.97, 1.03, 1.25, 1.5, 2.0)
SLIGHT = (0.95, 0.97, 0.985, 0.995, 1.005, 1.015, 1.03, 1.05)
WAYS = ("bins", "splices")
SONG, FILE = "song", "playback"
NEAR_SPEED = 0.002
"""A doubtful take tells its speed where it is this close to the true one (share)."""


@dataclass(slots=True)
class Tally:
    """What came of takes."""

    count: Counter[str] = field(default_factory=Counter)
    to_file_s: list[float] = field(default_factory=list)
    to_song_s: list[float] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    seconds: float = 0.0

    def add(self, other: "Tally") -> None:
        """Count another's along."""
        self.count += other.count
        self.to_file_s += other.to_file_s
        self.to_song_s += other.to_song_s
        self.seconds += other.seconds

    def told(self, name: str) -> str:
        """A line of the table."""
        words = [f"{self.count[word]} {word}" for word in ("right", "doubt", "missed", "WRONG")]
        if self.count["told"]:
            words.append(f"{self.count['told']} told in one take at about their speed")
            words.append(f"{self.count['snippets']} snippets")
        errors = [
            f"to the {what}, median {1000 * statistics.median(errors_s):.3f} ms,"
            f" most {1000 * max(errors_s):.3f} ms"
            for what, errors_s in (("file", self.to_file_s), ("song", self.to_song_s))
            if errors_s
        ]
        return f"{name}: {', '.join(words)}; {'; '.join([*errors, f'{self.seconds:.0f} s'])}"


@dataclass(frozen=True, slots=True)
class _Shot:
    """A playback file with its true line and its reference."""

    song: Song
    played: Song
    line: Line
    """True song time over time in the file."""
    reference: Reference | None
    """None without the file."""


def _given(song: Song, speed: float, way: str, shelf: Shelf, tally: Tally) -> _Shot:
    """A playback file, its pieces found."""
    played, song_s = playback_of(song, speed, way)
    pieces = []
    for one in pieces_of(played.master, shelf.index(SONG)):
        tally.notes += [f"piece {one.start_s:.1f}–{one.end_s:.1f}: {one.doubt}"] if one.doubt else []
        if one.sure:
            line = one.line.anchored(one.start_s)
            pieces.append(Piece(SONG, one.start_s, one.end_s, line, one.uncertainty_s))
    reference = Reference(FILE, "playback.wav", tuple(pieces))
    return _Shot(song, played, Line(0.0, song_s, speed), reference)


def _judge(found: Placement, take: Take, shot: _Shot, tally: Tally, name: str) -> None:
    """Hold what is told of one true take, in the file's time, against it."""
    truth_s = Line(take.clip_start_s, shot.line.song_time(take.song_start_s), take.speed * shot.line.speed)
    mine = [fit for fit in found.takes if _over_s(fit, take) > 0.5]
    placed = [fit for fit in mine if fit.verdict is PlaceVerdict.PLACED]
    off_s = {fit: _off_s(fit, truth_s, take) for fit in mine}
    for fit in placed:
        if abs(off_s[fit]) >= OFF_S:
            tally.notes.append(f"WRONG {name}: {off_s[fit]:+.3f} s off, speed {fit.speed:.5f}")
    if any(abs(off_s[fit]) >= OFF_S for fit in placed):
        tally.count["WRONG"] += 1
    elif placed:
        tally.count["right"] += 1
        tally.to_song_s += [abs(off_s[fit]) for fit in placed]
        for fit in placed:
            piece = next((one for one in _pieces(shot) if fit.heard_on == FILE), None)
            if piece is not None:
                # The file's own line is taken off again.
                at_s = (max(fit.clip_start_s, take.clip_start_s) + min(fit.clip_end_s, take.clip_end_s)) / 2
                in_file_s = piece.line.clip_time(fit.line.song_time(at_s))
                tally.to_file_s.append(abs(in_file_s - take.song_at(at_s)))
    else:
        tally.count["doubt" if mine else "missed"] += 1
        snippets = len(mine)
        one = max(mine, key=lambda fit: _over_s(fit, take), default=None)
        near = one is not None and abs(one.speed / truth_s.speed - 1) < NEAR_SPEED
        if snippets == 1 and near:
            tally.count["told"] += 1
        tally.count["snippets"] += snippets if snippets > 1 else 0
        about = [
            f"{fit.reason.code if fit.reason else '-'} {fit.speed:.4f} {off_s[fit]:+.3f} s"
            f" {fit.clip_start_s:.0f}–{fit.clip_end_s:.0f} ({fit.strength:.0f})"
            for fit in mine[:4]
        ]
        length_s = take.clip_end_s - take.clip_start_s
        tally.notes.append(f"{'doubt' if mine else 'missed'} {name} of {length_s:.0f} s: {'; '.join(about)}")


def _pieces(shot: _Shot) -> Sequence[Piece]:
    return () if shot.reference is None else shot.reference.pieces or ()


def _over_s(fit: TakeFit, take: Take) -> float:
    return min(fit.clip_end_s, take.clip_end_s) - max(fit.clip_start_s, take.clip_start_s)


def _off_s(fit: TakeFit, truth: Line, take: Take) -> float:
    """How much later in the song a take is told, where that differs most (s)."""
    ends = max(fit.clip_start_s, take.clip_start_s), min(fit.clip_end_s, take.clip_end_s)
    return max((fit.line.song_time(at) - truth.song_time(at) for at in ends), key=abs)


def shoot(song: Song, speed: float, way: str, seed: int, count: int, alone: bool) -> Tally:
    """Place clips shot to one playback file of a song."""
    out = Tally()
    shelf = Shelf({SONG: song.master})
    if alone:
        played, song_s = playback_of(song, speed, way)
        shot = _Shot(song, played, Line(0.0, song_s, speed), None)
    else:
        shot = _given(song, speed, way, shelf, out)
        shelf = Shelf({SONG: song.master, FILE: shot.played.master})
    references = [Reference(SONG, SONG)] + ([] if shot.reference is None else [shot.reference])
    for clip in playback_clips(shot.played, seed, count):
        begun = time.perf_counter()
        found = answers_on(Hearing(clip.example.sound), references, shelf)[SONG]
        out.seconds += time.perf_counter() - begun
        for _, take in clip.takes:
            _judge(found, take, shot, out, clip.name)
    return out


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command; 1 if anything was placed wrong, else 0."""
    parser = argparse.ArgumentParser(prog="python -m tests.quality.playback_board", description=__doc__)
    parser.add_argument("--clips", type=int, default=4, help="for each file")
    parser.add_argument("--speeds", help="with commas")
    parser.add_argument("--ways", default=",".join(WAYS))
    parser.add_argument("--styles", default="rock", help="of the songs that are stretched, with commas")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--alone", action="store_true", help="without the file: the clips have the song only")
    chosen = parser.parse_args(arguments)
    speeds = chosen.speeds or ",".join(map(str, SLIGHT if chosen.alone else SPEEDS))
    whole = Tally()
    for style in chosen.styles.split(","):
        song = composed(style, chosen.seed, short=True)
        for speed in map(float, speeds.split(",")):
            for way in chosen.ways.split(","):
                one = shoot(song, speed, way, chosen.seed, chosen.clips, chosen.alone)
                print(one.told(f"{style} at {speed} ({way})"), *one.notes, sep="\n  ", flush=True)
                whole.add(one)
    print(whole.told("all"))
    return int(whole.count["WRONG"] > 0)


if __name__ == "__main__":
    sys.exit(main())
