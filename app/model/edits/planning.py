"""Edits of the plan: what must be seen where, and what is meant to be shot for it."""

from collections.abc import Collection
from dataclasses import replace
from typing import TypeVar

from app.model.document.change import NOTHING, Change
from app.model.document.ids import fresh_id
from app.model.document.plan import Need, Plan, SetUp
from app.model.document.shoot import Shoot

Item = TypeVar("Item", Need, SetUp)


def add_need(shoot: Shoot, need: Need) -> tuple[Shoot, Change]:
    """Add a wish; its id is given here. One that is there already changes nothing.

    Raises KeyError for an unknown song, ValueError without a subject.
    """
    need = _checked_need(shoot, need)
    plan = shoot.plan
    if any(replace(old, id="") == replace(need, id="") for old in plan.needs):
        return shoot, NOTHING
    new = replace(need, id=fresh_id("need", [old.id for old in plan.needs]))
    return _with(shoot, replace(plan, needs=(*plan.needs, new)))


def set_needs(shoot: Shoot, song_id: str, needs: Collection[Need]) -> tuple[Shoot, Change]:
    """Put these wishes in the place of all of a song; their ids are given here, and old ones kept where a
    wish stays the same. Raises as `add_need`."""
    others = tuple(need for need in shoot.plan.needs if need.song_id != song_id)
    mine = [need for need in shoot.plan.needs if need.song_id == song_id]
    ids = [need.id for need in shoot.plan.needs]
    kept: list[Need] = []
    for need in (_checked_need(shoot, one) for one in needs):
        same = next((old for old in mine if replace(old, id="") == replace(need, id="")), None)
        if same is not None:
            mine.remove(same)
        elif any(replace(old, id="") == replace(need, id="") for old in kept):
            continue
        ids.append(fresh_id("need", ids))
        kept.append(same or replace(need, id=ids[-1]))
    return _with(shoot, replace(shoot.plan, needs=(*others, *kept)))


def set_costs(shoot: Shoot, *, handle_frames: int, lead_in_s: float, reset_s: float) -> tuple[Shoot, Change]:
    """Say what handle a cut needs, and what a pick-up costs beside its passage. Raises ValueError below 0."""
    if min(handle_frames, lead_in_s, reset_s) < 0:
        raise ValueError("Handles and times are 0 or more.")
    costs = {"handle_frames": handle_frames, "lead_in_s": lead_in_s, "reset_s": reset_s}
    return _with(shoot, replace(shoot.plan, **costs))  # type: ignore[arg-type]


def change_need(shoot: Shoot, need: Need) -> tuple[Shoot, Change]:
    """Put a wish in the place of the one of its id. Raises as `add_need`, and KeyError for an unknown id."""
    need = _checked_need(shoot, need)
    return _with(shoot, replace(shoot.plan, needs=_changed(shoot.plan.needs, need)))


def remove_needs(shoot: Shoot, ids: Collection[str]) -> tuple[Shoot, Change]:
    """Take wishes away. Raises KeyError."""
    return _with(shoot, replace(shoot.plan, needs=_removed(shoot.plan.needs, ids)))


def add_set_up(shoot: Shoot, set_up: SetUp, before_id: str | None = None) -> tuple[Shoot, Change]:
    """Add what is meant to be shot, in front of another set-up (None: as the last); its id is given here.

    Raises KeyError for an unknown song or set-up, ValueError without an angle.
    """
    set_up = _checked_set_up(shoot, set_up)
    plan = shoot.plan
    new = replace(set_up, id=fresh_id("set-up", [old.id for old in plan.set_ups]))
    at = len(plan.set_ups) if before_id is None else _place(plan.set_ups, before_id)
    return _with(shoot, replace(plan, set_ups=(*plan.set_ups[:at], new, *plan.set_ups[at:])))


def change_set_up(shoot: Shoot, set_up: SetUp) -> tuple[Shoot, Change]:
    """Put a set-up in the place of the one of its id. Raises as `add_set_up`; KeyError: no such id."""
    set_up = _checked_set_up(shoot, set_up)
    return _with(shoot, replace(shoot.plan, set_ups=_changed(shoot.plan.set_ups, set_up)))


def remove_set_ups(shoot: Shoot, ids: Collection[str]) -> tuple[Shoot, Change]:
    """Take set-ups away. Raises KeyError."""
    return _with(shoot, replace(shoot.plan, set_ups=_removed(shoot.plan.set_ups, ids)))


def move_set_up(shoot: Shoot, set_up_id: str, before_id: str | None) -> tuple[Shoot, Change]:
    """Put a set-up in front of another one (None: behind all). Raises KeyError."""
    old = shoot.plan.set_ups
    moved = old[_place(old, set_up_id)]
    if before_id == set_up_id:
        return shoot, NOTHING
    others = tuple(one for one in old if one.id != set_up_id)
    at = len(others) if before_id is None else _place(others, before_id)
    return _with(shoot, replace(shoot.plan, set_ups=(*others[:at], moved, *others[at:])))


def _checked_need(shoot: Shoot, need: Need) -> Need:
    shoot.song(need.song_id)
    need = replace(need, subject=need.subject.strip())
    if not need.subject:
        raise ValueError("A need says who or what must be seen. Type a subject, such as singer.")
    return need


def _checked_set_up(shoot: Shoot, set_up: SetUp) -> SetUp:
    shoot.song(set_up.song_id)
    set_up = replace(set_up, angle=set_up.angle.strip())
    if not set_up.angle:
        raise ValueError("A set-up needs an angle. Type what the camera will show.")
    return set_up


def _with(shoot: Shoot, plan: Plan) -> tuple[Shoot, Change]:
    return (shoot, NOTHING) if plan == shoot.plan else (replace(shoot, plan=plan), Change.PLAN)


def _changed(items: tuple[Item, ...], new: Item) -> tuple[Item, ...]:
    _place(items, new.id)
    return tuple(new if item.id == new.id else item for item in items)


def _removed(items: tuple[Item, ...], ids: Collection[str]) -> tuple[Item, ...]:
    for one in ids:
        _place(items, one)
    return tuple(item for item in items if item.id not in ids)


def _place(items: tuple[Item, ...], item_id: str) -> int:
    for number, item in enumerate(items):
        if item.id == item_id:
            return number
    raise KeyError(item_id)
