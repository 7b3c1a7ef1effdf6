"""How well takes are matched: drawn scenes, cameras set differently, real files; what was put in is true.

    python -m tests.quality.match_board --shoots 20 --seed 1000

Each shoot has a reference take and takes of the same set-up and of other framings, each with other exposure
and balance (in linear light, through a camera's curve, eight bits and compression). Told are the errors of
stops and balance; what is left after the match, as a grey scale in the take's own picture shows it; and how
often the truth lies within twice the standard error that was told. Stops are logarithms to base 2 everywhere.
"""

import argparse
import sys
import tempfile
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path

import numpy as np

from audio.files.frame_images import pictures_at
from audio.pictures.match import LITTLE_DOUBT, MIXED_DOUBT, ROUGH_DOUBT, Matched, Pictures, match
from audio.pictures.transfer import BT709
from tests.quality.scene_files import encode
from tests.quality.scenes import Camera, Place, Take, later, picture, random_camera, random_place

MOMENTS = 8
TOLD = 18
"""Takes after which a long run tells how it stands."""
CHANGES = {
    "over": (1.0, 2.0, 0.1, 0.05),
    "under": (-2.0, -1.0, 0.1, 0.05),
    "colour": (-0.3, 0.3, 0.9, 0.3),
}
"""Stops from and to; the most by which warm and green are off."""
GREYS = np.geomspace(0.02, 0.8, 40)
"""Light of the patches of the grey scale, as shares of the take's brightest known light."""


@dataclass(frozen=True, slots=True)
class Row:
    """A take that was matched."""

    kind: str
    framing: str
    matched: Matched
    true: np.ndarray
    """Stops by which red, green and blue are brighter than in the reference."""
    left: np.ndarray
    """The same after the match, on a grey scale."""

    @property
    def errors(self) -> tuple[float, float, float]:
        """Of stops, warm and green."""
        return three(np.array(self.matched.before.shift) - self.true)


def three(shift: np.ndarray) -> tuple[float, float, float]:
    """Stops, warm and green of a shift by channel (for small ones)."""
    return (
        float(shift @ np.array([0.2126, 0.7152, 0.0722])),
        float(shift[0] - shift[2]),
        float(shift[1] - (shift[0] + shift[2]) / 2),
    )


def gain(take: Take) -> np.ndarray:
    """Stops of a take's camera and light by channel, as `tests.quality.scenes` develops them."""
    minutes = take.start_s / 600
    warm = take.camera.warm + take.light.drift_warm * minutes
    stops = take.camera.stops + take.light.drift_stops * minutes
    return np.array([warm / 2, take.camera.green, -warm / 2]) + stops


def filmed(take: Take, path: Path) -> Pictures:
    """A take's pictures, out of a file."""
    shown = (picture(take, at_s, 144) for at_s in np.linspace(3, 60, MOMENTS))
    encode(path, shown, Fraction(25), key_every=4)
    return Pictures(pictures_at(path, [n / 25 for n in range(MOMENTS)], 96))


def grey_left(found: Matched, true: np.ndarray) -> np.ndarray:
    """What is left of a shift on a grey scale that the take shows unclipped, by channel."""
    light = GREYS / 2 ** max(0.0, float(true.max()))
    out = []
    for channel in range(3):
        values = BT709.values(light * 2.0 ** true[channel])
        rgb = found.cdl.applied(np.repeat(values[:, None], 3, axis=1))[:, channel]
        out.append(float(np.median(np.log2(np.maximum(BT709.light(rgb), 1e-6) / light))))
    return np.array(out)


