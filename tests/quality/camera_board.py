"""How well clips are grouped by camera: ``python -m tests.quality.camera_board``.

Random shoots of card folders from several cameras and phones, with series and tags drawn at random, so that
nothing can have been tuned on them. Told: of the pairs of clips that one camera made, the share on one angle;
of the pairs that two cameras made, the share kept apart; before the files were read and after.
"""

import argparse
import random
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from fractions import Fraction
from itertools import combinations
from pathlib import PurePath

from app.model.angles import guess_angle
from app.model.camera_groups import Filed, cameras
from app.model.document.clip import FileFacts

SYLLABLES = ("ba", "ko", "ri", "du", "mel", "sa", "tor", "vin", "lu", "pra")
ROOT = "/evening"
BEGUN = datetime(2026, 11, 28, 18, 0)


@dataclass(frozen=True, slots=True)
class Shot:
    """A clip, and the camera that made it."""

    filed: Filed
    camera: int


@dataclass(frozen=True, slots=True)
class Score:
    """Pairs of clips that are together and should be, or are apart and should be, of all such pairs."""

    joined: int
    to_join: int
    apart: int
    to_part: int

    def __add__(self, other: "Score") -> "Score":
        return Score(
            self.joined + other.joined,
            self.to_join + other.to_join,
            self.apart + other.apart,
            self.to_part + other.to_part,
        )

    def __str__(self) -> str:
        return (
            f"joined {self.joined} of {self.to_join} ({self.joined / max(1, self.to_join):.1%}), "
            f"kept apart {self.apart} of {self.to_part} ({self.apart / max(1, self.to_part):.1%})"
        )


def random_shoot(seed: int) -> list[Shot]:
    """A shoot of two to six cameras; some of them twins, some without tags or clock."""
    chance = random.Random(seed)
    bodies = chance.randint(2, 6)
    tags = [_tags(chance) for _ in range(bodies)]
    styles = [chance.choice(STYLES) for _ in range(bodies)]
    if bodies > 2 and chance.random() < 0.4:  # two bodies of one model
        tags[1], styles[1] = tags[0], styles[0]
    namers = [style(chance, n) for n, style in enumerate(styles)]
    clocks = [chance.random() < 0.8 for _ in range(bodies)]
    shifts = [timedelta(seconds=chance.uniform(-90, 90)) for _ in range(bodies)]
    shots: list[Shot] = []
    now = BEGUN
    for _ in range(chance.randint(3, 8)):  # takes of the song; most cameras run in each
        length = chance.uniform(60, 240)
        for n in range(bodies):
            if chance.random() < 0.8:
                begun = now + shifts[n] + timedelta(seconds=chance.uniform(0, 8))
                facts = replace(
                    tags[n],
                    duration_s=length + chance.uniform(0, 15),
                    created=begun.isoformat(timespec="seconds") if clocks[n] else None,
                )
                shots.append(Shot(Filed(f"{ROOT}/{namers[n](begun)}", facts), n))
        now += timedelta(seconds=length + chance.uniform(30, 600))
    shots = list({shot.filed.path: shot for shot in shots}.values())  # one file has one path
    return sorted(shots, key=lambda shot: shot.filed.path)


def score(shots: Sequence[Shot], *, read: bool) -> Score:
    """Hold the groups against the truth; ``read``: with what the files tell, else by paths alone."""
    assert all(guess_angle(shot.filed.path, PurePath(ROOT)) is None for shot in shots)
    clips = [shot.filed if read else Filed(shot.filed.path) for shot in shots]
    group = {n: number for number, one in enumerate(cameras(clips)) for n in one.members}
    counts: Counter[tuple[bool, bool]] = Counter(
        (shots[a].camera == shots[b].camera, group[a] == group[b])
        for a, b in combinations(range(len(shots)), 2)
    )
    return Score(
        counts[True, True],
        counts[True, True] + counts[True, False],
        counts[False, False],
        counts[False, False] + counts[False, True],
    )


def board(seeds: Sequence[int], *, read: bool) -> Score:
    """The sum over many shoots."""
    total = Score(0, 0, 0, 0)
    for seed in seeds:
        total += score(random_shoot(seed), read=read)
    return total


