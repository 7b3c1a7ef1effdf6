"""Which sections of a song sound alike (families), and their usual names as suggestions."""

from collections import Counter
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from audio.song.chroma import HOP
from audio.song.onsets import RATE

_ALIKE = 0.6
"""Distance (no unit, scaled features) below which two sections are of one family. On composed songs 92 of 100
pairs grouped by it belong together; a larger one groups more and is wrong more often."""
_SOFTER_DB = 4.0
"""A break is at least this much softer than the verses; chosen by hand."""


@dataclass(frozen=True, slots=True)
class Described:
    """Family and name of a section."""

    family: int
    """Number of the family, from 0."""
    name: str
    voice: bool | None
    """Whether a lead voice carries it. Always None so far: no feature that was tried holds from one mix to
    the next."""


def describe(
    features: list[NDArray[np.float64]],
    timbre: NDArray[np.float64],
    cuts: list[int],
    marks: NDArray[np.float64],
) -> list[Described]:
    """Group sections into families and suggest names.

    ``features`` are arrays of shape (bars, values); ``cuts`` are the section edges as numbers of bar lines,
    ``marks`` the same in seconds of song time; ``timbre`` is the level of mel bands in dB, shape (frames,
    bands), HOP samples a frame.
    """
    families = _families(features, cuts)
    level = timbre.mean(axis=1)
    places = np.clip((marks * RATE / HOP).astype(int), 0, len(level) - 1)
    levels = [float(level[low : max(low + 1, high)].mean()) for low, high in pairwise(places)]
    kinds = _kinds(families, levels)
    return [
        Described(family, name, None)
        for family, name in zip(families, _numbered(kinds, families), strict=True)
    ]


def _families(features: list[NDArray[np.float64]], cuts: list[int]) -> list[int]:
    """Family number of each section, counted from 0 in order of appearance."""
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


def _kinds(families: list[int], levels: list[float]) -> list[str]:
    """Usual name of each section, by its family and level in dB; empty where there is no evidence for one.

    Of the families that are repeated, the loudest is the chorus, and of the rest the most repeated is the
    verse. A family that appears only at the start is the intro, only at the end the outro; a soft one that
    appears once is a break. A bridge and a solo cannot be told apart.
    """
    times = Counter(families)
    loudest = {
        family: max(one for of, one in zip(families, levels, strict=True) if of == family) for family in times
    }
    repeated = sorted((family for family in times if times[family] > 1), key=lambda family: -loudest[family])
    kinds = ["" for _ in families]
    if not repeated:
        return kinds
    if len(repeated) > 1:
        chorus = repeated[0]
        verse = max(repeated[1:], key=lambda family: (times[family], loudest[family]))
        for place, (family, level) in enumerate(zip(families, levels, strict=True)):
            if family in (chorus, verse):
                kinds[place] = "Chorus" if family == chorus else "Verse"
            elif times[family] == 1 and level < loudest[verse] - _SOFTER_DB:
                kinds[place] = "Break"
    if times[families[0]] == 1:
        kinds[0] = "Intro"
    if times[families[-1]] == 1:
        kinds[-1] = "Outro"
    return kinds


def _numbered(kinds: list[str], families: list[int]) -> list[str]:
    """Number the names that occur several times; sections without a name become Part and the family's
    number."""
    times = Counter(kinds)
    seen: Counter[str] = Counter()
    names = []
    for kind, family in zip(kinds, families, strict=True):
        seen[kind] += 1
        if not kind:
            names.append(f"Part {family + 1}")
        else:
            names.append(f"{kind} {seen[kind]}" if times[kind] > 1 else kind)
    return names
