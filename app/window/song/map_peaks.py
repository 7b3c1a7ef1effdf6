"""The loudness of a song at every zoom: lowest and highest value of stretches, and of stretches of those."""

from collections.abc import Sequence
from math import ceil, floor

Peak = tuple[float, float]
EACH = 4
"""So many stretches make one of the next, coarser row."""


class MapPeaks:
    """Rows of peaks, each coarser than the one before, all over the same time."""

    def __init__(self, peaks: Sequence[Peak] = (), duration_s: float = 0.0) -> None:
        self._duration_s = duration_s
        self._rows: list[Sequence[Peak]] = [peaks]
        while len(self._rows[-1]) > EACH:
            row = self._rows[-1]
            self._rows.append([_over(row[n : n + EACH]) for n in range(0, len(row), EACH)])
        self.most = max(map(abs, _over(self._rows[-1])), default=0.0) if peaks else 0.0
        """The highest value of all, without its sign."""

    def columns(self, start_s: float, end_s: float, count: int) -> list[Peak]:
        """Lowest and highest value of so many equal columns of time; nothing where there is no sound."""
        if not self._rows[0] or self._duration_s <= 0 or count < 1 or end_s <= start_s:
            return []
        width_s = (end_s - start_s) / count
        row, each = self._rows[0], 1
        for coarser in self._rows[1:]:
            if self._duration_s / len(self._rows[0]) * each * EACH > width_s:
                break
            row, each = coarser, each * EACH
        step_s = self._duration_s / len(self._rows[0]) * each
        out = []
        first, width = start_s / step_s, width_s / step_s
        for n in range(count):
            low = max(0, floor(first + n * width))
            part = row[low : max(low + 1, ceil(first + (n + 1) * width - 1e-9))]
            out.append(part[0] if len(part) == 1 else _over(part) if part else (0.0, 0.0))
        return out


def _over(peaks: Sequence[Peak]) -> Peak:
    """Lowest and highest value of several.

    >>> _over([(-1.0, 0.5), (-0.2, 2.0)])
    (-1.0, 2.0)
    """
    return min(low for low, _ in peaks), max(high for _, high in peaks)