def rows_of(seed: int, folder: Path) -> list[Row]:
    """All takes of one shoot."""
    chance = np.random.default_rng([seed, 77])
    place = random_place(seed, "drawn" if seed % 2 else "woven")
    home = replace(random_camera(chance, place, "half", side=0), transfer="bt709")
    first = Take(place, home, place.light)
    reference = filmed(first, folder / "reference.mp4")
    out = []
    for framing in ("same", "wide", "close"):
        for kind in CHANGES:
            camera = home if framing == "same" else _other(chance, place, framing)
            take = later(chance, Take(place, _changed(chance, camera, kind), place.light), 300)
            found = match(filmed(take, folder / "take.mp4"), reference)
            true = gain(take) - gain(first)
            out.append(
                Row(kind, "same" if framing == "same" else "other", found, true, grey_left(found, true))
            )
    return out


def _other(chance: np.random.Generator, place: Place, framing: str) -> Camera:
    wide = framing == "wide"
    return replace(random_camera(chance, place, "wide" if wide else "close", side=0), transfer="bt709")


def _changed(chance: np.random.Generator, camera: Camera, kind: str) -> Camera:
    low, high, warm, green = CHANGES[kind]
    sign = chance.choice([-1, 1])
    return replace(
        camera,
        stops=camera.stops + chance.uniform(low, high),
        warm=camera.warm + sign * chance.uniform(0.6 * warm, warm),
        green=camera.green + chance.uniform(-green, green),
    )


def table(rows: list[Row]) -> str:
    """The board as text."""
    lines = [
        "framing  change  takes | error: stops med p90, warm, green | left: stops med p90, warm, green | "
        "near | within 2 s.e. | doubted"
    ]
    for framing in ("same", "other"):
        for kind in CHANGES:
            some = [row for row in rows if (row.framing, row.kind) == (framing, kind)]
            if not some:
                continue
            off = np.abs([row.errors for row in some])
            left = np.abs([three(row.left) for row in some])
            near = np.mean([is_near(row) for row in some])
            told = [
                o.max() <= 2 * max(0.02, row.matched.before.uncertainty)
                for o, row in zip(off, some, strict=True)
            ]
            doubted = np.mean([bool(row.matched.doubts) for row in some])
            lines.append(
                f"{framing:8} {kind:7} {len(some):5} | {_pairs(off)} | {_pairs(left)} | "
                f"{100 * near:3.0f} % | {100 * np.mean(told):3.0f} % | {100 * doubted:3.0f} %"
            )
    for framing in ("same", "other"):
        some = [row for row in rows if row.framing == framing and is_trusted(row)]
        near = sum(is_near(row) for row in some)
        of = sum(row.framing == framing for row in rows)
        lines.append(f"{framing:8} told as to be trusted: {len(some)} of {of}, near {near} of {len(some)}")
    return "\n".join(lines)


def is_trusted(row: Row) -> bool:
    """Whether nothing speaks against the measure; what is clipped or blocked is left out of it."""
    return not {LITTLE_DOUBT, ROUGH_DOUBT, MIXED_DOUBT}.intersection(row.matched.doubts)


def is_near(row: Row) -> bool:
    """Within 0.1 stop and 10 % of the balance: a ratio of red to blue, or of green, less than 1.1 off."""
    stops, warm, green = np.abs(three(row.left))
    return bool(stops <= 0.1 and max(warm, green) <= np.log2(1.1))


def _pairs(values: np.ndarray) -> str:
    return ", ".join(f"{np.median(values[:, n]):.2f} {np.quantile(values[:, n], 0.9):.2f}" for n in range(3))


def main() -> None:
    """Run the board."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--shoots", type=int, default=10)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    rows: list[Row] = []
    with tempfile.TemporaryDirectory() as folder:
        for seed in range(options.seed, options.seed + options.shoots):
            rows += rows_of(seed, Path(folder))
            print(f"{seed - options.seed + 1} of {options.shoots} shoots", file=sys.stderr, flush=True)
            if seed + 1 < options.seed + options.shoots and len(rows) % TOLD == 0:
                print(table(rows), file=sys.stderr, flush=True)
    print(table(rows))


if __name__ == "__main__":
    main()
