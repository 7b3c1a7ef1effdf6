"""How well clips without sound are placed by their pictures, on made material.

``python -m tests.quality.silent_board --clips N --seed S`` films the slate page N times with simulated
cameras and reads the codes back; ``--light N`` makes N shoots of each kind of light; ``--motion N`` draws N
clips of people who play (minutes each). Seeds below 1000 were looked at while all this was written.
"""

import argparse
import sys
import tempfile
import time
from collections import Counter
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path

import numpy as np

from app.engine.by_code import by_code, codes_seen
from app.engine.probing import look, told
from app.model.document.verdict import Verdict
from audio.pictures.flashes import light_guesses
from audio.pictures.motion import KEEPS_TIME, clip_accents, guesses, song_accents
from audio.rate import ENGINE_RATE
from tests.quality.made_lights import SONG_S as SONG_LIT_S
from tests.quality.made_lights import Kind, lit_shoot
from tests.quality.playing_scenes import drawn_series
from tests.quality.slate_camera import Shot, film
from tests.quality.songs import composed

SONG_S = 240.0
DIGEST = "9f3c01aa" + "0" * 56
CAMERAS = (
    # Frames a second of the camera, of its file, and the speed of the playback.
    (Fraction(24), Fraction(24), Fraction(1)),
    (Fraction(25), Fraction(25), Fraction(1)),
    (Fraction(24000, 1001), Fraction(24000, 1001), Fraction(1)),
    (Fraction(50), Fraction(50), Fraction(1)),
    (Fraction(60), Fraction(60), Fraction(1)),
    (Fraction(120), Fraction(120), Fraction(1)),
    (Fraction(120), Fraction(24), Fraction(1)),
    (Fraction(120), Fraction(25), Fraction(24, 5)),
    (Fraction(60), Fraction(24000, 1001), Fraction(1001, 400)),
    (Fraction(50), Fraction(25), Fraction(2)),
)


@dataclass(frozen=True)
class Outcome:
    """What became of one clip."""

    kind: str
    verdict: str
    off_s: float
    """Largest error over the take (s of song); not a number where there is none."""
    wrong: bool
    seconds: float


