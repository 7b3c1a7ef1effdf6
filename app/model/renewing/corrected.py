"""Pieces of a master as a person corrects them: where one begins, how fast it runs, which there are."""

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from app.model.document.masters import MasterPiece

LEAST_PIECE_S = 0.5
"""A shorter piece carries no take (s); as `app.model.renewing.carried_takes.LEAST_S`."""
MOST_OVERLAP_S = 0.5
"""Pieces may lie over each other in the next master by so much (s): a song rings on over a cut."""
SLOWEST, FASTEST = 0.25, 4.0
SCRAP_S = 0.02
"""Overlap in the old master that is an edge a little off, no repeat (s)."""


def with_piece(
    pieces: Sequence[MasterPiece], number: int | None, piece: MasterPiece, old_end_s: float, new_end_s: float
) -> tuple[MasterPiece, ...]:
    """The pieces with one in the place of that number, or one more; sorted, repeats told anew.

    Raises ValueError with a sentence where such a piece cannot be.
    """
    _check(piece, old_end_s, new_end_s)
    rest = [one for n, one in enumerate(pieces) if n != number]
    end_s = _new_end_s(piece)
    for other in rest:
        over_s = min(end_s, _new_end_s(other)) - max(piece.new_start_s, other.new_start_s)
        if over_s > MOST_OVERLAP_S:
            raise ValueError(
                f"This piece would lie over another one for {over_s:.1f} s of the new master. "
                "Shorten or remove the other one first."
            )
    return in_order([*rest, piece])


def without_piece(pieces: Sequence[MasterPiece], number: int) -> tuple[MasterPiece, ...]:
    """The pieces without that one: what it carried has no place any more."""
    return in_order([one for n, one in enumerate(pieces) if n != number])


def in_order(pieces: Sequence[MasterPiece]) -> tuple[MasterPiece, ...]:
    """Pieces in the order of old time; a stretch that several have is repeated in all but the first.

    >>> whole, again = MasterPiece(0.0, 60.0, 0.0), MasterPiece(40.0, 80.0, 60.0)
    >>> [(one.old_start_s, one.old_end_s, one.again) for one in in_order([again, whole])]
    [(0.0, 60.0, False), (40.0, 60.0, True), (60.0, 80.0, False)]
    """
    out: list[MasterPiece] = []
    for piece in sorted(pieces, key=lambda one: one.new_start_s):
        known = [one for one in out if not one.again]
        edges = {piece.old_start_s, piece.old_end_s}
        for one in known:
            edges |= {
                edge
                for edge in (one.old_start_s, one.old_end_s)
                if piece.old_start_s + SCRAP_S < edge < piece.old_end_s - SCRAP_S
            }
        for low, high in pairwise(sorted(edges)):
            middle_s = (low + high) / 2
            again = any(one.old_start_s <= middle_s <= one.old_end_s for one in known)
            new_s = piece.line.song_time(low)
            out.append(replace(piece, old_start_s=low, old_end_s=high, new_start_s=new_s, again=again))
    return tuple(sorted(out, key=lambda one: (one.old_start_s, one.again, one.new_start_s)))


def _check(piece: MasterPiece, old_end_s: float, new_end_s: float) -> None:
    if not SLOWEST <= piece.speed <= FASTEST:
        raise ValueError(f"A speed is between {SLOWEST:g} and {FASTEST:g}.")
    if piece.old_end_s - piece.old_start_s < LEAST_PIECE_S:
        raise ValueError(f"A piece is at least {LEAST_PIECE_S:g} s long, and ends after it begins.")
    if piece.old_start_s < 0 or piece.old_end_s > old_end_s + SCRAP_S:
        raise ValueError(f"The old master runs from 0 to {old_end_s:.3f} s: the piece must lie in it.")
    if piece.new_start_s < -MOST_OVERLAP_S or _new_end_s(piece) > new_end_s + MOST_OVERLAP_S:
        raise ValueError(f"The new master runs from 0 to {new_end_s:.3f} s: the piece must lie in it.")


def _new_end_s(piece: MasterPiece) -> float:
    return piece.line.song_time(piece.old_end_s)
