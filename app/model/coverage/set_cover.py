"""Set cover with costs: which of several sets to take so that every element is covered often enough, cheaply.

The problem is NP-hard. Greedy choice by new elements per cost is within 1 + 1/2 + … + 1/n of the best cost,
n being the size of the largest set (Chvátal 1979, "A greedy heuristic for the set-covering problem"; from
memory; for elements wanted several times Dobson 1982 shows the same).
"""

import heapq
from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Candidate:
    """A set that can be taken."""

    mask: int
    """Its elements, as bits of a number."""
    cost: float
    """Above zero."""
    once: str = ""
    """Candidates of one such name cover an element once together, however many of them are taken; empty where
    each counts for itself."""


class Wanted:
    """How often each element is still to be covered."""

    def __init__(self, layers: Sequence[int]) -> None:
        """``layers``: the elements wanted once and more, those wanted twice and more, and so on, as bits."""
        self._layers = [*layers]
        self._done: dict[str, int] = {}

    def gain(self, candidate: Candidate) -> int:
        """How many elements that are still wanted it would cover."""
        return self._new(candidate).bit_count()

    def take(self, candidate: Candidate) -> int:
        """Cover them; the elements it covered that were still wanted, as bits."""
        new = self._new(candidate)
        if candidate.once:
            self._done[candidate.once] = self._done.get(candidate.once, 0) | candidate.mask
        for n, layer in enumerate(self._layers):
            deeper = self._layers[n + 1] if n + 1 < len(self._layers) else 0
            self._layers[n] = (layer & ~new) | (deeper & new)
        return new

    def _new(self, candidate: Candidate) -> int:
        open_now = self._layers[0] if self._layers else 0
        return candidate.mask & open_now & ~self._done.get(candidate.once, 0)


def greedy_cover(layers: Sequence[int], candidates: Sequence[Candidate]) -> tuple[int, ...]:
    """Indices of the candidates to take, those that gain most for their cost first.

    Elements that no candidate covers stay uncovered. Those of the chosen that turn out to be needless are
    left out. Earlier candidates win where several gain the same.

    >>> greedy_cover([0b0111], [Candidate(0b0011, 1.0), Candidate(0b0110, 1.0), Candidate(0b0111, 1.2)])
    (2,)
    """
    chosen = _chosen(layers, candidates, range(len(candidates)))
    for needless in sorted(chosen, key=lambda n: -candidates[n].cost):
        rest = [n for n in chosen if n != needless]
        if _covered(layers, candidates, rest) == _covered(layers, candidates, chosen):
            chosen = rest
    return tuple(_chosen(layers, candidates, chosen))


def _chosen(layers: Sequence[int], candidates: Sequence[Candidate], among: Sequence[int]) -> list[int]:
    wanted, chosen = Wanted(layers), []
    heap = [(-wanted.gain(candidates[n]) / candidates[n].cost, n) for n in among]
    heapq.heapify(heap)
    while heap:
        before, n = heapq.heappop(heap)
        now = -wanted.gain(candidates[n]) / candidates[n].cost
        if now == 0:
            continue
        if now == before:  # gains only fall, so nothing below can have risen above this one
            wanted.take(candidates[n])
            chosen.append(n)
        else:
            heapq.heappush(heap, (now, n))
    return chosen


def _covered(layers: Sequence[int], candidates: Sequence[Candidate], chosen: Sequence[int]) -> int:
    """How many wanted coverings they make together."""
    wanted = Wanted(layers)
    return sum(wanted.take(candidates[n]).bit_count() for n in chosen)