def any_shot(rng: np.random.Generator, number: int) -> tuple[str, Shot]:
    """A page filmed somehow: mostly well, sometimes hardly readable, of another song, or standing still."""
    camera, file, playback = CAMERAS[number % len(CAMERAS)]
    shot = Shot(
        camera=camera,
        file=file,
        playback=playback,
        song_s=float(rng.uniform(0, 120)),
        waits_s=float(rng.uniform(0, 1.0)),
        page_s=float(rng.uniform(1.5, 4.0)),
        after_s=float(rng.uniform(0.5, 1.5)),
        drift=float(rng.normal(0, 20e-6)),
        height=float(rng.uniform(0.45, 0.95)),
        tilt=float(rng.uniform(0, 0.25)),
        turn=float(rng.choice([0.0, 0.1, -0.15, np.pi])),
        blur=float(rng.uniform(0.3, 1.6)),
        shutter=float(rng.choice([0.1, 0.48, 0.5, 1.0])),
        readout=float(rng.uniform(0, 0.9)),
        gain=float(2 ** rng.uniform(-3, 1.5)),
        noise=float(rng.uniform(0.003, 0.04)),
        shake=float(rng.uniform(0, 2.0)),
        crf=int(rng.integers(18, 36)),
        refresh=float(rng.choice([60.0, 60.0, 59.94, 50.0, 120.0])),
        gop=int(rng.choice([1, 12, 60, 250])),
        seed=int(rng.integers(1 << 31)),
    )
    kind = f"{float(camera):.5g} as {float(file):.5g}"
    special = number % 10 + 10 * (number // 10 % 2)
    if special == 3:
        return "another song", replace(shot, song="FFFF0000")
    if special == 14:
        return "page started over", replace(
            shot, takes=(1, 1), page_s=1.6, camera=Fraction(25), file=Fraction(25)
        )
    return kind, shot


def outcome(kind: str, shot: Shot, folder: Path) -> Outcome:
    """Film a page, place its file, and compare with the truth."""
    path = folder / "clip.mp4"
    film(path, shot)
    return placed_outcome(kind, shot, path)


def placed_outcome(kind: str, shot: Shot, path: Path, digest: str = DIGEST) -> Outcome:
    """Place a filmed page by its pictures, and compare with the truth."""
    file = look(path)
    began = time.perf_counter()
    reads = codes_seen(file, thorough=True, stop=lambda: False, progress=lambda fraction: None)
    answer = by_code(told(file), file, reads, digest, SONG_S)
    seconds = time.perf_counter() - began
    if not answer.takes:
        return Outcome(kind, f"{answer.verdict.value} {answer.reason.code}", np.nan, False, seconds)
    offs = []
    for take in answer.takes:
        # A take is that of the showing in which it begins.
        showing = int(
            np.argmin(
                [abs(take.clip_start_s * float(shot.file / shot.camera) - one) for one in shot.starts()]
            )
        )
        for clip_s in (take.clip_start_s, take.clip_end_s):
            offs.append(abs(take.line.song_time(clip_s) - shot.song_time(clip_s, showing)))
    off_s = max(offs)
    bound_s = max(0.5 / 24, 0.5 * shot.speed / float(shot.file))
    sure = any(take.verdict is Verdict.PLACED for take in answer.takes)
    wrong = sure and (off_s > bound_s or shot.song.lower() != digest[:8])
    return Outcome(kind, answer.verdict.value, off_s, wrong, seconds)


def code_board(clips: int, seed: int) -> int:
    """Print what became of clips of the slate page; gives how many were placed wrongly."""
    rng = np.random.default_rng(seed)
    out = []
    with tempfile.TemporaryDirectory() as folder:
        for number in range(clips):
            out.append(outcome(*any_shot(rng, number), Path(folder)))
            print(f"  {number:3} {out[-1]}", file=sys.stderr)
    for kind in dict.fromkeys(one.kind for one in out):
        of_kind = [one for one in out if one.kind == kind]
        said = ", ".join(
            f"{count} {verdict}" for verdict, count in Counter(o.verdict for o in of_kind).items()
        )
        offs = [1000 * one.off_s for one in of_kind if np.isfinite(one.off_s)]
        told_ms = f"; off by {np.median(offs):.1f} ms, at most {max(offs):.1f}" if offs else ""
        print(f"{kind:18} {said}{told_ms}; {np.median([one.seconds for one in of_kind]):.1f} s")
    wrong = sum(one.wrong for one in out)
    print(f"placed wrongly: {wrong} of {len(out)}")
    return wrong


def light_board(shoots: int, seed: int) -> int:
    """Print where light puts silent clips; gives how many were placed wrongly."""
    wrong = 0
    kinds: tuple[Kind, ...] = ("flash", "cue", "beat", "none")
    for kind in kinds:
        count = Counter[str]()
        for number in range(shoots):
            shoot = lit_shoot(seed + number, kind)
            if not shoot.met and kind != "none":
                continue
            found = light_guesses(shoot.silent, shoot.placed, SONG_LIT_S)
            right = found.clear and abs(found.places[0].song_s - shoot.song_s) < 0.08 and kind != "none"
            count["shoots"] += 1
            count["proposed"] += found.clear
            count["proposed rightly"] += right
            count["placed"] += found.clear and found.sure
            count["placed wrongly"] += found.clear and found.sure and not right
        wrong += count["placed wrongly"]
        print(f"light: {kind:6} " + ", ".join(f"{value} {name}" for name, value in count.items()))
    return wrong


def motion_board(clips: int, seed: int) -> None:
    """Print where motion puts drawn players, of whom one in five plays to something else."""
    follow, others = Counter[str](), Counter[str]()
    for number in range(clips):
        song = composed(("rock", "pop", "ballad", "waltz")[number % 4], 1 + number // 4 % 3)
        with_it = number % 5 != 4
        begin_s, series = drawn_series(song, seed + number, with_it)
        found = guesses(clip_accents(series), song_accents(song.master, ENGINE_RATE))
        ranks = [rank for rank, one in enumerate(found.places, 1) if abs(one.song_s - begin_s) < 0.15]
        count = follow if with_it else others
        count["clips"] += 1
        count["keep the time"] += found.keeps_time >= KEEPS_TIME
        count["right first"] += ranks[:1] == [1]
        count["right among five"] += bool(ranks)
        told = f"{song.name} {'to it' if with_it else 'to something else'}"
        print(f"  {number:3} {told}: {found.keeps_time:.1f}, {ranks}", file=sys.stderr)
    for name, count in (("playing to it", follow), ("to something else", others)):
        print(f"motion: {name:18} " + ", ".join(f"{value} {what}" for what, value in count.items()))


def main() -> None:
    """Run the boards."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--clips", type=int, default=20)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--light", type=int, default=40)
    parser.add_argument("--motion", type=int, default=0)
    asked = parser.parse_args()
    wrong = light_board(asked.light, asked.seed) + code_board(asked.clips, asked.seed)
    motion_board(asked.motion, asked.seed)
    sys.exit(1 if wrong else 0)


if __name__ == "__main__":
    main()
