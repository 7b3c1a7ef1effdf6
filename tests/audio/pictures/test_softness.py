"""Blur of known width against what theory says of gradient energy."""

import numpy as np
import pytest
from scipy.ndimage import gaussian_filter

from audio.pictures.picture_measures import COARSE, FINE, gradient_energies
from audio.pictures.sampling import Picture
from audio.pictures.softness import blur_of, energy_left, sigma_of_ratio, soft
from audio.pictures.trace import trace_of

LINES, ACROSS = 144, 256


def edges(sigma: float) -> np.ndarray:
    """Upright edges of step height 0.6, far apart, blurred by a Gaussian (pixels)."""
    x = np.arange(ACROSS * 8) / 8  # drawn eight times finer, so that steps have no width of their own
    line = 0.2 + 0.6 * ((x // 43) % 2)
    fine = gaussian_filter(line, sigma * 8, mode="nearest") if sigma else line
    return np.tile(fine.reshape(ACROSS, 8).mean(axis=1), (LINES, 1)).astype(np.float32)


@pytest.mark.parametrize("sigma", [1.0, 1.5, 2.0, 3.0])
def test_energy_goes_as_one_over_the_edges_width(sigma: float) -> None:
    # The slope of an edge of height C and Gaussian width r is C/(√(2π) r) exp(-x²/2r²); its square integrates
    # to C²/(2√π r). With smoothing s, r² = b² + s². A pixel adds the variance of a box, 1/12, the central
    # difference (a box of two) 1/3.
    drawn = edges(sigma)
    for scale, smoothing in enumerate((FINE * LINES, COARSE * LINES)):
        width = np.sqrt(sigma**2 + smoothing**2 + 1 / 12 + 1 / 3)
        height = 0.6 * LINES  # levels per picture height
        per_edge = height**2 / (2 * np.sqrt(np.pi) * width)  # height in levels per line times lines
        expected = per_edge * len(range(43, ACROSS, 43)) / ACROSS
        measured = gradient_energies(drawn)[:, 0, scale].mean()
        assert measured == pytest.approx(expected, rel=0.03)


@pytest.mark.parametrize("sigma", [1.0, 1.5, 2.0, 3.0])
def test_blur_is_measured(sigma: float) -> None:
    # Over the whole picture: a tile may hold an edge's middle without its flanks.
    fine, coarse = gradient_energies(edges(sigma))[:, 0].mean(axis=0)
    found = float(sigma_of_ratio(np.array([fine / coarse]))[0]) * LINES
    assert found == pytest.approx(np.sqrt(sigma**2 + 1 / 12 + 1 / 3), rel=0.05)


def test_contrast_does_not_matter() -> None:
    drawn = edges(1.5)
    bright, dim = (blur_of(gradient_energies(one)[None])[0] for one in (drawn, 0.2 + 0.3 * drawn))
    assert bright == pytest.approx(dim, rel=1e-3)


def test_a_soft_stretch_is_found_with_its_share_of_energy() -> None:
    chance = np.random.default_rng(4)
    sharp, blurred = edges(0.6), edges(2.5)
    pictures = []
    for number in range(200):
        drawn = blurred if 80 <= number < 140 else sharp
        level = drawn + chance.normal(0, 0.01, drawn.shape)
        rgb = np.clip(level * 255 + 0.5, 0, 255).astype(np.uint8)[:, :, None].repeat(3, axis=2)
        pictures.append(Picture(number / 20, rgb, 0))
    seen = trace_of(pictures, np.arange(200) / 20)
    (found,) = soft(seen, [])
    assert found.clip_start_s == pytest.approx(4.0, abs=0.3)
    assert found.clip_end_s == pytest.approx(7.0, abs=0.3)
    own = (1 / 12 + 1 / 3) / LINES**2
    expected = energy_left(np.sqrt((2.5 / LINES) ** 2 + own), np.sqrt((0.6 / LINES) ** 2 + own))
    assert found.measure == pytest.approx(float(expected), rel=0.15)


def test_less_light_and_more_noise_are_not_soft() -> None:
    chance = np.random.default_rng(4)
    drawn = edges(0.8)
    pictures = []
    for number in range(200):
        dim = 80 <= number < 140
        level = drawn * (0.3 if dim else 1.0) + chance.normal(0, 0.025 if dim else 0.005, drawn.shape)
        rgb = np.clip(level * 255 + 0.5, 0, 255).astype(np.uint8)[:, :, None].repeat(3, axis=2)
        pictures.append(Picture(number / 20, rgb, 0))
    assert not list(soft(trace_of(pictures, np.arange(200) / 20), []))
