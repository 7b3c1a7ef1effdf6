"""Pictures of the reference and of a take side by side, with the match previewed, and patches of each."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from app.model.document.looks import Match
from audio.files.frame_images import pictures_at
from audio.pictures.cdl import LUMA, Cdl, three

BANDS = ((0.02, 0.1), (0.2, 0.3), (0.45, 0.55), (0.7, 0.8), (0.9, 0.98))
"""Ranks by luma between which a patch is the mean colour: from shadows to highlights."""
Colour = tuple[int, int, int]


@dataclass(frozen=True, slots=True)
class SideBySide:
    """A moment of the song as the reference shows it, and as a take does before and after its match."""

    pictures: tuple[NDArray[np.uint8], ...]
    """RGB, each of shape (height, width, 3): the reference, the take, the take matched; one where the take is
    the reference, two without a match."""
    patches: tuple[tuple[Colour, ...], ...]
    """For each picture the mean colours of `BANDS`."""


@dataclass(frozen=True, slots=True)
class Moment:
    """A moment of a clip (s)."""

    path: Path
    clip_s: float


def side_by_side(reference: Moment, take: Moment | None, match: Match | None, height: int) -> SideBySide:
    """Read the pictures, so many lines high. Raises Unreadable.

    Nothing is made but pictures to be looked at: no file is touched.
    """
    pictures = pictures_at(reference.path, [reference.clip_s], height)
    if take is not None:
        (own,) = pictures_at(take.path, [take.clip_s], height)
        pictures.append(own)
        if match is not None:
            pictures.append(matched_picture(own, match))
    return SideBySide(tuple(pictures), tuple(patches(one) for one in pictures))


def matched_picture(picture: NDArray[np.uint8], match: Match) -> NDArray[np.uint8]:
    """A picture of a take (RGB, shape (height, width, 3)) with its match applied, for a preview."""
    cdl = Cdl(three(match.slope), three(match.offset), three(match.power), match.saturation)
    return cdl.applied_to_bytes(picture)


def patches(picture: NDArray[np.uint8], bands: Sequence[tuple[float, float]] = BANDS) -> tuple[Colour, ...]:
    """Mean colours of a picture between ranks of luma: two framings of one scene can be compared by them.

    >>> patches(np.full((10, 10, 3), 7, np.uint8))
    ((7, 7, 7), (7, 7, 7), (7, 7, 7), (7, 7, 7), (7, 7, 7))
    """
    pixels = picture.reshape(-1, 3)
    order = np.argsort(pixels @ np.array(LUMA), kind="stable")
    found = []
    for low, high in bands:
        first = int(low * len(order))
        chosen = pixels[order[first : max(first + 1, int(high * len(order)))]]
        red, green, blue = (round(float(one)) for one in chosen.mean(axis=0))
        found.append((red, green, blue))
    return tuple(found)
