"""Takes of one clip in one room: an echo that is settled in one of them is settled in the others."""

import numpy as np
import pytest
from numpy.typing import NDArray

from audio.line import Line
from audio.placement.impulse_response import SegmentCorrelations
from audio.placement.line_fit import LineFit
from audio.placement.shared_room import settled_echoes

RATE, SIZE, COUNT = 8000, 4800, 12
ROOM = ((0.0, 1.0), (0.0095, 0.95), (0.021, 0.5), (0.034, 0.3))
"""Arrivals: seconds after the direct sound, and how high."""


def response(arrivals: tuple[tuple[float, float], ...], moved_s: float = 0.0) -> NDArray[np.float64]:
    """Over lag: what arrives later lies earlier."""
    out = np.zeros(SIZE)
    for late_s, height in arrivals:
        out[SIZE // 2 - round((late_s + moved_s) * RATE)] += height
    return out


def fit(arrivals: NDArray[np.float64], ambiguity_s: float, seed: int) -> LineFit:
    rng = np.random.default_rng(seed)
    rows = arrivals[None] + 0.1 * rng.standard_normal((COUNT, SIZE))
    spectra = np.fft.rfft(np.fft.ifftshift(rows, axes=1), axis=1).astype(np.complex64)
    power = np.ones(SIZE // 2 + 1, np.float32)
    centre = np.arange(COUNT) + 0.5
    segments = SegmentCorrelations(RATE, centre, spectra, np.full(COUNT, 0.1), SIZE, power)
    nothing = np.zeros(0)
    return LineFit(
        Line(6.0, 20.0, 1.0), np.zeros(0, np.float32), 0, 50.0, ambiguity_s, 1e-5, 1e-7,
        nothing, nothing, nothing, None, segments,
    )  # fmt: skip


def test_what_one_take_is_sure_of_settles_the_other() -> None:
    sure, unsure = fit(response(ROOM), 0.0, 1), fit(response(ROOM), 0.0095, 2)
    assert [one.ambiguity_s for one in settled_echoes([unsure, sure])] == [0.0, 0.0]
    assert settled_echoes([unsure])[0].ambiguity_s == 0.0095, "alone it stays in doubt"
    assert [one.ambiguity_s for one in settled_echoes([unsure, unsure])] == [0.0095, 0.0095]


FLUTTER = response(((0.0, 1.0), (0.0095, 1.0), (0.019, 1.0), (0.0285, 1.0), (0.038, 1.0)))
OTHER_ROOM = response(((0.0, 1.0), (0.0031, 0.9), (0.0142, 0.8), (0.027, 0.7)))


@pytest.mark.parametrize(
    ("unsure", "sure"),
    [
        (response(ROOM, -0.0095), response(ROOM)),  # laid on its echo
        (OTHER_ROOM, response(ROOM)),
        (FLUTTER, FLUTTER),  # one arrival is like the next
    ],
)
def test_a_take_that_lies_otherwise_settles_nothing(
    unsure: NDArray[np.float64], sure: NDArray[np.float64]
) -> None:
    assert settled_echoes([fit(unsure, 0.0095, 2), fit(sure, 0.0, 1)])[0].ambiguity_s == 0.0095
