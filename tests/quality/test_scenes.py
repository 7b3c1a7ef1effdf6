"""The drawn shoots that other tests lean on: one call gives one picture, and light is counted in stops."""

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest

from tests.quality.scene_files import encode
from tests.quality.scene_places import Style, to_linear
from tests.quality.scenes import (
    Take,
    later,
    moved,
    neighbour,
    picture,
    pictures,
    random_camera,
    random_place,
    relit,
)


def a_take(style: Style = "drawn", seed: int = 3) -> Take:
    place = random_place(seed, style)
    return Take(place, random_camera(np.random.default_rng(seed), place, "half"), place.light)


@pytest.mark.parametrize("style", ["drawn", "woven"])
def test_the_same_call_gives_the_same_picture(style: Style) -> None:
    one, other = picture(a_take(style), 1.5, 90), picture(a_take(style), 1.5, 90)
    assert one.shape == (90, 160, 3)
    assert np.array_equal(one, other)
    assert not np.array_equal(one, picture(a_take(style), 2.5, 90))  # people move
    assert not np.array_equal(one, picture(a_take(style, 4), 1.5, 90))


def test_a_stop_doubles_the_light() -> None:
    take = a_take()
    plain = replace(take.camera, noise=0.0, transfer="srgb", stops=-2.0)
    dark, bright = (
        to_linear(picture(replace(take, camera=replace(plain, stops=stops)), 0.0, 90) / 255)
        for stops in (-2.0, -1.0)
    )
    kept = (bright < 0.9) & (dark > 0.01)
    assert np.median(bright[kept] / dark[kept]) == pytest.approx(2.0, rel=0.02)


def test_mains_light_swings_twice_a_period() -> None:
    take = a_take()
    camera = replace(take.camera, noise=0.0, shutter_s=1 / 400, readout_s=0.0, transfer="srgb", stops=-1)
    mains = replace(take, camera=camera, light=replace(take.light, mains_hz=50.0, mains_depth=0.3))
    means = [float(to_linear(one / 255).mean()) for one in pictures(mains, 0.1, 400, 90)]
    assert (
        np.argmax(np.abs(np.fft.rfft(np.array(means) - np.mean(means)))) == 10
    )  # 100 Hz in a tenth of a second


def test_other_set_ups_and_other_light_look_different() -> None:
    chance = np.random.default_rng(5)
    take = a_take()
    seen = picture(take, 0.0, 90).astype(float)

    def far(other: Take) -> float:
        return float(np.median(np.abs(picture(other, 0.0, 90) - seen)))

    again = far(later(chance, take, 0.0))
    assert again < far(replace(take, camera=moved(chance, take.camera)))
    assert again < far(replace(take, camera=neighbour(chance, take.camera)))
    assert again < far(relit(chance, take))


def test_files_hold_what_was_drawn(tmp_path: Path) -> None:
    take, rate = a_take(), Fraction(25)
    shown = list(pictures(take, 0.6, rate, 144))
    path = encode(tmp_path / "drawn.mp4", iter(shown), rate, sound=np.zeros(24000, np.float32))
    with av.open(str(path)) as file:
        assert file.streams.audio[0].rate == 48000
        read = [frame.to_ndarray(format="rgb24") for frame in file.decode(video=0)]
    assert len(read) == len(shown) == 15
    assert np.abs(read[7].astype(float).mean((0, 1)) - shown[7].mean((0, 1))).max() < 3
