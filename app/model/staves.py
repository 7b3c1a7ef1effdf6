"""The order in which angles stand in a score: groups together, safeties last."""

from collections.abc import Iterable, Sequence

from app.model.shoot import Angle


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


def colour_ranks(angles: Sequence[Angle]) -> dict[str, int]:
    """For each angle's id a number that picks its colour, and stays when staves are moved.

    >>> colour_ranks((Angle("angle-10", "Drums"), Angle("angle-9", "Fiddle")))
    {'angle-9': 0, 'angle-10': 1}
    """
    ids = sorted((angle.id for angle in angles), key=lambda one: (len(one), one))
    return {one: rank for rank, one in enumerate(ids)}
