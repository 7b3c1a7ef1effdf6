"""Crops in whole pixels, and the shift of the frame guide kept with a take."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.model.document.change import NOTHING, Change
from app.model.edits.take_settings import shift_take
from app.model.framing import SHAPES, crop
from app.model.on_song import Take, on_song
from tests.app import random_shoots
from tests.app.documents import document
from tests.app.random_shoots import clip

RATIOS = {shape.name: shape.ratio for shape in SHAPES}
UHD, HD = (3840, 2160), (1920, 1080)


@pytest.mark.parametrize(
    ("picture", "shape", "size"),
    [
        # Sizes worked out by hand as width / ratio or height × ratio, rounded down to even (common practice).
        # Of these 1.85 of HD, 1920 × 1036, stands in cheat sheets of frame sizes as the 1.85 of 1920.
        (UHD, "2.39", (3840, 1606)),
        (UHD, "2.35", (3840, 1634)),
        (UHD, "2.00", (3840, 1920)),
        (UHD, "1.85", (3840, 2074)),
        (UHD, "16:9", (3840, 2160)),
        (UHD, "4:5", (1728, 2160)),
        (UHD, "1:1", (2160, 2160)),
        (UHD, "9:16", (1214, 2160)),
        (HD, "2.39", (1920, 802)),
        (HD, "2.35", (1920, 816)),
        (HD, "1.85", (1920, 1036)),
        (HD, "9:16", (606, 1080)),
        (HD, "4:5", (864, 1080)),
        (HD, "1:1", (1080, 1080)),
        # Cinema containers (DCI, flat 1.85, from memory): 1998 of 2048, 3996 of 4096 wide.
        ((2048, 1080), "1.85", (1998, 1080)),
        ((4096, 2160), "1.85", (3996, 2160)),
        # A telephone held upright.
        ((1080, 1920), "16:9", (1080, 606)),
        ((1080, 1920), "9:16", (1080, 1920)),
    ],
)
def test_sizes(picture: tuple[int, int], shape: str, size: tuple[int, int]) -> None:
    found = crop(*picture, RATIOS[shape])
    assert (found.width, found.height) == size
    # In the middle, to half a pixel.
    assert abs(2 * found.x + found.width - picture[0]) <= 1
    assert abs(2 * found.y + found.height - picture[1]) <= 1


def test_words() -> None:
    assert crop(*UHD, RATIOS["9:16"]).words == "1214 × 2160 at 1313, 0"
    assert crop(*UHD, RATIOS["9:16"], -1.0).words == "1214 × 2160 at 0, 0"
    assert crop(*UHD, RATIOS["9:16"], 1.0).words == "1214 × 2160 at 2626, 0"
    assert crop(*HD, RATIOS["2.39"], 0.0, -1.0).words == "1920 × 802 at 0, 0"


@given(
    st.integers(2, 9000),
    st.integers(2, 9000),
    st.sampled_from(SHAPES),
    st.floats(-3, 3),
    st.floats(-3, 3),
)
def test_a_crop_lies_inside_and_is_as_large_as_can_be(
    width: int, height: int, shape: object, x: float, y: float
) -> None:
    ratio: Fraction = shape.ratio  # type: ignore[attr-defined]
    found = crop(width, height, ratio, x, y)
    assert found.width % 2 == found.height % 2 == 0
    assert 0 <= found.x <= width - found.width
    assert 0 <= found.y <= height - found.height
    assert width - found.width < 2 or height - found.height < 2
    if min(width, height) > 100:
        assert found.width / found.height == pytest.approx(
            float(ratio), rel=4 / min(found.width, found.height)
        )


def test_a_picture_without_pixels() -> None:
    with pytest.raises(ValueError, match="without pixels"):
        crop(0, 1080, Fraction(1))


def test_a_shift_is_kept_with_the_take() -> None:
    first, other = Take("", 0.0, 5.0, 1.0), Take("", 6.0, 9.0, 1.0)
    shoot = document(random_shoots.shoot(clip(1, first, other)))
    new, change = shift_take(shoot, "clip-1-take-1", 0.25, -7.0)
    assert change is Change.TAKES
    seen = on_song(new).clips[0].takes
    assert (seen[0].settings.shift_x, seen[0].settings.shift_y) == (0.25, -1.0)
    assert seen[1] == on_song(shoot).clips[0].takes[1]
    assert shift_take(new, "clip-1-take-1", 0.25, -1.0) == (new, NOTHING)
