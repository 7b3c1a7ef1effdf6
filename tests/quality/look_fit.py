"""Fits the weights of `audio.pictures.likeness`: ``python -m tests.quality.look_fit --shoots 40``.

On shoots of the ``drawn`` style with seeds from 0 on, which the board never reports.
"""

import argparse
from collections.abc import Sequence
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from audio.pictures.comparing import compared
from audio.pictures.likeness import WALKS, held_terms, walking_terms
from audio.pictures.portraits import portrait_of
from tests.quality.look_shoots import kind_of, random_shoot

Array = NDArray[np.float64]
KEPT = 0.3
"""Share of pairs of quite different set-ups that are compared: there are far more than of all others."""
RIDGE = 0.02


def pairs(seed: int) -> list[tuple[bool, dict[str, float], bool, float]]:
    """Of a shoot's pairs: whether a camera walks about, terms, whether they are one set-up, and weight."""
    chance = np.random.default_rng(seed)
    shots = random_shoot(seed, "drawn")
    portraits = [portrait_of(shot) for shot in shots]
    found = []
    for a, b in combinations(range(len(shots)), 2):
        one, another = portraits[a], portraits[b]
        walks = min(one.steady, another.steady) < WALKS
        other = kind_of(shots[a], shots[b]) == "other" and not walks
        if not other or chance.random() < KEPT:
            same = shots[a].set_up == shots[b].set_up
            pair = compared(one, another)
            terms = walking_terms(pair, one, another) if walks else held_terms(pair)
            found.append((walks, terms, same, 1 / KEPT if other else 1.0))
    return found


def fitted(terms: Sequence[dict[str, float]], same: Array, weight: Array) -> dict[str, float]:
    """Weights of a logistic model with a ridge, by Newton's method on standardised terms."""
    names = list({name: 0 for one in terms for name in one})
    values = np.array([[one.get(name, 0.0) for name in names] for one in terms])
    middle, spread = values.mean(axis=0), values.std(axis=0)
    middle[0], spread[0] = 0.0, 1.0
    scaled = (values - middle) / np.where(spread < 1e-9, 1.0, spread)
    ridge = RIDGE * len(same) / 100 * np.eye(len(names))
    ridge[0, 0] = 0.0
    found = np.zeros(len(names))
    for _ in range(60):
        said = 1 / (1 + np.exp(-np.clip(scaled @ found, -30, 30)))
        slope = scaled.T @ (weight * (said - same)) + ridge @ found
        bend = (scaled * (weight * said * (1 - said))[:, None]).T @ scaled + ridge
        found -= np.clip(np.linalg.solve(bend + 1e-9 * np.eye(len(names)), slope), -3, 3)
    plain = found / np.where(spread < 1e-9, 1.0, spread)
    plain[0] = found[0] - float((plain[1:] * middle[1:]).sum())
    return {name: round(float(value), 3) for name, value in zip(names, plain, strict=True)}


def main() -> None:
    """Print the weights, to be written into the module."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--shoots", type=int, default=40)
    seeds = range(parser.parse_args().shoots)
    rows = [row for seed in seeds for row in pairs(seed)]
    for name, walking in (("WEIGHTS", False), ("WALKING", True)):
        mine = [row for row in rows if row[0] == walking]
        same, weight = np.array([float(row[2]) for row in mine]), np.array([row[3] for row in mine])
        print(name, "=", fitted([row[1] for row in mine], same, weight))


if __name__ == "__main__":
    main()
