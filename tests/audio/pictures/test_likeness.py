"""Which clips are one set-up: by drawn pictures of which it is known, and by odds written down here."""

from dataclasses import dataclass, replace

import numpy as np
import pytest
from numpy.typing import NDArray

from audio.errors import Stopped
from audio.pictures.comparing import NEAR, compared
from audio.pictures.likeness import JOIN, WALKS, groups_of, pair_odds, view_groups
from audio.pictures.portraits import Portrait, portrait_of
from tests.quality.look_board import Board
from tests.quality.look_shoots import Shot, random_shoot, thumbs_of
from tests.quality.scene_places import Bytes
from tests.quality.scenes import Take, later, moved, random_camera, random_place, relit


@dataclass(frozen=True)
class Pictures:
    thumbs: Bytes


def portrait(take: Take, seconds: float = 20.0) -> Portrait:
    return portrait_of(Pictures(thumbs_of(take, seconds)))


@pytest.fixture(scope="module")
def take() -> Take:
    place = random_place(1200)
    camera = random_camera(np.random.default_rng(1200), place, "half")
    return Take(place, replace(camera, wobble=0.0), place.light)


@pytest.fixture(scope="module")
def first(take: Take) -> Portrait:
    return portrait(take)


def test_what_moves_is_no_part_of_a_portrait(first: Portrait, take: Take) -> None:
    assert first.unrest == 0.0
    assert first.steady > 0.7
    spread = thumbs_of(take, 20.0).astype(float).std(axis=0).mean(axis=2)
    moving = spread > 20
    assert 0.005 < moving.mean() < 0.5
    at = moving[:72, :128].reshape(18, 4, 32, 4).mean(axis=(1, 3)) > 0.8
    assert first.still[at].mean() < first.still[~at].mean() - 0.1


def test_a_camera_in_the_hand_is_steadied_and_one_that_walks_is_told(take: Take) -> None:
    held = portrait(replace(take, camera=replace(take.camera, hold="handheld", wobble=0.012)))
    assert 0.005 < held.unrest < 0.1
    assert held.steady > WALKS
    assert portrait(replace(take, camera=replace(take.camera, hold="roaming")), 60.0).steady < WALKS


def test_shifted_pictures_are_found_where_they_were_shifted_to(first: Portrait, take: Take) -> None:
    thumbs = np.roll(thumbs_of(take, 20.0), (3, -5), (1, 2))
    pair = compared(portrait_of(Pictures(thumbs)), first)
    assert pair.shift == pytest.approx(np.hypot(3, 5) / 72, abs=0.01)
    assert pair.shift < NEAR
    assert pair.fit > 0.8


def test_exposure_and_balance_are_measured_in_stops() -> None:
    blocks = np.random.default_rng(2).uniform(90, 200, (6, 8, 3)).repeat(12, 0).repeat(16, 1)
    darker = blocks * 2 ** (-0.5 / 2.2)
    warmer = blocks * 2 ** (np.array([0.2, 0.0, -0.2]) / 2.2)
    plain, *others = (portrait_of(Pictures(one[None].astype(np.uint8))) for one in (blocks, darker, warmer))
    dark, warm = (compared(plain, other) for other in others)
    assert dark.balance < 0.03
    assert warm.balance == pytest.approx(0.2, abs=0.03)
    assert max(dark.uneven, dark.hue, warm.uneven, warm.hue) < 0.06


def test_a_take_an_hour_later_is_one_set_up_and_other_framing_or_light_is_not(
    first: Portrait, take: Take
) -> None:
    chance = np.random.default_rng(3)
    again = pair_odds(first, portrait(later(chance, take, 3600.0)))
    assert again > 0.9
    assert again == pytest.approx(
        pair_odds(portrait(later(np.random.default_rng(3), take, 3600.0)), first), abs=0.02
    )
    assert pair_odds(first, portrait(replace(take, camera=moved(chance, take.camera)))) < 0.5
    assert pair_odds(first, portrait(relit(chance, take))) < 0.5
    elsewhere = random_camera(chance, take.place, "close", side=1 - take.camera.side)
    assert pair_odds(first, portrait(replace(take, camera=elsewhere))) < 0.05


@pytest.mark.parametrize(("by", "zoom"), [(0.04, 1.0), (-0.06, 1.0), (0.0, 1.13), (0.0, 0.86)])
def test_a_tripod_that_was_touched_is_in_doubt(first: Portrait, take: Take, by: float, zoom: float) -> None:
    camera = take.camera
    touched = replace(camera, aim_x=camera.aim_x + by * camera.width_m, width_m=zoom * camera.width_m)
    pair = compared(first, portrait(replace(take, camera=touched, start_s=600.0)))
    assert pair_odds(first, portrait(replace(take, camera=touched, start_s=600.0))) < JOIN
    assert (pair.zoom > 0) == (zoom != 1.0)


@pytest.mark.parametrize("shape", [(72, 41), (72, 6), (72, 864)])
def test_pictures_of_any_shape_and_without_anything_in_them(first: Portrait, shape: tuple[int, int]) -> None:
    black = portrait_of(Pictures(np.zeros((1, *shape, 3), np.uint8)))
    assert pair_odds(black, first) < 0.05
    assert 0 < pair_odds(black, black) < JOIN, "black says nothing of a set-up"


def odds(*rows: tuple[float, ...]) -> NDArray[np.float64]:
    lower = [[*row, 0.5, *[0.0] * (len(rows) - n - 1)] for n, row in enumerate(rows)]
    found = np.array(lower)
    return found + np.tril(found, -1).T


def test_groups_are_numbered_as_their_first_clips_come_and_tell_how_sure() -> None:
    found = groups_of(odds((), (0.01,), (0.98, 0.01), (0.02, 0.95, 0.01)))
    assert [one.group for one in found] == [0, 1, 0, 1]
    assert found[0].sure == pytest.approx(0.98, abs=0.02)
    assert found[1].sure == pytest.approx(0.94, abs=0.02)


def test_a_clip_that_one_of_a_group_denies_stays_out_and_both_are_in_doubt() -> None:
    found = groups_of(odds((), (0.99,), (0.97, 0.01)))
    assert [one.group for one in found] == [0, 0, 1]
    assert found[0].sure < 0.9
    assert found[2].sure < 0.9


def test_no_clips_one_clip_and_a_stop() -> None:
    assert view_groups([]) == ()
    one = Pictures(np.zeros((1, 72, 128, 3), np.uint8))
    assert [(found.group, found.sure) for found in view_groups([one])] == [(0, 1.0)]
    with pytest.raises(Stopped):
        view_groups([one], stop=lambda: True)


def test_quick_board() -> None:
    """A short look at what ``python -m tests.quality.look_board`` measures."""
    board = Board()
    shots: list[Shot] = random_shoot(1300, "drawn")
    board.add(shots)
    assert board.share(True, ["roaming"]) > 0.85
    assert board.share(False) > 0.95
