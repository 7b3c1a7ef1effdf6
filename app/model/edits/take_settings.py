"""What a person sets on a take stays with its stretch of the clip, wherever in the song that lies."""

from collections.abc import Collection
from dataclasses import replace

from app.model.document.change import NOTHING, Change
from app.model.document.decisions import SetTake, TakeSettings
from app.model.document.shoot import Shoot
from app.model.edits.deciding import find_take
from app.model.framing import within
from app.model.on_song import Take, mostly_shared


def set_on_take(shoot: Shoot, clip_id: str, take: Take, settings: TakeSettings) -> tuple[Shoot, Change]:
    """Give a take of a clip other settings."""
    if settings == take.settings:
        return shoot, NOTHING
    others = tuple(
        one for one in shoot.decisions.settings if one.clip_id != clip_id or not mostly_shared(one, take)
    )
    new = SetTake(clip_id, take.clip_start_s, take.clip_end_s, settings)
    return replace(shoot, decisions=replace(shoot.decisions, settings=(*others, new))), Change.TAKES


def shift_take(shoot: Shoot, take_id: str, shift_x: float, shift_y: float) -> tuple[Shoot, Change]:
    """Put the frame guide of a take elsewhere in its pictures; beyond the edge is at the edge."""
    _, clip, take = find_take(shoot, take_id)
    settings = replace(take.settings, shift_x=within(shift_x), shift_y=within(shift_y))
    return set_on_take(shoot, clip.id, take, settings)


def set_transfer(shoot: Shoot, take_ids: Collection[str], transfer: str) -> tuple[Shoot, Change]:
    """A person says with which transfer function takes were shot; empty: as their files say.

    Matches of these takes no longer hold; where the reference is among them, none does.
    """
    change = NOTHING
    for take_id in take_ids:
        _, clip, take = find_take(shoot, take_id)
        shoot, one = set_on_take(shoot, clip.id, take, replace(take.settings, transfer=transfer))
        if one:
            wanted = shoot.decisions.reference
            refers = wanted is not None and wanted.clip_id == clip.id and mostly_shared(wanted, take)
            shoot, more = _without_match(shoot, clip.id, take, every=refers)
            change |= one | more
    return shoot, change


def set_match_figures(
    shoot: Shoot, take_ids: Collection[str], *, power: bool, saturation: bool
) -> tuple[Shoot, Change]:
    """A person says whether the matches of takes find power and saturation; those found without go."""
    change = NOTHING
    for take_id in take_ids:
        _, clip, take = find_take(shoot, take_id)
        settings = replace(take.settings, power=power, saturation=saturation)
        shoot, one = set_on_take(shoot, clip.id, take, settings)
        if one:
            shoot, more = _without_match(shoot, clip.id, take)
            change |= one | more
    return shoot, change


def _without_match(shoot: Shoot, clip_id: str, take: Take, *, every: bool = False) -> tuple[Shoot, Change]:
    """The shoot without the match of a take, or without any."""
    kept = tuple(
        match
        for match in shoot.matches
        if not every and not (match.clip_id == clip_id and mostly_shared(match, take))
    )
    return (shoot, NOTHING) if kept == shoot.matches else (replace(shoot, matches=kept), Change.LOOKS)
