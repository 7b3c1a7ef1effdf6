"""Light that two cameras saw, on made shoots."""

import numpy as np
import pytest

from audio.line import Line
from audio.pictures.flashes import Lit, has_events, light_guesses
from audio.pictures.silent_series import SilentSeries
from tests.quality.made_lights import SONG_S, Kind, lit_shoot


@pytest.mark.parametrize("kind", ["flash", "cue"])
def test_shared_light_puts_a_silent_clip_where_it_belongs(kind: Kind) -> None:
    shoots = [shoot for seed in range(70, 86) if (shoot := lit_shoot(seed, kind)).met]
    found = [light_guesses(shoot.silent, shoot.placed, SONG_S) for shoot in shoots]
    proposed = [(one, shoot) for one, shoot in zip(found, shoots, strict=True) if one.clear]
    # Few flashes are too few: many clips get none.
    assert len(proposed) >= 4
    assert sum(one.sure for one in found) >= 2
    for one, shoot in proposed:
        assert one.places[0].song_s == pytest.approx(shoot.song_s, abs=0.08)


@pytest.mark.parametrize("kind", ["beat", "none"])
def test_a_lamp_on_every_beat_and_light_of_other_moments_tell_nothing(kind: Kind) -> None:
    for seed in range(70, 74):
        shoot = lit_shoot(seed, kind)
        found = light_guesses(shoot.silent, shoot.placed, SONG_S)
        assert not found.clear
        assert not found.sure


def test_a_short_clip_and_a_steady_one_have_no_events() -> None:
    clip_s = np.arange(0, 30, 0.04)
    steady = SilentSeries(clip_s, 90 + np.random.default_rng(1).normal(0, 0.2, len(clip_s)), clip_s * 0)
    assert not has_events(steady)
    flickering = SilentSeries(clip_s[:50], 90.0 + 40 * (np.arange(50) % 10 == 0), clip_s[:50])
    assert not has_events(flickering)
    assert light_guesses(steady, [Lit(steady, Line(0.0, 0.0, 1.0), 30.0)], 60.0).places == ()
