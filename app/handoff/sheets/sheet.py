"""What a sheet is made of, whatever it is written as: headings, paragraphs, tables, drawings, pictures.

All of it reads in black and white: states are told by signs and words, drawings by greys and hatching.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

TICK_BOX = "\N{BALLOT BOX}"
"""A cell of nothing but this is a box to tick off with a pen."""


class Paper(StrEnum):
    """Sizes of paper."""

    A4 = "a4"
    """ISO 216: 210 by 297 mm."""
    LETTER = "letter"
    """ANSI/ASME Y14.1 size A: 8.5 by 11 inches."""

    @property
    def size_pt(self) -> tuple[float, float]:
        """Width and height in points of 1/72 inch."""
        return (210 / 25.4 * 72, 297 / 25.4 * 72) if self is Paper.A4 else (612.0, 792.0)


@dataclass(frozen=True, slots=True)
class Heading:
    """The title of what follows it on the same page."""

    text: str


@dataclass(frozen=True, slots=True)
class Text:
    """A paragraph."""

    text: str
    small: bool = False


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table."""

    title: str
    share: float
    """Its part of the page's width; they add up to 1."""
    right: bool = False
    """Figures stand at the right."""


@dataclass(frozen=True, slots=True)
class Rows:
    """A table; its head is repeated on every page."""

    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle of a drawing."""

    x: float
    y: float
    width: float
    height: float
    grey: float = 1.0
    """Its inside: 0 is black, 1 is white."""
    hatched: bool = False
    edge: bool = True


@dataclass(frozen=True, slots=True)
class Label:
    """A word in a drawing; ``y`` is its base line."""

    x: float
    y: float
    text: str
    size: float
    bold: bool = False
    centred: bool = False
    most: float = 0.0
    """It is shortened to this width; 0: as long as it is."""


@dataclass(frozen=True, slots=True)
class Drawing:
    """Rectangles and words, in a width of 1000; y counts downward. It is as wide as the page."""

    height: float
    boxes: tuple[Box, ...]
    labels: tuple[Label, ...]
    spoken: str
    """What it shows, for those who do not see it."""


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture with a line below it."""

    jpeg: bytes
    width: int
    height: int
    """Pixels."""
    caption: str


@dataclass(frozen=True, slots=True)
class Pictures:
    """Pictures beside each other, three in a row."""

    pictures: tuple[Picture, ...]


Block = Heading | Text | Rows | Drawing | Pictures


@dataclass(frozen=True, slots=True)
class Sheet:
    """A sheet to be written."""

    title: str
    subtitle: str
    blocks: Sequence[Block]
