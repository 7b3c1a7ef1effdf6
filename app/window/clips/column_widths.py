"""How wide the columns of the table of clips are: they always fill the room there is, no more and no less.

What a person set holds as a share of the table, as long as the table is about as wide as it was then. All
other columns get what their text needs, the most wanted ones first, and one of them gets what is left.
"""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

SAME = 1.4
"""A width that a person set holds as long as the table is not wider or narrower by more than this factor: by
hand, so that it holds between a window and the same one with its frame, not between a laptop and a wall."""


@dataclass(frozen=True, slots=True)
class Need:
    """What a column would like, in pixels."""

    least: int
    """Below this it says nothing any more."""
    wanted: int
    """Room for its text."""


@dataclass(frozen=True, slots=True)
class SetWidth:
    """A width that a person gave a column."""

    width: int
    room: int
    """How wide the table was then."""

    def at(self, room: int) -> int | None:
        """The width in a table so wide; None where it was set in quite another one.

        >>> SetWidth(200, 1000).at(1200), SetWidth(200, 1000).at(2000)
        (240, None)
        """
        if not self.room or not 1 / SAME <= room / self.room <= SAME:
            return None
        return round(self.width * room / self.room)


def fitted(
    room: int, needs: Mapping[int, Need], first: Sequence[int], chosen: Mapping[int, int]
) -> dict[int, int]:
    """Widths of the columns that have needs, by their numbers; together exactly ``room`` wide.

    ``first`` tells in which order columns get what they want; what is left goes to the last of them that is
    not chosen. ``chosen`` are widths that were set, which give way only where not even the least would be
    left to the others.

    >>> three = {0: Need(10, 30), 1: Need(10, 50), 2: Need(10, 90)}
    >>> fitted(100, three, [0, 1, 2], {})
    {0: 30, 1: 50, 2: 20}
    >>> fitted(100, three, [0, 1, 2], {2: 70})
    {0: 20, 1: 10, 2: 70}
    >>> fitted(100, three, [0, 1, 2], {2: 95})
    {0: 10, 1: 10, 2: 80}
    >>> fitted(15, three, [0, 1, 2], {})
    {0: 5, 1: 5, 2: 5}
    """
    widths = {one: need.least for one, need in needs.items()}
    order = [one for one in first if one in needs]
    spare = room - sum(widths.values())
    if spare < 0:
        # Not even the least: all give way alike.
        whole = sum(widths.values())
        widths = {one: max(0, room) * width // whole for one, width in widths.items()}
        widths[order[-1]] += max(0, room) - sum(widths.values())
        return widths
    free = [one for one in order if one not in chosen]
    for one in [*(one for one in order if one in chosen), *free]:
        wanted = chosen.get(one, needs[one].wanted)
        more = min(spare, max(0, wanted - widths[one]))
        widths[one] += more
        spare -= more
    widths[(free or order)[-1]] += spare
    return widths


def to_text(chosen: Mapping[str, SetWidth], sort: tuple[str, bool] | None) -> str:
    """What a person set, by the names of the columns; ``sort`` is the one sorted by, and whether it falls.

    >>> from_text(to_text({"File": SetWidth(200, 1000)}, ("File", True)))
    ({'File': SetWidth(width=200, room=1000)}, ('File', True))
    """
    widths = {name: [one.width, one.room] for name, one in chosen.items()}
    return json.dumps({"widths": widths, "sort": list(sort) if sort is not None else None})


def from_text(text: str) -> tuple[dict[str, SetWidth], tuple[str, bool] | None]:
    """What `to_text` kept; what is damaged is nothing.

    >>> from_text("?"), from_text('{"widths": {"File": 3}}')
    (({}, None), ({}, None))
    """
    try:
        kept = json.loads(text)
        chosen = {
            str(name): SetWidth(int(width), int(room)) for name, (width, room) in kept["widths"].items()
        }
        sort = kept["sort"]
        return chosen, (str(sort[0]), bool(sort[1])) if sort else None
    except (ValueError, TypeError, KeyError, AttributeError, IndexError):
        return {}, None
