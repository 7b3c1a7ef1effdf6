"""What is left of a picture in another shape: crops in whole pixels, and where in the picture they lie."""

from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True, slots=True)
class Shape:
    """A shape of picture, by its name among those who make them."""

    name: str
    ratio: Fraction
    """Width to height."""


SHAPES = (
    Shape("2.39", Fraction(239, 100)),
    Shape("2.35", Fraction(235, 100)),
    Shape("2.00", Fraction(2)),
    Shape("1.85", Fraction(185, 100)),
    Shape("16:9", Fraction(16, 9)),
    Shape("4:5", Fraction(4, 5)),
    Shape("1:1", Fraction(1)),
    Shape("9:16", Fraction(9, 16)),
)


@dataclass(frozen=True, slots=True)
class Crop:
    """A part of a picture, in its pixels."""

    x: int
    y: int
    width: int
    height: int

    @property
    def words(self) -> str:
        """Size, and the place of its upper left corner.

        >>> crop(3840, 2160, Fraction(9, 16)).words
        '1214 × 2160 at 1313, 0'
        """
        return f"{self.width} × {self.height} at {self.x}, {self.y}"


def crop(width: int, height: int, ratio: Fraction, shift_x: float = 0.0, shift_y: float = 0.0) -> Crop:
    """The largest part of a picture that has a shape, sizes rounded down to even pixels.

    Even, because most codings keep colours for two by two pixels; rounding down is common practice. Shifts
    are shares of the room there is, from -1 (left, up) over 0 (the middle) to 1. Raises ValueError for a
    picture without pixels.
    """
    if width < 2 or height < 2 or ratio <= 0:
        raise ValueError("A picture without pixels cannot be cropped.")
    wide, high = (width, int(width / ratio)) if width <= height * ratio else (int(height * ratio), height)
    wide, high = max(2, wide // 2 * 2), max(2, high // 2 * 2)
    return Crop(_place(width - wide, shift_x), _place(height - high, shift_y), wide, high)


def _place(room: int, shift: float) -> int:
    return round(room / 2 * (1 + within(shift)))


def within(shift: float) -> float:
    """A shift as far as there is room."""
    return min(max(shift, -1.0), 1.0)
