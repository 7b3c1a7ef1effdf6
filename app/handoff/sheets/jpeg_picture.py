"""A picture of a clip as a sheet holds it: a small JPEG."""

import io
from typing import Protocol

from PIL import Image

from app.handoff.sheets.sheet import Picture

PICTURE_HEIGHT = 270
"""Pixels: printed three in a row, that is 300 to the inch."""
QUALITY = 82
"""Of the JPEG: on paper 5 cm wide nothing of it is seen."""


class Pixels(Protocol):
    """RGB values in bytes, shape (height, width, 3), as an array holds them."""

    @property
    def shape(self) -> tuple[int, ...]: ...

    def tobytes(self) -> bytes: ...


def jpeg_picture(pixels: Pixels) -> Picture:
    """The pixels as a picture without a caption."""
    height, width = pixels.shape[:2]
    file = io.BytesIO()
    Image.frombytes("RGB", (width, height), pixels.tobytes()).save(file, "JPEG", quality=QUALITY)
    return Picture(file.getvalue(), width, height, "")
