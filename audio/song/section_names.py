"""What sections of a song are likely to be: which of them sound alike, and the usual names as suggestions."""

from collections import Counter
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from audio.song.onsets import RATE

_HOP = 512
_ALIKE = 0.6
"""Distance under which two sections are of one family: of pairs said to be alike, 92 in 100 are (composed
songs)."""
_SOFTER_DB = 4.0
"""A break lies so far below the verses."""


@dataclass(frozen=True, slots=True)
class Described:
    """What is said of a section."""

    family: int
    name: str
    voice: bool | None
    """Never told so far: what marks a voice in one mix is there without one in the next."""


def describe(
    features: list[NDArray[np.float64]],
    colour: NDArray[np.float64],
    cuts: list[int],
    marks: NDArray[np.float64],
) -> list[Described]:
    """Say of each section which family it is of and what it may be.

    ``cuts`` are numbers of bar lines, ``marks`` the same in seconds, ``colour`` the level of bands in dB by
    frame.
    """
    families = _families(features, cuts)
    level = colour.mean(axis=1)
    places = np.clip((marks * RATE / _HOP).astype(int), 0, len(level) - 1)
    levels = [float(level[low : max(low + 1, high)].mean()) for low, high in pairwise(places)]
    kinds = _kinds(families, levels)
    return [
        Described(family, name, None)
        for family, name in zip(families, _numbered(kinds, families), strict=True)
    ]


def _families(features: list[NDArray[np.float64]], cuts: list[int]) -> list[int]:
    """Number of the family of each section, from 0 in the order in which they come."""
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
    """Usual name of each section; empty where nothing speaks for one.

    Of what returns, the loudest is the chorus and what returns most of the rest the verse; what comes only
    first or only last is intro or outro; what comes once, and soft, is a break. A bridge and a solo cannot
    be told apart.
    """
    times = Counter(families)
    loud = {
        family: max(one for of, one in zip(families, levels, strict=True) if of == family) for family in times
    }
    returning = sorted((family for family in times if times[family] > 1), key=lambda family: -loud[family])
    kinds = ["" for _ in families]
    if not returning:
        return kinds
    if len(returning) > 1:
        chorus = returning[0]
        verse = max(returning[1:], key=lambda family: (times[family], loud[family]))
        for place, (family, level) in enumerate(zip(families, levels, strict=True)):
            if family in (chorus, verse):
                kinds[place] = "Chorus" if family == chorus else "Verse"
            elif times[family] == 1 and level < loud[verse] - _SOFTER_DB:
                kinds[place] = "Break"
    if times[families[0]] == 1:
        kinds[0] = "Intro"
    if times[families[-1]] == 1:
        kinds[-1] = "Outro"
    return kinds


def _numbered(kinds: list[str], families: list[int]) -> list[str]:
    """Names with a number where there are several of a kind; Part and the family's number where there is no
    kind."""
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