Namer = Callable[[datetime], str]


def _tags(chance: random.Random) -> FileFacts:
    width, height = chance.choice([(1920, 1080), (3840, 2160), (1080, 1920), (1280, 720)])
    rate = chance.choice(
        [Fraction(25), Fraction(24), Fraction(30000, 1001), Fraction(24000, 1001), Fraction(50)]
    )
    facts = FileFacts(duration_s=1.0, frame_rate=rate, width=width, height=height)
    facts = replace(facts, variable_frame_rate=chance.random() < 0.3)
    if chance.random() < 0.6:
        word = "".join(chance.sample(SYLLABLES, 2)).title()
        facts = replace(facts, make=word, model=f"{word[0]}{chance.randint(1, 99)}")
    return facts


def _letters(chance: random.Random, number: int) -> str:
    return "".join(chance.choice("ABDEFHJKLMNPQRSTUVWXYZ") for _ in range(number))


def _suffix(chance: random.Random) -> str:
    return chance.choice(["MP4", "MOV", "MXF"])


def _reels(chance: random.Random, n: int) -> Namer:
    """A001C003_….MOV on cards of the camera's letter; a new card now and then."""
    letter, suffix = "ABCDEF"[n], _suffix(chance)
    card, clip = 1, 0

    def name(when: datetime) -> str:
        nonlocal card, clip
        clip += 1
        if clip > 1 and chance.random() < 0.3:
            card, clip = card + 1, 1
        tail = f"{when:%m%d%H%M}_{_letters(chance, 4)}"
        return f"{letter}{card:03d}/{letter}{card:03d}C{clip:03d}_{tail}.{suffix}"

    return name


def _lettered_cards(chance: random.Random, n: int) -> Namer:
    """Folders named by hand after camera and card, counters of the camera's own within."""
    letter, series, suffix = "ABCDEF"[n], _letters(chance, 1), _suffix(chance)
    number, card = chance.randint(1, 900), 1

    def name(when: datetime) -> str:
        nonlocal number, card
        number += 1
        card += chance.random() < 0.25
        return f"{letter}{card:03d}/PRIVATE/M4ROOT/CLIP/{series}{number:04d}.{suffix}"

    return name


def _dcim(chance: random.Random, n: int) -> Namer:
    """DCIM folders that follow each other, two to four letters and a number."""
    series, suffix = _letters(chance, chance.randint(2, 4)), _suffix(chance)
    number, folder = chance.randint(1, 9000), 100
    home = chance.choice(["DCIM", f"{n + 1}/DCIM"])

    def name(when: datetime) -> str:
        nonlocal number, folder
        number += chance.randint(1, 4)
        folder += chance.random() < 0.2
        return f"{home}/{folder}/{series}{number:04d}.{suffix}"

    return name


def _phone(chance: random.Random, n: int) -> Namer:
    """A picture counter with gaps, in a folder of all phones."""
    number = chance.randint(1, 9000)

    def name(when: datetime) -> str:
        nonlocal number
        number += chance.randint(1, 12)
        return f"phones/IMG_{number:04d}.MOV"

    return name


def _dated(chance: random.Random, n: int) -> Namer:
    """Named by the clock."""
    lead = chance.choice(["", "VID_", "PXL_", f"{_letters(chance, 3)}_"])
    return lambda when: f"phones/{lead}{when:%Y%m%d_%H%M%S}.mp4"


def _flat(chance: random.Random, n: int) -> Namer:
    """Everything in one folder."""
    series, suffix, number = _letters(chance, chance.randint(1, 3)), _suffix(chance), chance.randint(1, 9000)

    def name(when: datetime) -> str:
        nonlocal number
        number += 1
        return f"{series}{number:05d}.{suffix}"

    return name


STYLES = (_reels, _lettered_cards, _dcim, _phone, _dated, _flat)


def main() -> None:
    """Print the figures."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--shoots", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    seeds = range(options.seed, options.seed + options.shoots)
    print(f"{options.shoots} shoots, seeds from {options.seed}")
    print(f"by names alone:     {board(seeds, read=False)}")
    print(f"once files are read: {board(seeds, read=True)}")


if __name__ == "__main__":
    main()
