"""Long rows of samples that grow while a file is read, without ever being copied whole.

A row begins in 32 bits a sample. Halved, it goes on in 16 (IEEE 754 binary16), whose steps are 2**-11 of a
sample: the error lies 80 dB under whatever is loudest just then, under the noise of any camera's microphone.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from audio.channels import AnyFloats

FloatArray = NDArray[np.float32]

# 32 or 16 MB: blocks of this size come from the system and go back to it at once, and untouched pages cost
# nothing.
_BLOCK = 1 << 23


class Row:
    """One channel as blocks of equal size."""

    def __init__(self) -> None:
        self._blocks: list[AnyFloats] = []
        self.halved = False
        """Whether samples are kept in 16 bits."""
        self.size = 0

    @property
    def bytes(self) -> int:
        """Memory that the samples take."""
        return self.size * (2 if self.halved else 4)

    def halve(self) -> None:
        """Keep the samples so far, and those to come, in 16 bits."""
        self.halved = True
        for number, block in enumerate(self._blocks):
            filled = min(_BLOCK, self.size - number * _BLOCK)
            self._blocks[number] = self._block()
            self._blocks[number][:filled] = block[:filled]

    def _block(self) -> AnyFloats:
        return np.empty(_BLOCK, np.float16) if self.halved else np.empty(_BLOCK, np.float32)

    def append(self, piece: FloatArray) -> None:
        """Add samples, shape (n,), at the end."""
        while piece.size:
            at = self.size % _BLOCK
            if at == 0 and self.size == len(self._blocks) * _BLOCK:
                self._blocks.append(self._block())
            part = piece[: _BLOCK - at]
            self._blocks[-1][at : at + part.size] = part
            self.size += part.size
            piece = piece[part.size :]

    def move_into(self, target: AnyFloats) -> None:
        """Copy all samples into the start of ``target``, giving each block back once it is copied."""
        at, self.size = 0, min(self.size, target.size)
        self._blocks.reverse()
        while self._blocks:
            block = self._blocks.pop()
            part = block[: max(0, self.size - at)]
            target[at : at + part.size] = part
            at += part.size
        self.size = 0


def gather(rows: Sequence[Row], starts: Sequence[int]) -> AnyFloats:
    """Array (rows, n) with every row at its start, silence around them; empties the rows.

    In 16 bits if any row was halved.
    """
    first = min(starts)
    length = max(start - first + row.size for row, start in zip(rows, starts, strict=True))
    # Zeros from the system are not touched until written, so this does not need the memory twice.
    out: AnyFloats = np.zeros((len(rows), length), np.float32)
    if any(row.halved for row in rows):
        out = np.zeros((len(rows), length), np.float16)
    for target, row, start in zip(out, rows, starts, strict=True):
        row.move_into(target[start - first :])
    return out
