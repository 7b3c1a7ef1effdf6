"""Places that two takes both show, on drawn scenes framed differently and on pictures that share nothing."""

from dataclasses import replace

import numpy as np
import pytest

from audio.pictures.balance import Apart
from audio.pictures.match import LITTLE_DOUBT, ROUGH_DOUBT, Pictures, match
from audio.pictures.shared_places import shared_places
from tests.quality.scene_places import Bytes
from tests.quality.scenes import Camera, Take, picture, random_camera, random_place

PLACE = random_place(7)
CAMERA = replace(
    random_camera(np.random.default_rng(7), PLACE, "half", side=0), wobble=0.0, vignette=0.0, transfer="bt709"
)


def shown(camera: Camera, seed: int = 7) -> list[Bytes]:
    place = PLACE if seed == 7 else random_place(seed)
    take = Take(place, camera, PLACE.light)
    return [picture(take, float(at_s), 96) for at_s in range(0, 30, 5)]


@pytest.fixture(scope="module")
def reference() -> list[Bytes]:
    return shown(CAMERA)


def test_another_framing_is_laid_over_and_measured_place_by_place(reference: list[Bytes]) -> None:
    other = replace(
        CAMERA,
        width_m=1.7 * CAMERA.width_m,
        aim_x=CAMERA.aim_x + 0.3,
        x=CAMERA.x + 0.5,
        stops=CAMERA.stops - 0.7,
        warm=CAMERA.warm + 0.5,
        green=CAMERA.green - 0.2,
    )
    take = shown(other)
    found = match(Pictures(take), Pictures(reference))
    assert not {ROUGH_DOUBT, LITTLE_DOUBT}.intersection(found.doubts)
    assert _off(found.before, (-0.7 + 0.25, -0.7 - 0.2, -0.7 - 0.25)) < 0.1
    assert _off(found.after, (0.0, 0.0, 0.0)) < 0.1
    # Which of the two is the wider one makes no difference.
    back = match(Pictures(reference), Pictures(take))
    assert _off(back.before, (0.7 - 0.25, 0.7 + 0.2, 0.7 + 0.25)) < 0.1


def test_nothing_is_found_where_nothing_is_shared(reference: list[Bytes]) -> None:
    assert shared_places([np.full((96, 171, 3), 90, np.uint8)] * 4, reference) is None
    found = match(Pictures(shown(CAMERA, 8)), Pictures(reference))
    assert ROUGH_DOUBT in found.doubts
    assert found.before.uncertainty > 0.3


def _off(apart: Apart, true: tuple[float, float, float]) -> float:
    return float(np.abs(np.array(apart.shift) - true).max())
