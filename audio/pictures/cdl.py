"""The arithmetic of the ASC CDL, the colour decision list of the American Society of Cinematographers.

``out = clamp(in × slope + offset) ^ power`` for each of red, green and blue, then the saturation:
``out = clamp(luma + saturation × (out − luma))`` with the luma of ITU-R BT.709, 0.2126 0.7152 0.0722 (ASC CDL
transfer functions and interchange syntax, version 1.2). Values count from 0 to 1, and are limited to that.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

LUMA = (0.2126, 0.7152, 0.0722)
"""Weights of red, green and blue (ITU-R BT.709)."""
Three = tuple[float, float, float]


def three(figures: Sequence[float]) -> Three:
    """Figures for red, green and blue. Raises ValueError where they are not three."""
    red, green, blue = figures
    return red, green, blue


@dataclass(frozen=True, slots=True)
class Cdl:
    """Slope, offset and power for red, green and blue, and the saturation of all."""

    slope: Three = (1.0, 1.0, 1.0)
    offset: Three = (0.0, 0.0, 0.0)
    power: Three = (1.0, 1.0, 1.0)
    saturation: float = 1.0

    def __post_init__(self) -> None:
        """Raises ValueError for figures that the standard does not allow."""
        figures = (*self.slope, *self.offset, *self.power, self.saturation)
        if [len(self.slope), len(self.offset), len(self.power)] != [3, 3, 3]:
            raise ValueError("Slope, offset and power have three figures each.")
        if not all(map(math.isfinite, figures)):
            raise ValueError("A figure is not finite.")
        if min(self.slope) < 0 or min(self.power) <= 0 or self.saturation < 0:
            raise ValueError("Slope and saturation are not negative, and power is more than 0.")

    def applied(self, rgb: NDArray[np.float64]) -> NDArray[np.float64]:
        """Pictures, shape (…, 3), after it.

        >>> cdl = Cdl((0.9, 1.2, 0.5), (0.4, -0.5, 0.6), (1.0, 0.8, 1.5), 0.85)
        >>> cdl.applied(np.full(3, 0.5)).round(6).tolist()
        [0.775096, 0.187312, 0.718708]
        """
        out: NDArray[np.float64] = (
            np.clip(rgb * np.array(self.slope) + np.array(self.offset), 0.0, 1.0) ** self.power
        )
        if self.saturation != 1.0:
            luma = (out @ np.array(LUMA))[..., None]
            out = np.clip(luma + self.saturation * (out - luma), 0.0, 1.0)
        return out

    def applied_to_bytes(self, rgb: NDArray[np.uint8]) -> NDArray[np.uint8]:
        """A picture in eight bits, shape (…, 3), after it: by tables, quick enough for a preview."""
        scale = np.arange(256)[:, None] / 255
        tables = 255 * np.clip(scale * np.array(self.slope) + np.array(self.offset), 0.0, 1.0) ** self.power
        if self.saturation == 1.0:
            whole = np.rint(tables).astype(np.uint8)
            quick: NDArray[np.uint8] = np.stack([whole[:, n][rgb[..., n]] for n in range(3)], axis=-1)
            return quick
        # Of each channel's figure a share goes to its own value, and the rest, by its luma, to all three.
        exact = tables.astype(np.float32)
        parts = [exact[:, n][rgb[..., n]] for n in range(3)]
        luma = sum(weight * part for weight, part in zip(LUMA, parts, strict=True))
        rest = np.float32(1.0 - self.saturation) * luma
        kept = np.float32(self.saturation)
        out = np.stack([kept * part + rest for part in parts], axis=-1)
        rounded: NDArray[np.uint8] = np.rint(np.clip(out, 0, 255)).astype(np.uint8)
        return rounded


NEUTRAL = Cdl()
"""The one that changes nothing."""
