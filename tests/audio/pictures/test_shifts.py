"""Shifts of a picture against those it was moved by, to parts of a pixel (a turn of Fourier phases)."""

import numpy as np
import pytest
from scipy.ndimage import fourier_shift, gaussian_filter

from audio.pictures.shifts import Shift, Shifts


def texture(seed: int) -> np.ndarray:
    """Detail of all sizes."""
    chance = np.random.default_rng(seed)
    drawn = gaussian_filter(chance.normal(0, 1, (72, 128)), 1.2, mode="wrap")
    return (0.5 + 0.2 * drawn / drawn.std()).astype(np.float32)


def moved(drawn: np.ndarray, right: float, down: float) -> np.ndarray:
    """The same elsewhere."""
    return np.fft.ifft2(fourier_shift(np.fft.fft2(drawn), (down, right))).real.astype(np.float32)


@pytest.mark.parametrize(("right", "down"), [(0, 0), (3, -2), (0.5, 0.25), (-4.3, 6.6), (9, -8)])
def test_a_known_shift(right: float, down: float) -> None:
    shifts = Shifts((72, 128))
    assert shifts.add(texture(1)) is None
    found = shifts.add(moved(texture(1), right, down))
    assert found is not None
    assert (found.right, found.down) == pytest.approx((right, down), abs=0.1, rel=0.05)
    assert found.agreed > 0.7


def test_what_moves_in_a_part_is_not_the_camera() -> None:
    shifts = Shifts((72, 128))
    drawn = texture(2)
    shifts.add(drawn)
    after = drawn.copy()
    after[:, 80:] = moved(drawn, 5, 3)[:, 80:]
    found = shifts.add(after)
    assert found is not None
    assert (found.right, found.down) == pytest.approx((0, 0), abs=0.2)
    assert found.agreed < 0.9


def test_nothing_to_follow() -> None:
    shifts = Shifts((72, 128))
    grey = np.full((72, 128), 0.5, np.float32)
    shifts.add(grey)
    assert shifts.add(grey) == Shift(0.0, 0.0, 0.0)
