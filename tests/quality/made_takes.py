"""Takes with faults put in at known ranges, and with everything that a good take may hold instead.

Pictures begin with poses of a drawn scene (`scenes`): a second or two of its players, seen wider than the
take, in which a camera then moves, is exposed, focused, lit and knocked. That is several times faster than
drawing every frame, and gives other movement than `scenes` itself does.
"""

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageFilter
from scipy.ndimage import uniform_filter1d

from tests.quality.scenes import to_linear

Bytes = NDArray[np.uint8]
LINES, ACROSS = 144, 256
MARGIN = 1.5
POSE_RATE = 25
POSES = 40
REASON = {"repeats": "frozen", "lowered": "bump"}
"""Kinds of fault whose word is another one."""


@dataclass(frozen=True, slots=True)
class Fault:
    """A fault that was put in, in clip time (s)."""

    kind: str
    start_s: float
    end_s: float
    in_sight: bool = True
    """Whether a viewer would see it; what is beneath sight is told beside each kind that is put in."""

    @property
    def reason(self) -> str:
        """The word a proposal has for it."""
        return REASON.get(self.kind, self.kind)


@dataclass(slots=True)
class Shown:
    """What the camera is and sees at a moment."""

    right: float = 0.0
    down: float = 0.0
    """Where it is aimed, in picture heights from the middle."""
    zoom: float = 1.0
    roll: float = 0.0
    """Degrees."""
    stops: float = 0.0
    blur: float = 0.0
    """Gaussian sigma in picture heights."""
    smear: float = 0.0
    """Blur of movement to the side, in picture heights."""
    players_s: float = 0.0
    noise: float = 2.0
    """Standard deviation in code values."""


Move = Callable[[float, Shown], None]
Paint = Callable[[float, NDArray[np.float32]], NDArray[np.float32]]


@dataclass(slots=True)
class MadeTake:
    """A take that can be made, and the truth about it."""

    rate: Fraction
    seconds: float
    poor: bool
    poses: Callable[[], tuple[Bytes, ...]]
    seed: int
    faults: list[Fault] = field(default_factory=list)
    good: list[str] = field(default_factory=list)
    moves: list[Move] = field(default_factory=list)
    paints: list[Paint] = field(default_factory=list)
    same_as: dict[int, int] = field(default_factory=dict)
    """Frames that repeat an earlier one."""
    missing: set[int] = field(default_factory=set)
    """Frames that are not in the file."""

    def frames(self) -> Iterator[Bytes]:
        """Its frames, those missing included."""
        shown: dict[int, Bytes] = {}
        keep = set(self.same_as.values())
        for number in range(round(self.seconds * self.rate)):
            earlier = self.same_as.get(number)
            one = self.frame(number) if earlier is None else shown[earlier]
            if number in keep:
                shown[number] = one
            yield one

    def frame(self, number: int) -> Bytes:
        """One of its frames."""
        clip_s = float(number / self.rate)
        state = Shown(players_s=clip_s)
        for move in self.moves:
            move(clip_s, state)
        image = _aimed(_pose(self.poses(), state.players_s), state)
        if state.blur > 0:
            image = image.filter(ImageFilter.GaussianBlur(state.blur * LINES))
        table = _exposure(round(state.stops * 50) / 50)
        seen = table[np.asarray(image)]
        if state.smear * LINES > 1:
            seen = uniform_filter1d(seen, round(state.smear * LINES), axis=1, mode="nearest")
        for paint in self.paints:
            seen = paint(clip_s, seen)
        if state.noise:
            chance = np.random.default_rng([self.seed, number])
            grain = _grain()
            y, x = chance.integers(0, 64, 2)
            seen = seen + grain[y : y + LINES, x : x + ACROSS] * np.float32(state.noise)
        return np.clip(seen + 0.5, 0, 255).astype(np.uint8)


@lru_cache(maxsize=1)
def _grain() -> NDArray[np.float32]:
    chance = np.random.default_rng(5)
    return chance.standard_normal((LINES + 64, ACROSS + 64, 3), dtype=np.float32)


@lru_cache(maxsize=256)
def _exposure(stops: float) -> NDArray[np.float32]:
    """Code values of an exposure so many stops off (ITU-R BT.709-6, item 1.2), from sRGB ones."""
    light = np.clip(to_linear(np.arange(256, dtype=np.float32) / 255) * 2**stops, 0, 1)
    values = np.where(light < 0.018, 4.5 * light, 1.099 * light**0.45 - 0.099)
    return (values * 255).astype(np.float32)


