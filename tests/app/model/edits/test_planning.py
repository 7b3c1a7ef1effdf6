"""The plan: what must be seen where, and the set-ups in the order of the day."""

from dataclasses import replace
from pathlib import Path

import pytest

from app.model.document.change import NOTHING, Change
from app.model.document.plan import Need, Passage, SetUp
from app.model.document.shoot import Shoot
from app.model.document.store import from_text, to_text
from app.model.edits import planning
from tests.app.random_shoots import waltz


def empty() -> Shoot:
    return Shoot(songs=(waltz(),))


HERE = Path("/shoot")
SONG = empty().songs[0].id
SOLO = Need("", SONG, Passage(first_bar=9, last_bar=16), " fiddle ", least_angles=2)


def angles(value: Shoot) -> list[str]:
    return [one.angle for one in value.plan.set_ups]


def test_a_need_is_added_once_changed_and_removed() -> None:
    value, change = planning.add_need(empty(), SOLO)
    [need] = value.plan.needs
    assert change == Change.PLAN
    assert (need.subject, need.least_angles) == ("fiddle", 2)
    assert planning.add_need(value, SOLO) == (value, NOTHING)
    value, _ = planning.change_need(value, replace(need, subject="fiddle ", note="hands"))
    assert value.plan.needs[0].note == "hands"
    assert value.plan.needs[0].subject == "fiddle"
    assert from_text(to_text(value, HERE), HERE).plan == value.plan
    assert planning.remove_needs(value, [need.id])[0].plan.needs == ()
    for change_it in (planning.add_need, planning.change_need):
        with pytest.raises(ValueError, match="who or what must be seen"):
            change_it(value, replace(need, subject="  "))
    with pytest.raises(KeyError):
        planning.add_need(value, replace(SOLO, song_id="nobody"))
    with pytest.raises(KeyError):
        planning.remove_needs(value, ["need-9"])


def test_set_ups_keep_the_order_they_are_given() -> None:
    value = empty()
    for angle in ("Wide", " Singer ", "Drums"):
        value, _ = planning.add_set_up(value, SetUp("", SONG, angle))
    wide, singer, drums = (one.id for one in value.plan.set_ups)
    assert angles(value) == ["Wide", "Singer", "Drums"]
    assert angles(planning.add_set_up(value, SetUp("", SONG, "Hands"), before_id=singer)[0]) == [
        "Wide",
        "Hands",
        "Singer",
        "Drums",
    ]
    assert angles(planning.move_set_up(value, drums, wide)[0]) == ["Drums", "Wide", "Singer"]
    assert angles(planning.move_set_up(value, wide, None)[0]) == ["Singer", "Drums", "Wide"]
    assert planning.move_set_up(value, wide, wide) == (value, NOTHING)
    assert planning.move_set_up(value, wide, singer) == (value, NOTHING)
    assert angles(planning.remove_set_ups(value, [singer, wide])[0]) == ["Drums"]
    again, _ = planning.change_set_up(value, replace(value.plan.set_ups[0], note="from the balcony"))
    assert from_text(to_text(again, HERE), HERE).plan == again.plan
    for change_it in (planning.add_set_up, planning.change_set_up):
        with pytest.raises(ValueError, match="needs an angle"):
            change_it(value, replace(value.plan.set_ups[0], angle=""))
    with pytest.raises(KeyError):
        planning.move_set_up(value, wide, "set-up-9")
