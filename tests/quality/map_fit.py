"""Fits the weights of the map's engine on composed songs: ``python -m tests.quality.map_fit [--songs 162]``.

Prints LEVEL_WEIGHTS of `audio.song.metrical_level`, and DOWNBEAT_WEIGHTS and DOWNBEAT_OFFSET of
`audio.song.metre`, as fitted on the songs of map_music.py before the number given, and how often the song's
own metrical level wins when whole genres are left out. Songs count by how usual their tempo is: three in four
as measured on 912 songs (Nieto and others 2019), the rest spread wider. Songs from APART on are for judging
and never fitted on.
"""

import argparse
import sys
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize

from audio.song import metrical_level
from audio.song.chroma import chroma
from audio.song.metre import downbeat_features
from audio.song.onsets import find_onsets
from tests.quality.map_music import APART, make

Matrix = NDArray[np.float64]


def examples(number: int) -> tuple[Matrix, Matrix, NDArray[np.bool_]]:
    """Features of all metrical levels of a song, its own first; features of its beats, and which are
    downbeats."""
    song = make(number).song
    onsets, chroma_rows = find_onsets(song.samples), chroma(song.samples)
    maxima = metrical_level.local_maximum(metrical_level.onset_features(onsets, chroma_rows))
    frames = onsets.frames(song.beats_s)
    levels = metrical_level.metrical_levels(maxima, frames)
    ways = [metrical_level.level_features(maxima, one.frames, one.bpm) for one in levels]
    firsts = np.isin(np.round(song.beats_s, 5), np.round(song.bars_s, 5))
    return np.array(ways), downbeat_features(maxima, frames, chroma_rows, song.beats_s), firsts


def fit_levels(songs: Sequence[Matrix], weights: Matrix, least: float = 0.01) -> Matrix:
    """Weights under which the first row of each song is likeliest (softmax, kept small by ``least``)."""
    spread = np.concatenate(songs).std(axis=0) + 1e-9

    def loss(weight: Matrix) -> tuple[float, Matrix]:
        value, slope = least * weight @ weight, 2 * least * weight
        for rows, share in zip(songs, weights / weights.sum(), strict=True):
            scaled = rows / spread
            z = scaled @ weight
            likely = np.exp(z - z.max()) / np.exp(z - z.max()).sum()
            value -= share * np.log(likely[0] + 1e-12)
            slope = slope - share * (scaled[0] - likely @ scaled)
        return value, slope

    return np.asarray(minimize(loss, np.zeros(len(spread)), jac=True, method="L-BFGS-B").x / spread)


def fit_downbeats(rows: Matrix, firsts: NDArray[np.bool_], least: float = 3e-3) -> Matrix:
    """Logistic weights of downbeats and, last, the offset at even odds of one in four."""

    def loss(weight: Matrix) -> tuple[float, Matrix]:
        z = rows @ weight[:-1] + weight[-1]
        error = 1 / (1 + np.exp(-z)) - firsts
        value = np.mean(np.logaddexp(0, z) - firsts * z) + least * weight[:-1] @ weight[:-1]
        return value, np.append(rows.T @ error / len(z) + 2 * least * weight[:-1], error.mean())

    found = minimize(loss, np.zeros(rows.shape[1] + 1), jac=True, method="L-BFGS-B").x
    return np.append(found[:-1], found[-1] + np.log(3))


def usual(bpm: Matrix) -> Matrix:
    """How much each song counts: how usual its tempo is over how many of the songs have it."""
    octaves = np.log2(bpm / metrical_level.USUAL_BPM)
    here = np.exp(-0.5 * ((octaves[:, None] - octaves[None, :]) / 0.12) ** 2).mean(axis=1)
    wanted = (
        0.75 * np.exp(-0.5 * (octaves / 0.31) ** 2) / 0.31 + 0.25 * np.exp(-0.5 * (octaves / 0.7) ** 2) / 0.7
    )
    return np.asarray(wanted / here)


def main(arguments: Sequence[str] | None = None) -> int:
    """Fit and print."""
    parser = argparse.ArgumentParser(prog="python -m tests.quality.map_fit", description=__doc__)
    parser.add_argument("--songs", type=int, default=162, help="how many songs, from number 0 on")
    count = min(parser.parse_args(arguments).songs, APART)
    made = [examples(number) for number in range(count)]
    share = usual(np.array([make(number).song.bpm for number in range(count)]))
    ways = [one[0] for one in made]
    right = []
    for left_out in range(6):
        kept = [i for i in range(count) if i % 18 % 6 != left_out]
        weight = fit_levels([ways[i] for i in kept], share[kept])
        right += [int((ways[i] @ weight).argmax()) == 0 for i in range(count) if i not in kept]
    print(f"own metrical level wins, genre left out: {np.mean(right):.2f}")
    np.set_printoptions(suppress=True, linewidth=100, precision=2)
    print("LEVEL_WEIGHTS", fit_levels(ways, share))
    print(
        "DOWNBEAT_WEIGHTS, DOWNBEAT_OFFSET",
        fit_downbeats(np.concatenate([m[1] for m in made]), np.concatenate([m[2] for m in made])),
    )
    return 0


if __name__ == "__main__":
    sys.exit(main())
