"""What can be cut to over a stretch of the song, best first."""

from collections.abc import Iterable
from dataclasses import dataclass

from app.model.coverage.time_spans import common, length
from app.model.coverage.usable import UsableTake
from app.model.on_song import SongView


@dataclass(frozen=True, slots=True)
class CutAway:
    """A take that can be shown over some of a stretch."""

    take_id: str
    angle_id: str
    safety: bool
    keeper_s: float
    """How much of the stretch the maker wants used from it (s)."""
    usable_s: float
    """How much of the stretch it shows usably (s)."""
    wholly: bool
    """One usable stretch of it spans all of it: no second cut is needed."""


def cut_aways(
    shoot: SongView, takes: Iterable[UsableTake], start_s: float, end_s: float, but_take: str = ""
) -> tuple[CutAway, ...]:
    """What can be cut to between two moments of the song, without takes in doubt.

    Keepers first, safeties last; then what spans all of it; then by the maker's rank of the angle, by how
    much is shown, and by stave. ``but_take`` is the one that is to be left.
    """
    angles = {angle.id: angle for angle in shoot.angles}
    found = []
    for number, one in enumerate(takes):
        shown = common(one.usable, ((start_s, end_s),))
        if one.doubtful or one.take.id == but_take or not shown:
            continue
        angle = angles.get(one.angle_id)
        option = CutAway(
            take_id=one.take.id,
            angle_id=one.angle_id,
            safety=angle is not None and angle.safety,
            keeper_s=length(common(one.keepers, ((start_s, end_s),))),
            usable_s=length(shown),
            wholly=shown == ((start_s, end_s),),
        )
        rank = angle.rank if angle is not None and angle.rank else len(angles) + 1
        order = (option.safety, not option.keeper_s, not option.wholly, rank, -option.usable_s, number)
        found.append((order, option))
    return tuple(option for _, option in sorted(found, key=lambda pair: pair[0]))
