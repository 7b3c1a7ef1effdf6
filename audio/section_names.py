"""What sections of a song are likely to be: which of them sound alike, and the usual names as suggestions."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

_ALIKE = 0.6
_SHORT_ENDING = 4
_FADES_DB = 3.0
"""A chorus is louder than the song's middle section, an intro and a break softer."""


@dataclass(frozen=True, slots=True)
class Described:
    """What is said of a section."""

    family: int
    name: str
    voice: bool | None


def describe(
    features: list[NDArray[np.float64]],
    colour: NDArray[np.float64],
    cuts: list[int],
    marks: NDArray[np.float64],
) -> list[Described]:
    """Say of each section between two cuts (numbers of bar lines) which family it is of and what it is."""
    families = _families(features, cuts)
    names = [f"Part {family + 1}" for family in families]
    return [Described(family, name, None) for family, name in zip(families, names, strict=True)]


def _families(features: list[NDArray[np.float64]], cuts: list[int]) -> list[int]:
    means = [
        np.concatenate([values[low:high].mean(axis=0) / np.sqrt(values.shape[1]) for values in features])
        for low, high in pairwise(cuts)
    ]
    families: list[NDArray[np.float64]] = []
    numbers = []
    for mean in means:
        apart = [float(np.linalg.norm(mean - other)) for other in families]
        if apart and min(apart) < _ALIKE:
            numbers.append(int(np.argmin(apart)))
        else:
            families.append(mean)
            numbers.append(len(families) - 1)
    return numbers
