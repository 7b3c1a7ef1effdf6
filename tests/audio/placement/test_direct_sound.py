"""The direct sound: which arrival counts, and when that is doubted."""

import numpy as np
import pytest

from audio.placement.direct_sound import direct_sound

RATE = 8000


def impulse_response(*peaks: tuple[int, float], clutter: float = 0.0) -> np.ndarray:
    """An impulse response with peaks (sample, height) and, where no sound can have arrived yet, one of the
    song's own."""
    out = np.zeros(4000, np.float32)
    for at, height in peaks:
        out[at] = height
    out[3900] = clutter
    return out


def test_an_arrival_that_clearly_tops_the_clutter_is_taken_before_a_higher_one() -> None:
    position, ambiguity = direct_sound(impulse_response((2000, 1.0), (2412, 0.78), clutter=0.3), RATE, 0.05)
    assert position == pytest.approx(2412, abs=0.1)
    assert ambiguity == 0


def test_an_arrival_that_hardly_tops_the_clutter_is_doubted_as_far_as_it_lies_ahead() -> None:
    """Loops are like themselves a beat away: beside that, the direct sound of a church stands out little."""
    position, ambiguity = direct_sound(impulse_response((2000, 1.0), (2412, 0.78), clutter=0.7), RATE, 0.15)
    assert position == pytest.approx(2000, abs=0.1)
    assert ambiguity == pytest.approx(412, abs=0.5)


def test_an_arrival_that_the_clutter_may_hide_is_doubted_too() -> None:
    """The direct sound can be as low as 0.45 of the highest reflection; clutter above that hides it."""
    position, ambiguity = direct_sound(impulse_response((2000, 1.0), (2412, 0.6), clutter=0.7), RATE, 0.05)
    assert position == pytest.approx(2000, abs=0.1)
    assert ambiguity == pytest.approx(412, abs=0.5)


@pytest.mark.parametrize("clutter", [0.2, 0.7])
def test_a_ripple_lower_than_any_direct_sound_says_nothing(clutter: float) -> None:
    position, ambiguity = direct_sound(
        impulse_response((2000, 1.0), (2412, 0.4), clutter=clutter), RATE, 0.05
    )
    assert position == pytest.approx(2000, abs=0.1)
    assert ambiguity == 0
