"""Shifts of a picture against those it was moved by, to parts of a pixel (a turn of Fourier phases)."""

import numpy as np
import pytest
from scipy.ndimage import fourier_shift, gaussian_filter

from audio.pictures.shifts import shifts_of


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
    found = shifts_of(np.stack((texture(1), moved(texture(1), right, down))))
    assert (found.right[0], found.down[0]) == pytest.approx((right, down), abs=0.1, rel=0.05)
    assert found.agreed[0] > 0.7


def test_many_pictures_at_once_are_as_one_after_the_other() -> None:
    films = [moved(texture(1), number, -2 * number) for number in (0, 1, 3, 2)]
    found = shifts_of(np.stack(films))
    assert found.right == pytest.approx([1, 2, -1], abs=0.1, rel=0.05)
    assert found.down == pytest.approx([-2, -4, 2], abs=0.1, rel=0.05)


def test_what_moves_in_a_part_is_not_the_camera() -> None:
    drawn = texture(2)
    after = drawn.copy()
    after[:, 80:] = moved(drawn, 5, 3)[:, 80:]
    found = shifts_of(np.stack((drawn, after)))
    assert (found.right[0], found.down[0]) == pytest.approx((0, 0), abs=0.2)
    assert found.agreed[0] < 0.9


def test_nothing_to_follow() -> None:
    found = shifts_of(np.full((2, 72, 128), 0.5, np.float32))
    assert (found.right[0], found.down[0], found.agreed[0]) == (0, 0, 0)
