"""Blur of known width against what theory says of edges."""

import numpy as np
import pytest
from scipy.ndimage import gaussian_filter

from audio.pictures.picture_measures import edge_energies
from audio.pictures.softness import sharpness, sigma_of_ratio, soft
from audio.pictures.trace import Trace, trace_of
from tests.audio.pictures.made_pictures import picture_of

LINES, ACROSS = 144, 256


def edges(sigma: float) -> np.ndarray:
    """Upright edges of step height 0.6, far apart, blurred by a Gaussian (pixels)."""
    x = np.arange(ACROSS * 8) / 8  # drawn eight times finer, so that steps have no width of their own
    line = 0.2 + 0.6 * ((x // 43) % 2)
    fine = gaussian_filter(line, sigma * 8, mode="nearest") if sigma else line
    return np.tile(fine.reshape(ACROSS, 8).mean(axis=1), (LINES, 1)).astype(np.float32)


def codes(level: np.ndarray) -> np.ndarray:
    """Code values of levels from 0 to 1."""
    return np.clip(level * 255 + 0.5, 0, 255).astype(np.uint8)


@pytest.mark.parametrize("sigma", [0.5, 1.0, 1.5, 2.0, 3.0])
def test_blur_is_measured(sigma: float) -> None:
    # Over the whole picture: a tile may hold an edge's middle without its flanks. A pixel is a box, whose
    # variance is 1/12.
    fine, coarse = edge_energies(codes(edges(sigma)))[:, 0].mean(axis=0)
    found = float(sigma_of_ratio(np.array([fine / coarse]))[0])
    assert found == pytest.approx(np.sqrt(sigma**2 + 1 / 12), rel=0.15)


def test_contrast_does_not_matter() -> None:
    drawn = edges(1.5)
    bright, dim = (sharpness(edge_energies(codes(one))[None])[0] for one in (drawn, 0.2 + 0.3 * drawn))
    assert bright == pytest.approx(dim, rel=0.03)


def test_a_soft_stretch_is_found_with_its_blur() -> None:
    chance = np.random.default_rng(4)
    sharp, blurred = edges(0.6), edges(2.5)
    pictures = []
    for number in range(200):
        drawn = blurred if 80 <= number < 140 else sharp
        level = drawn + chance.normal(0, 0.01, drawn.shape)
        pictures.append(picture_of(number / 20, codes(level)[:, :, None].repeat(3, axis=2)))
    seen = trace_of(pictures, np.arange(200) / 20)
    (found,) = soft(seen, [])
    assert found.clip_start_s == pytest.approx(4.0, abs=0.3)
    assert found.clip_end_s == pytest.approx(7.0, abs=0.3)
    # Edges between pixels have the variance of their blur, of a pixel (1/12) and of the difference (1/3). The
    # sharpest tile speaks, which may hold an edge's middle without its flanks.
    widths = [np.sqrt(sigma**2 + 1 / 12 + 1 / 3) for sigma in (0.6, 2.5)]
    assert found.measure == pytest.approx(widths[0] / widths[1], rel=0.25)


def test_a_take_that_never_gets_sharp_is_told_by_its_angle() -> None:
    def take(sigma: float) -> Trace:
        picture = codes(edges(sigma))[:, :, None].repeat(3, axis=2)
        return trace_of([picture_of(number / 5, picture) for number in range(30)], np.arange(30) / 5)

    soft_one, sharp_one = take(2.5), take(0.6)
    assert not list(soft(soft_one, []))
    (found,) = soft(soft_one, [sharp_one])
    assert found.clip_end_s - found.clip_start_s > 5.5
    assert not list(soft(sharp_one, [soft_one]))
    assert not list(soft(take(0.9), [sharp_one]))  # beneath sight


def test_less_light_and_more_noise_are_not_soft() -> None:
    chance = np.random.default_rng(4)
    drawn = edges(0.8)
    pictures = []
    for number in range(200):
        dim = 80 <= number < 140
        level = drawn * (0.3 if dim else 1.0) + chance.normal(0, 0.025 if dim else 0.005, drawn.shape)
        pictures.append(picture_of(number / 20, codes(level)[:, :, None].repeat(3, axis=2)))
    assert not list(soft(trace_of(pictures, np.arange(200) / 20), []))
