"""Buffers of samples that grow while a file is read, without ever being copied as a whole.

A buffer starts with 32-bit samples. It can change to 16-bit ones (IEEE 754 binary16), whose rounding error is
at most 2**-11 of each sample: quantisation noise far under the noise of a camera's microphone.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from audio.files.channels import AnyFloats

FloatArray = NDArray[np.float32]

_BLOCK = 1 << 25
"""Bytes per block. Blocks of this size are mapped by the system and returned to it when freed, and pages that
are not written cost nothing; the C library keeps smaller ones (glibc: up to 32 MB)."""


class SampleBuffer:
    """The samples of one channel, in blocks of equal size."""

    def __init__(self) -> None:
        self._blocks: list[AnyFloats] = []
        self.half = False
        """Whether samples are stored in 16 bits."""
        self.size = 0
        """Number of samples."""

    @property
    def bytes(self) -> int:
        """Bytes that the samples take."""
        return self.size * (2 if self.half else 4)

    def to_half(self) -> None:
        """Store the samples so far, and those to come, in 16 bits."""
        size, blocks = self.size, self._blocks[::-1]
        self.half, self.size, self._blocks = True, 0, []
        while blocks:
            self.append(blocks.pop()[: size - self.size])

    def append(self, piece: AnyFloats) -> None:
        """Append samples, shape (n,)."""
        most = _BLOCK // (2 if self.half else 4)
        while piece.size:
            at = self.size % most
            if at == 0:
                self._blocks.append(np.empty(most, np.float16) if self.half else np.empty(most, np.float32))
            part = piece[: most - at]
            self._blocks[-1][at : at + part.size] = part
            self.size += part.size
            piece = piece[part.size :]

    def move_into(self, target: AnyFloats) -> None:
        """Move all samples to the start of ``target``, freeing each block once it is copied."""
        at, self.size = 0, min(self.size, target.size)
        self._blocks.reverse()
        while self._blocks:
            block = self._blocks.pop()
            part = block[: max(0, self.size - at)]
            target[at : at + part.size] = part
            at += part.size
        self.size = 0


def gather(rows: Sequence[SampleBuffer], starts: Sequence[int]) -> AnyFloats:
    """Move buffers into one array, shape (buffers, n), each at its start (in samples), zeros around them.

    16-bit if any buffer is. The buffers are empty afterwards.
    """
    first = min(starts)
    length = max(start - first + row.size for row, start in zip(rows, starts, strict=True))
    # The system maps zeroed pages when they are written, so this does not need the memory twice.
    out: AnyFloats = np.zeros((len(rows), length), np.float32)
    if any(row.half for row in rows):
        out = np.zeros((len(rows), length), np.float16)
    for target, row, start in zip(out, rows, starts, strict=True):
        row.move_into(target[start - first :])
    return out
