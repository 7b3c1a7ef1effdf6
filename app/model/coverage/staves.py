"""The order in which angles stand in a score: groups together, safeties last."""

from collections.abc import Iterable
from itertools import count, pairwise

from app.model.document.angle import Angle
from app.model.on_song import SongView

COLOURS = 6
"""So many angles have a colour of their own; further ones share it, and their takes have one more line."""


def stave_order(angles: Iterable[Angle]) -> tuple[Angle, ...]:
    """Angles as they stand: those of a group beside its first one, safeties below all others.

    A safety of a group stands with the group's other safeties.

    >>> staves = (Angle("1", "Wide", safety=True), Angle("2", "Fiddle", group="Strings"), Angle("3", "Drums"),
    ...     Angle("4", "Cello", group="Strings"))
    >>> [angle.name for angle in stave_order(staves)]
    ['Fiddle', 'Cello', 'Drums', 'Wide']
    """
    blocks: dict[tuple[bool, str, str], list[Angle]] = {}
    for angle in angles:
        key = (angle.safety, angle.group, "" if angle.group else angle.id)
        blocks.setdefault(key, []).append(angle)
    ordered = sorted(blocks.items(), key=lambda block: block[0][0])
    return tuple(angle for _, members in ordered for angle in members)


def stave_blocks(angles: Iterable[Angle]) -> tuple[tuple[Angle, ...], ...]:
    """What moves as one, in stave order: the angles of a group, or one angle that is in none."""
    blocks: list[list[Angle]] = []
    for angle in stave_order(angles):
        last = blocks[-1][-1] if blocks else None
        if last is not None and angle.group and (last.group, last.safety) == (angle.group, angle.safety):
            blocks[-1].append(angle)
        else:
            blocks.append([angle])
    return tuple(tuple(block) for block in blocks)


def colour_ranks(shoot: SongView) -> dict[str, int]:
    """For each angle's id a number that picks its colour, and stays when staves are moved.

    Angles of which there is something to see come first. Numbers that are `COLOURS` apart share a colour;
    where two such staves came to stand beside each other, the lower one gets another number.

    >>> colour_ranks(SongView(angles=(Angle("angle-10", "Drums"), Angle("angle-9", "Fiddle"))))
    {'angle-9': 0, 'angle-10': 1}
    """
    seen = {clip.angle_id for clip in shoot.clips if clip.takes and clip.frame_rate is not None}
    ids = sorted(
        (angle.id for angle in shoot.angles), key=lambda one: (bool(seen) and one not in seen, len(one), one)
    )
    ranks = {one: rank for rank, one in enumerate(ids)}
    # A safety has a colour of its own.
    staves = [angle.id for angle in stave_order(shoot.angles) if not angle.safety]
    for n, (above, one) in enumerate(pairwise(staves), 1):
        if ranks[above] % COLOURS == ranks[one] % COLOURS:
            near = {ranks[two] % COLOURS for two in (above, *staves[n + 1 : n + 2])}
            free = (rank for rank in count(len(ids)) if rank not in ranks.values())
            ranks[one] = next(rank for rank in free if rank % COLOURS not in near)
    return ranks