@lru_cache(maxsize=256)
def exposure_of_codes(stops: float) -> NDArray[np.float32]:
    """The same from code values of ITU-R BT.709-6."""
    codes = np.arange(256, dtype=np.float32) / 255
    light = np.where(codes < 0.081, codes / 4.5, ((codes + 0.099) / 1.099) ** (1 / 0.45))
    light = np.clip(light * 2**stops, 0, 1)
    values = np.where(light < 0.018, 4.5 * light, 1.099 * light**0.45 - 0.099)
    return (values * 255).astype(np.float32)


def _pose(poses: tuple[Bytes, ...], seconds: float) -> Bytes:
    """The players at a moment: there and back through the poses, blended between two."""
    last = len(poses) - 1
    place = (seconds * POSE_RATE) % (2 * last)
    place = 2 * last - place if place > last else place
    low = min(int(place), last - 1)
    part = place - low
    if part < 0.02:
        return poses[low]
    if part > 0.98:
        return poses[low + 1]
    return np.asarray(Image.blend(Image.fromarray(poses[low]), Image.fromarray(poses[low + 1]), part))


def _aimed(pose: Bytes, state: Shown) -> Image.Image:
    """What the camera sees of a pose; beyond its edges it is mirrored."""
    high, wide = pose.shape[:2]
    centre_x, centre_y = wide / 2 + state.right * LINES, high / 2 + state.down * LINES
    reach_x, reach_y = ACROSS / 2 / state.zoom + 8, LINES / 2 / state.zoom + 8
    off = [
        max(0, math.ceil(one))
        for one in (
            reach_y - centre_y,
            centre_y + reach_y - high,
            reach_x - centre_x,
            centre_x + reach_x - wide,
        )
    ]
    if any(off):
        pose = np.pad(pose, ((off[0], off[1]), (off[2], off[3]), (0, 0)), mode="symmetric")
        centre_x, centre_y = centre_x + off[2], centre_y + off[0]
    turn = math.radians(state.roll)
    a, b = math.cos(turn) / state.zoom, math.sin(turn) / state.zoom
    x0 = centre_x - a * ACROSS / 2 - b * LINES / 2
    y0 = centre_y + b * ACROSS / 2 - a * LINES / 2
    return Image.fromarray(pose).transform(
        (ACROSS, LINES), Image.Transform.AFFINE, (a, b, x0, -b, a, y0), Image.Resampling.BILINEAR
    )


def held(chance: np.random.Generator, take: MadeTake, hold: str, noise: float) -> None:
    """How the camera is held."""
    hertz = 2 ** chance.uniform(-2.5, 1.6, (3, 6))
    weight = chance.uniform(0.5, 1, (3, 6)) / hertz**0.6
    weight /= np.sqrt((weight**2).sum(axis=1, keepdims=True) / 2)
    phase = chance.uniform(0, 2 * np.pi, (3, 6))
    size = {"tripod": 0.0004, "handheld": 0.02, "roaming": 0.025}[hold] * chance.uniform(0.6, 1.3)
    ways = chance.uniform(0.02, 0.09, 2), chance.uniform(0, 2 * np.pi, 2)

    def move(clip_s: float, state: Shown) -> None:
        swing = (weight * np.sin(2 * np.pi * hertz * clip_s + phase)).sum(axis=1)
        state.right += size * swing[0]
        state.down += size * swing[1]
        state.roll += 20 * size * swing[2]
        state.noise = noise
        if hold == "roaming":
            state.right += 0.7 * math.sin(2 * np.pi * ways[0][0] * clip_s + ways[1][0])
            state.zoom *= 2 ** (0.2 * math.sin(2 * np.pi * ways[0][1] * clip_s + ways[1][1]))

    take.moves.append(move)


def ramp(clip_s: float, start_s: float, end_s: float, slope_s: float) -> float:
    """From 0 to 1 at a start and back at an end."""
    up = np.clip((clip_s - start_s) / slope_s + 0.5, 0, 1)
    down = np.clip((end_s - clip_s) / slope_s + 0.5, 0, 1)
    return float(min(up, down))


def eased(part: float) -> float:
    """From 0 to 1 with a soft start and a soft stop."""
    part = min(max(part, 0.0), 1.0)
    return part * part * (3 - 2 * part)
