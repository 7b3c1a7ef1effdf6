"""Long rows of samples that grow while a file is read, without ever being copied whole.

A row begins in 32 bits a sample. Halved, it goes on in 16 (IEEE 754 binary16), whose steps are 2**-11 of a
sample: the error lies 80 dB under whatever is loudest just then, under the noise of any camera's microphone.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from audio.files.channels import AnyFloats

FloatArray = NDArray[np.float32]

_BLOCK = 1 << 25
"""Bytes. Blocks of this size (not smaller ones: the C library keeps those for itself, glibc up to 32 MB) come
from the system and go back to it at once, and untouched pages cost nothing."""


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
        size, blocks = self.size, self._blocks[::-1]
        self.halved, self.size, self._blocks = True, 0, []
        while blocks:
            self.append(blocks.pop()[: size - self.size])

    def append(self, piece: AnyFloats) -> None:
        """Add samples, shape (n,), at the end."""
        most = _BLOCK // (2 if self.halved else 4)
        while piece.size:
            at = self.size % most
            if at == 0:
                self._blocks.append(np.empty(most, np.float16) if self.halved else np.empty(most, np.float32))
            part = piece[: most - at]
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
