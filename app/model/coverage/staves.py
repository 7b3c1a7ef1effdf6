"""The order in which angles stand in a score: groups together, safeties last."""

from collections.abc import Iterable
from zlib import crc32

from app.model.document.angle import Angle

COLOURS = 8
"""So many angles have a colour of their own; further ones share it and are drawn with another edge."""


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


def colour_number(angle_id: str) -> int:
    """The number that picks an angle's colour: its colour for life.

    Ids count up as angles are made, so the number in the id is the order in which that was done; what is
    moved, hidden or arrives later changes nothing. An id without a number (from another program) gets one by
    a checksum, the same every time. Numbers that are `COLOURS` apart share a colour; their `colour_round`
    tells them apart.

    >>> colour_number("angle-1"), colour_number("angle-9"), colour_number("wide") == colour_number("wide")
    (0, 8, True)
    """
    number = angle_id.rpartition("-")[2]
    if number.isdecimal():
        return max(0, int(number) - 1)
    return crc32(angle_id.encode()) % COLOURS


def colour_round(angle_id: str) -> int:
    """How often all colours were given before this angle got its own; 0 for the first ones.

    >>> colour_round("angle-8"), colour_round("angle-9")
    (0, 1)
    """
    return colour_number(angle_id) // COLOURS
