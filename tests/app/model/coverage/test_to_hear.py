"""Which take is heard where a bar and an angle are chosen."""

import pytest

from app.model.coverage.to_hear import take_to_hear
from app.model.document.angle import Angle
from app.model.song_map.bar_spans import BarSpan
from tests.app.random_shoots import clip, shoot, take

BAR = BarSpan(5, 8.0, 10.0)


@pytest.mark.parametrize(
    ("spans", "pointed", "heard"),
    [
        (((9.0, 20.0), (0.0, 20.0)), None, "t1"),  # the one that covers the bar, not the first
        (((0.0, 20.0), (0.0, 12.0)), "t1", "t1"),  # the one pointed at
        (((0.0, 20.0), (12.0, 20.0)), "t1", "t0"),  # unless it does not run here
        (((14.0, 20.0), (12.0, 20.0), (0.0, 4.0)), None, "t1"),  # nothing here: the next to come
        (((0.0, 4.0), (2.0, 6.0)), None, "t1"),  # nothing to come: the last
    ],
)
def test_the_take_of_an_angle(
    spans: tuple[tuple[float, float], ...], pointed: str | None, heard: str
) -> None:
    clips = [clip(n, take(f"t{n}", *span), angle="a") for n, span in enumerate(spans)]
    value = shoot(*clips, angles=(Angle("a", "Singer"),))
    assert take_to_hear(value, BAR, "a", pointed) == heard


def test_without_an_angle_the_first_stave_that_covers_the_bar() -> None:
    clips = [clip(0, take("safe", 0, 20), angle="s"), clip(1, take("voice", 0, 20), angle="a")]
    value = shoot(*clips, angles=(Angle("s", "Wide", safety=True), Angle("a", "Singer")))
    assert take_to_hear(value, BAR, None) == "voice"
    assert take_to_hear(value, BarSpan(9, 30.0, 32.0), None) is None
