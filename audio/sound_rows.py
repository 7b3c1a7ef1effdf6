"""Long rows of samples that grow while a file is read, without ever being copied whole."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float32]

# 32 MB: blocks of this size come from and go back to the system at once, and untouched pages cost nothing.
_BLOCK = 1 << 23


class Row:
    """One channel as blocks of equal size."""

    def __init__(self) -> None:
        self._blocks: list[FloatArray] = []
        self.size = 0

    def append(self, piece: FloatArray) -> None:
        """Add samples, shape (n,), at the end."""
        while piece.size:
            at = self.size % _BLOCK
            if at == 0 and self.size == len(self._blocks) * _BLOCK:
                self._blocks.append(np.empty(_BLOCK, dtype=np.float32))
            part = piece[: _BLOCK - at]
            self._blocks[-1][at : at + part.size] = part
            self.size += part.size
            piece = piece[part.size :]

    def move_into(self, target: FloatArray) -> None:
        """Copy all samples into the start of ``target``, giving each block back once it is copied."""
        at, self.size = 0, min(self.size, target.size)
        self._blocks.reverse()
        while self._blocks:
            block = self._blocks.pop()
            part = block[: max(0, self.size - at)]
            target[at : at + part.size] = part
            at += part.size
        self.size = 0


def gather(rows: Sequence[Row], starts: Sequence[int]) -> FloatArray:
    """Array (rows, n) with every row at its start, silence around them; empties the rows."""
    first = min(starts)
    length = max(start - first + row.size for row, start in zip(rows, starts, strict=True))
    # Zeros from the system are not touched until written, so this does not need the memory twice.
    out = np.zeros((len(rows), length), dtype=np.float32)
    for target, row, start in zip(out, rows, starts, strict=True):
        row.move_into(target[start - first :])
    return out
