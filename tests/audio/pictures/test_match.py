"""What brings a take near a reference: on drawn scenes whose cameras are known, and on plain patches."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from audio.pictures.match import (
    BLOCKED_DOUBT,
    CLIPPED_DOUBT,
    LITTLE_DOUBT,
    MIXED_DOUBT,
    ROUGH_DOUBT,
    UNKNOWN_DOUBT,
    Pictures,
    match,
)
from audio.pictures.transfer import TRANSFERS, Transfer, named
from tests.quality.scenes import Camera, Take, picture, random_camera, random_place

CHANCE = np.random.default_rng(20)
PLACE = random_place(3)
CAMERA = replace(random_camera(CHANCE, PLACE, "half", side=0), noise=0.004, transfer="bt709")


def scene(camera: Camera = CAMERA, moments: tuple[float, ...] = (1.0, 5.0, 9.0, 13.0)) -> Pictures:
    return Pictures([picture(Take(PLACE, camera, PLACE.light), at_s, 72) for at_s in moments])


def patches(seed: int, light: float = 1.0) -> NDArray[np.float64]:
    """Linear light of coloured patches, between 0.02 and 0.4 of white; shape (40, 60, 3)."""
    chance = np.random.default_rng(seed)
    return light * np.kron(chance.uniform(0.02, 0.4, (8, 12, 3)), np.ones((5, 5, 1)))


def filmed(light: NDArray[np.float64], transfer: Transfer, full_range: bool = False) -> Pictures:
    values = np.clip(transfer.values(light, full_range=full_range), 0, 1)
    shown = np.rint(255 * values).astype(np.uint8)
    return Pictures([shown] * 4, transfer, full_range=full_range)


@pytest.mark.parametrize("transfer", TRANSFERS, ids=lambda one: one.name)
def test_twice_the_light_is_one_stop_whatever_the_transfer_function(transfer: Transfer) -> None:
    # Where 1 is the light of the brightest display, white is far below it (ITU-R BT.2408: 203 cd/m²).
    light = patches(4, 0.02 if transfer.name == "pq" else 1.0)
    found = match(filmed(2 * light, transfer), filmed(light, transfer))
    # In eight bits a step of a log curve is up to 0.07 stop.
    assert found.before.stops == pytest.approx(1.0, abs=0.04)
    assert found.before.warm == pytest.approx(0.0, abs=0.08)
    assert found.before.green == pytest.approx(0.0, abs=0.08)
    assert abs(found.after.stops) < 0.05
    assert found.doubts == ()


def test_another_balance_is_told_in_stops() -> None:
    light = patches(5)
    gains = 2.0 ** np.array([0.5, 0.1, -0.3])
    found = match(filmed(light * gains, named("bt709")), filmed(light, named("bt709")))
    assert found.before.shift == pytest.approx((0.5, 0.1, -0.3), abs=0.03)
    assert found.before.warm == pytest.approx(0.8, abs=0.05)
    assert abs(found.after.warm) < 0.05
    assert abs(found.after.green) < 0.05


def test_a_log_recording_is_brought_to_a_plain_one() -> None:
    light = patches(6)
    found = match(filmed(light, named("slog3")), filmed(light, named("bt709")), power=True)
    assert found.before.stops == pytest.approx(0.0, abs=0.05)
    assert abs(found.after.stops) < 0.15
    assert found.cdl.power != (1.0, 1.0, 1.0)


def test_without_being_asked_only_slope_and_offset_are_found() -> None:
    light = patches(7)
    pair = filmed(1.5 * light, named("bt709")), filmed(light, named("bt709"))
    plain = match(*pair)
    assert (plain.cdl.power, plain.cdl.saturation) == ((1.0, 1.0, 1.0), 1.0)
    grey = patches(7).mean(axis=2, keepdims=True)
    dull = filmed(grey + 0.5 * (patches(7) - grey), named("bt709"))
    assert match(dull, pair[1], saturation=True).cdl.saturation > 1.3


@pytest.mark.parametrize(("stops", "warm"), [(1.5, 0.0), (-1.5, 0.0), (0.0, 0.7), (0.0, -0.7)])
def test_a_take_of_the_same_set_up_comes_near(stops: float, warm: float) -> None:
    other = replace(CAMERA, stops=CAMERA.stops + stops, warm=CAMERA.warm + warm)
    found = match(scene(other, (2.0, 6.0, 10.0, 14.0)), scene())
    assert found.before.stops == pytest.approx(stops, abs=0.1)
    assert found.before.warm == pytest.approx(warm, abs=0.07)
    assert abs(found.after.stops) < 0.1
    assert abs(found.after.warm) < max(0.07, 0.1 * abs(warm))


def test_another_framing_is_compared_by_places_that_both_show() -> None:
    wide = replace(CAMERA, width_m=1.6 * CAMERA.width_m, stops=CAMERA.stops + 0.8, warm=CAMERA.warm - 0.4)
    found = match(scene(wide), scene())
    assert not found.before.alike
    assert found.before.stops == pytest.approx(0.8, abs=0.1)
    assert found.before.warm == pytest.approx(-0.4, abs=0.08)
    assert found.before.uncertainty > 0.02
    assert not {LITTLE_DOUBT, ROUGH_DOUBT}.intersection(found.doubts)


def test_doubts() -> None:
    over = match(scene(replace(CAMERA, stops=CAMERA.stops + 3)), scene())
    assert CLIPPED_DOUBT in over.doubts
    under = match(scene(replace(CAMERA, stops=CAMERA.stops - 5)), scene())
    assert BLOCKED_DOUBT in under.doubts
    plain = scene()
    assert match(plain, plain).doubts == ()
    assert match(replace(plain, known=False), plain).doubts == (UNKNOWN_DOUBT,)
    assert match(plain, plain, common=False).doubts == (LITTLE_DOUBT,)
    assert LITTLE_DOUBT in match(Pictures(plain.rgb[:2]), Pictures(plain.rgb[:2])).doubts


def test_light_of_two_colours_is_told() -> None:
    light = patches(8)
    tinted = light.copy()
    tinted[:, :30] *= 2.0 ** np.array([0.6, 0.0, -0.6])
    found = match(filmed(tinted, named("bt709")), filmed(light, named("bt709")))
    assert MIXED_DOUBT in found.doubts


def test_pictures_that_tell_nothing_leave_the_take_as_it_is() -> None:
    black = Pictures([np.zeros((72, 128, 3), np.uint8)] * 4)
    found = match(black, scene())
    assert found.cdl.slope == (1.0, 1.0, 1.0)
    assert found.cdl.offset == (0.0, 0.0, 0.0)
    assert LITTLE_DOUBT in found.doubts
    with pytest.raises(ValueError, match="no pictures"):
        match(Pictures([]), scene())
