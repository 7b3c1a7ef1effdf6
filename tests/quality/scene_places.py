"""Drawn places for pictures of a shoot: walls and floor as painted flats, and the lamps that light them.

Two ways of drawing share nothing but their size: ``drawn`` is made of flat shapes with hard edges, ``woven``
of noise, bricks, folds and soft patches. What is tuned on one can be checked on the other.
"""

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFilter

FloatArray = NDArray[np.floating[Any]]
Bytes = NDArray[np.uint8]
Style = Literal["drawn", "woven"]
Colour = tuple[int, int, int]
RGB = tuple[float, float, float]

PIXELS_PER_M = 160
WIDE_M, HIGH_M = 12.0, 6.75
"""Size of a flat. Its foot is ``BELOW_M`` under the line of the floor: that part is painted as floor."""
BELOW_M = 1.6
LEVELS = 4
"""How often a lit flat is kept, each half the size of the one before: to be seen small without aliasing."""
SIZE = (round(WIDE_M * PIXELS_PER_M), round(HIGH_M * PIXELS_PER_M))


def to_linear(value: FloatArray) -> FloatArray:
    """Light of display values from 0 to 1 (IEC 61966-2-1, sRGB)."""
    return np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4).astype(np.float32)


def to_srgb(light: FloatArray) -> FloatArray:
    """Display values of light from 0 to 1 (IEC 61966-2-1, sRGB)."""
    light = np.clip(light, 0.0, 1.0)
    return np.where(light <= 0.0031308, light * 12.92, 1.055 * light ** (1 / 2.4) - 0.055).astype(np.float32)


@dataclass(frozen=True, slots=True)
class Lamp:
    """A lamp on a flat: where it shines (metres), how wide, how bright, and its colour."""

    x: float
    y: float
    radius_m: float
    level: float
    rgb: RGB = (1.0, 1.0, 1.0)


@dataclass(frozen=True, slots=True)
class Light:
    """The light of a place."""

    ambient: float
    rgb: RGB = (1.0, 1.0, 1.0)
    lamps: tuple[Lamp, ...] = ()
    drift_stops: float = 0.0
    """How much brighter it gets in ten minutes."""
    drift_warm: float = 0.0
    """How much warmer it gets in ten minutes (stops of red against blue)."""
    mains_hz: float = 0.0
    """Frequency of the mains; light swings twice as fast. 0 for steady light."""
    mains_depth: float = 0.0
    """Swing of the light over its mean, 0 to 1."""

    def at(self, x: float, y: float) -> NDArray[np.float32]:
        """Light at a place of the flat; shape (3,)."""
        light = self.ambient * np.asarray(self.rgb, np.float32)
        for lamp in self.lamps:
            far = math.hypot(x - lamp.x, y - lamp.y) / lamp.radius_m
            light = light + lamp.level * math.exp(-0.5 * far * far) * np.asarray(lamp.rgb, np.float32)
        return light


@dataclass(frozen=True, slots=True, eq=False)
class Flat:
    """A painted flat: what it reflects, as sRGB picture of ``SIZE``."""

    paint: Image.Image
    textures: tuple[Image.Image, ...]
    """Materials for things and people; empty where they are flat colours."""


def random_flat(chance: np.random.Generator, style: Style) -> Flat:
    """A wall with floor, at random."""
    return _drawn_flat(chance) if style == "drawn" else _woven_flat(chance)


def random_light(chance: np.random.Generator, *, stage: bool | None = None) -> Light:
    """Daylight or room light, or a stage with spots in the dark."""
    stage = bool(chance.random() < 0.4) if stage is None else stage
    warm = chance.uniform(-0.25, 0.35)
    rgb = (2**warm, 1.0, 2**-warm)
    lamps = tuple(
        Lamp(
            chance.uniform(-5, 5),
            chance.uniform(0.2, 4),
            chance.uniform(0.6, 1.6) if stage else chance.uniform(1.2, 4),
            chance.uniform(0.4, 1.1) if stage else chance.uniform(0.1, 0.5),
            _tint(chance, 0.8 if stage else 0.25),
        )
        for _ in range(chance.integers(3, 7))
    )
    return Light(chance.uniform(0.06, 0.2) if stage else chance.uniform(0.35, 0.7), rgb, lamps)


