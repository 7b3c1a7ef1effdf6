"""Several references as one long song, with silence between: so places in different ones compete as places
in one song do."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from audio.placement.search import BLOCK_S, SongIndex

BETWEEN_S = 2 * BLOCK_S
"""Silence between two references: no block reaches from one into the next."""


@dataclass(frozen=True, slots=True, eq=False)
class Composite:
    """References joined."""

    index: SongIndex
    keys: tuple[str, ...]
    starts_s: tuple[float, ...]
    """Where each begins."""
    ends_s: tuple[float, ...]

    @classmethod
    def of(cls, keys: Sequence[str], indexes: Sequence[SongIndex]) -> "Composite":
        """Join references."""
        rate = indexes[0].rate
        silence = np.zeros(int(BETWEEN_S * rate), np.float32)
        parts: list[np.ndarray[tuple[int], np.dtype[np.float32]]] = []
        starts, ends, at = [], [], 0
        for index in indexes:
            starts.append(at / rate)
            ends.append((at + len(index.samples)) / rate)
            # Each as loud as the others: what is whitened together must not drown in one of them.
            level = float(np.sqrt(np.mean(np.square(index.samples, dtype=np.float64))))
            parts += [(index.samples / np.float32(level or 1.0) * np.float32(0.1)), silence]
            at += len(index.samples) + len(silence)
        joined = np.concatenate(parts[:-1]).astype(np.float32, copy=False)
        return cls(SongIndex.build(joined, rate), tuple(keys), tuple(starts), tuple(ends))

    def at(self, time_s: float) -> tuple[str, float]:
        """Which reference lies at a time (the nearest, in a silence), and where it begins (s)."""
        away = [
            max(start - time_s, time_s - end, 0.0)
            for start, end in zip(self.starts_s, self.ends_s, strict=True)
        ]
        number = int(np.argmin(away))
        return self.keys[number], self.starts_s[number]

    def length_s(self, key: str) -> float:
        """How long a reference is (s)."""
        number = self.keys.index(key)
        return self.ends_s[number] - self.starts_s[number]
