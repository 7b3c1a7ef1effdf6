"""How loud and how long, against published figures."""

from dataclasses import replace
from fractions import Fraction

import pytest

from app.model.document.plan import Passage, SetUp
from app.model.on_song import on_song
from app.model.set_advice.hearing import day_words, playing_minutes, safe_level_db, safe_minutes
from tests.app.window.made_up import make_shoot


@pytest.mark.parametrize(
    ("level_db", "minutes"),
    [(82, 960), (85, 480), (88, 240), (91, 120), (94, 60), (97, 30), (100, 15), (103, 7.5), (90, 151.2)],
)
def test_minutes_are_those_of_the_criterion(level_db: float, minutes: float) -> None:
    """Table 1-1 of NIOSH 98-126: 85 dB(A) for 8 h, 88 for 4 h, 90 for 2 h 31 min, 100 for 15 min."""
    assert safe_minutes(level_db) == pytest.approx(minutes, rel=1e-3)


@pytest.mark.parametrize("minutes", [0.5, 3, 24.7, 60, 333, 480, 900])
def test_the_level_is_the_highest_that_the_time_allows(minutes: float) -> None:
    level = safe_level_db(minutes)
    assert safe_minutes(level) >= minutes * (1 - 1e-9)
    assert safe_minutes(level + 1) < minutes


def test_the_days_list_is_counted_with_pre_roll_and_speed() -> None:
    view = on_song(make_shoot())
    song = view.song
    assert song is not None
    assert day_words(view) == ""
    whole = SetUp("a", song.id, "Crane")
    pick_up = SetUp("b", song.id, "Hands", passage=Passage(first_bar=17, last_bar=24), speed=Fraction(2))
    plan = replace(view.plan, set_ups=(whole, pick_up), lead_in_s=10.0)
    planned = replace(view, plan=plan)
    assert playing_minutes(planned) * 60 == pytest.approx(song.duration_s + (8 * 2.0 + 10.0) / 2)
    assert "once through" in day_words(planned)
    assert f"{safe_level_db(3 * playing_minutes(planned))} dB(A)" in day_words(planned)