@lru_cache(maxsize=12)
def lit(flat: Flat, light: Light) -> tuple[Image.Image, ...]:
    """The flat under its light, in display values; each picture half the size of the one before."""
    small = 16
    wide, high = SIZE[0] // small, SIZE[1] // small
    x = (np.arange(wide, dtype=np.float32) + 0.5) * small / PIXELS_PER_M - WIDE_M / 2
    y = HIGH_M - BELOW_M - (np.arange(high, dtype=np.float32) + 0.5) * small / PIXELS_PER_M
    field = np.ones((high, wide, 3), np.float32) * light.ambient * np.asarray(light.rgb, np.float32)
    for lamp in light.lamps:
        far = np.hypot(x[None, :] - lamp.x, y[:, None] - lamp.y) / lamp.radius_m
        field += lamp.level * np.exp(-0.5 * far**2)[..., None] * np.asarray(lamp.rgb, np.float32)
    # Light multiplies reflectance; a power of 1/2.2 turns that into a product of display values.
    gain = np.clip(field ** (1 / 2.2) / 2.0, 0, 1) * 255
    scaled = np.asarray(Image.fromarray(gain.astype(np.uint8)).resize(SIZE, Image.Resampling.BICUBIC))
    shown = np.minimum(np.asarray(flat.paint).astype(np.uint16) * scaled // 127, 255).astype(np.uint8)
    levels = [Image.fromarray(shown)]
    while len(levels) < LEVELS:
        levels.append(levels[-1].reduce(2))
    return tuple(levels)


def random_colour(chance: np.random.Generator, *, dark: bool = False) -> Colour:
    """A colour, not too near to white."""
    grey = chance.uniform(20, 90) if dark else chance.uniform(30, 210)
    spread = chance.choice([6.0, 12.0, 25.0, 55.0])
    red, green, blue = np.clip(grey + chance.normal(0, spread, 3), 8, 235).astype(int)
    return int(red), int(green), int(blue)


def noise_picture(
    chance: np.random.Generator, size: tuple[int, int], octaves: int = 6, fall: float = 0.6
) -> FloatArray:
    """Noise with less power at finer detail; shape (h, w), mean 0, standard deviation 1."""
    wide, high = size
    total = np.zeros((high, wide), np.float32)
    for octave in range(octaves):
        cells = (min(wide, 3 * 2**octave), min(high, 2 * 2**octave))
        grid = chance.normal(0, 1, (cells[1], cells[0])).astype(np.float32)
        total += fall**octave * np.asarray(
            Image.fromarray(grid, "F").resize(size, Image.Resampling.BICUBIC), np.float32
        )
    return (total - total.mean()) / (total.std() + 1e-6)


def _tint(chance: np.random.Generator, strength: float) -> RGB:
    red, green, blue = 2.0 ** chance.normal(0, strength, 3)
    mean = (red + green + blue) / 3
    return float(red / mean), float(green / mean), float(blue / mean)


def _floor_row() -> int:
    return SIZE[1] - round(BELOW_M * PIXELS_PER_M)


def _drawn_flat(chance: np.random.Generator) -> Flat:
    wide, high = SIZE
    floor = _floor_row()
    paint = Image.new("RGB", SIZE, random_colour(chance))
    draw = ImageDraw.Draw(paint)
    kind = chance.choice(["room", "stage", "street"])
    left = 0
    while left < wide:  # panels, house fronts or curtains
        right = left + int(chance.uniform(40, 160) if kind == "stage" else chance.uniform(150, 700))
        if chance.random() < 0.75:
            top = 0 if kind != "street" else int(chance.uniform(0, floor * 0.5))
            draw.rectangle((left, top, right, floor), fill=random_colour(chance, dark=kind == "stage"))
        left = right
    for _ in range(int(chance.integers(18, 40))):
        x, y = int(chance.uniform(0, wide)), int(chance.uniform(0, floor))
        w, h = int(chance.uniform(15, 260)), int(chance.uniform(15, 220))
        fill, edge = random_colour(chance), random_colour(chance, dark=True)
        match chance.integers(0, 6):
            case 0:
                draw.rectangle(
                    (x, y, x + w, y + h), fill=fill, outline=edge, width=int(chance.integers(1, 8))
                )
            case 1:  # a window with its bars
                draw.rectangle((x, y, x + w, y + h), fill=fill, outline=edge, width=5)
                draw.line((x + w // 2, y, x + w // 2, y + h), fill=edge, width=4)
                draw.line((x, y + h // 2, x + w, y + h // 2), fill=edge, width=4)
            case 2:
                draw.ellipse((x, y, x + w, y + w), fill=fill, outline=edge, width=int(chance.integers(1, 8)))
            case 3:  # a shelf
                draw.rectangle((x, y, x + w, y + 6), fill=edge)
                at = x
                while at < x + w:
                    step = int(chance.uniform(5, 18))
                    draw.rectangle(
                        (at, y - int(chance.uniform(20, 50)), at + step, y), fill=random_colour(chance)
                    )
                    at += step
            case 4:  # letters on a poster, as strokes
                draw.rectangle((x, y, x + w, y + h), fill=fill)
                for row in range(y + 8, y + h - 8, 14):
                    draw.line((x + 8, row, x + 8 + chance.uniform(0.3, 0.9) * w, row), fill=edge, width=5)
            case _:  # a pipe or a cable
                to = (x + chance.uniform(-500, 500), y + chance.uniform(-200, 200))
                draw.line((x, y, *to), fill=edge, width=int(chance.integers(2, 12)))
    draw.rectangle((0, floor, wide, high), fill=random_colour(chance, dark=True))
    board = random_colour(chance, dark=True)
    for x in range(-wide, 2 * wide, int(chance.uniform(50, 160))):
        draw.line((wide / 2 + (x - wide / 2) * 0.6, floor, x, high), fill=board, width=3)
    return Flat(paint, ())


def _woven_flat(chance: np.random.Generator) -> Flat:
    wide, high = SIZE
    floor = _floor_row()
    half = (wide // 2, high // 2)
    base = _material(chance, half)
    for _ in range(int(chance.integers(5, 12))):  # soft or hard patches of other materials
        size = (int(chance.uniform(30, 260)), int(chance.uniform(30, 220)))
        mask = Image.new("L", size, 0)
        draw = ImageDraw.Draw(mask)
        inside = (8, 8, size[0] - 9, size[1] - 9)
        (draw.ellipse if chance.random() < 0.4 else draw.rectangle)(inside, fill=255)
        at = (int(chance.uniform(0, half[0])), int(chance.uniform(0, floor / 2)))
        mask = mask.filter(ImageFilter.BoxBlur(float(chance.choice([0, 1, 6]))))
        base.paste(_material(chance, size), at, mask)
    ground = _material(chance, half).point([int(v * 0.7) for v in range(256)] * 3)
    base.paste(ground.crop((0, floor // 2, half[0], half[1])), (0, floor // 2))
    shade = 0.5 + 0.5 * np.exp(-0.5 * (noise_picture(chance, half, 3) * 0.5) ** 2)
    shaded = Image.fromarray((np.asarray(base) * shade[..., None]).astype(np.uint8))
    textures = tuple(_material(chance, (300, 300)) for _ in range(8))
    return Flat(shaded.resize(SIZE, Image.Resampling.BICUBIC), textures)


def _material(chance: np.random.Generator, size: tuple[int, int]) -> Image.Image:
    wide, high = size
    x, y = np.meshgrid(np.arange(wide, dtype=np.float32), np.arange(high, dtype=np.float32))
    first, second = (np.asarray(random_colour(chance), np.float32) for _ in range(2))
    rough = noise_picture(chance, size, int(chance.integers(4, 8)), chance.uniform(0.45, 0.8))
    match chance.integers(0, 5):
        case 0:  # plaster
            mix = 0.5 + 0.2 * rough
        case 1:  # bricks
            tall = chance.uniform(8, 26)
            row = np.floor(y / tall)
            brick = np.floor(x / (2.4 * tall) + 0.5 * (row % 2))
            shade = np.sin(brick * 12.9 + row * 78.2) * 0.25 + 0.6
            joint = ((y % tall) < 2) | (((x + 1.2 * tall * (row % 2)) % (2.4 * tall)) < 2)
            mix = np.where(joint, 0.0, shade) + 0.07 * rough
        case 2:  # folds of cloth
            wave = chance.uniform(14, 70)
            mix = 0.5 + 0.35 * np.sin((x + 9 * rough) * 2 * np.pi / wave) + 0.05 * rough
        case 3:  # plaid
            a, b = chance.uniform(10, 60, 2)
            mix = 0.3 * ((x // a) % 2) + 0.3 * ((y // b) % 2) + 0.2 + 0.08 * rough
        case _:  # wood
            wave = chance.uniform(6, 30)
            mix = 0.5 + 0.25 * np.sin((y + 14 * rough) * 2 * np.pi / wave) + 0.08 * rough
    mix = np.clip(mix, 0, 1)[..., None]
    return Image.fromarray(np.clip(first * mix + second * (1 - mix), 0, 255).astype(np.uint8))
