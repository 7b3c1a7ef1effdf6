"""The Viterbi algorithm over lag bins: the path of most evidence through a sequence of blocks.

In each block the clip is either nowhere in the song or in one lag bin. Staying on a line, to within one bin,
is free; beginning a line has a cost. A restart or a stop ends a line, so that one clip can hold several
takes.
"""

import numpy as np
from numpy.typing import NDArray

NOWHERE = -1
"""State of a block that lies on no line."""
BEGIN = 2
"""Step of a block with which a line begins."""

Evidence = NDArray[np.float32]


class ViterbiPath:
    """Blocks are added in order, then the best path is read off.

    Memory: a quarter of a byte per block and bin.

    >>> path = ViterbiPath(begin_cost=3.0)
    >>> for evidence in ([0, 0, 5, 0], [0, 0, 1, 4], [0, 0, 0, 0], [6, 0, 0, 0]):
    ...     path.add(np.array(evidence, np.float32), 0)
    >>> path.best()
    [(2, True), (3, False), (-1, False), (0, True)]
    """

    def __init__(self, begin_cost: float) -> None:
        self._cost = begin_cost
        self._steps: list[NDArray[np.uint8]] = []
        self._moves: list[int] = []
        self._before: list[int] = []
        self._line: Evidence = np.empty(0, np.float32)
        self._nowhere = 0.0

    def add(self, evidence: Evidence, moved: int) -> None:
        """Add the evidence of a block, shape (bins,), whose bins lie ``moved`` bins further on than those of
        the block before."""
        first = not self._steps
        # A path that begins a line here, or is nowhere here, comes from the best state before.
        last = NOWHERE if first else int(self._line.argmax())
        if not first and self._line[last] <= self._nowhere:
            last = NOWHERE
        self._nowhere = self._nowhere if last == NOWHERE else float(self._line[last])
        step = np.full(len(evidence), BEGIN, np.int8)
        best = np.full(len(evidence), self._nowhere - self._cost, np.float32)
        if not first:
            for side in (0, -1, 1):
                came = _shifted(self._line, moved + side)
                better = came > best
                np.copyto(best, came, where=better)
                step[better] = side
        self._line = best + evidence
        self._steps.append(_packed(step))
        self._moves.append(moved)
        self._before.append(last)

    def best(self) -> list[tuple[int, bool]]:
        """For each block its bin (or NOWHERE), and whether a line begins there."""
        if not self._steps:
            return []
        end = int(self._line.argmax())
        state = end if self._line[end] > self._nowhere else NOWHERE
        path: list[tuple[int, bool]] = []
        for number in range(len(self._steps) - 1, -1, -1):
            if state == NOWHERE:
                path.append((NOWHERE, False))
                state = self._before[number]
                continue
            step = _unpacked(self._steps[number], state)
            path.append((state, step == BEGIN))
            state = self._before[number] if step == BEGIN else state - self._moves[number] - step
        return path[::-1]


def _shifted(line: Evidence, bins: int) -> Evidence:
    """The scores shifted up by ``bins``; those shifted past the end are lost."""
    out = np.full(len(line), -np.inf, np.float32)
    if 0 <= bins < len(line):
        out[bins:] = line[: len(line) - bins]
    elif -len(line) < bins < 0:
        out[:bins] = line[-bins:]
    return out


def _packed(step: NDArray[np.int8]) -> NDArray[np.uint8]:
    """Steps -1, 0, 1 and BEGIN, four to a byte: a clip of hours has hundreds of millions."""
    codes = np.zeros(-(-len(step) // 4) * 4, np.uint8)
    codes[: len(step)] = step + 1
    four = codes.reshape(-1, 4)
    return np.asarray(four[:, 0] | four[:, 1] << 2 | four[:, 2] << 4 | four[:, 3] << 6, np.uint8)


def _unpacked(packed: NDArray[np.uint8], index: int) -> int:
    """One step of :func:`_packed`.

    >>> [_unpacked(_packed(np.array([-1, 2, 0, 1, 2], np.int8)), index) for index in range(5)]
    [-1, 2, 0, 1, 2]
    """
    return (int(packed[index // 4]) >> 2 * (index % 4) & 3) - 1
