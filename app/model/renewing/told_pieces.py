"""What became of a master in the next one, stretch by stretch: kept, moved, repeated, cut or added."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from app.model.document.masters import MasterPiece
from app.model.renewing.through import Through

SAME_S = 0.0005
"""Off by less than this a stretch lies where it lay: half of what is promised of pieces."""
LEAST_S = 0.03
"""A shorter stretch between pieces is not told: less than a frame is an edge that is known no better."""


class Fate(StrEnum):
    """What became of a stretch."""

    KEPT = "kept"
    MOVED = "moved"
    REPEATED = "repeated"
    CUT = "cut"
    ADDED = "added"


@dataclass(frozen=True, slots=True)
class Told:
    """A stretch of the old master, of the next one, or of both."""

    fate: Fate
    old_s: tuple[float, float] | None
    """From, to in the old master; None of what was added."""
    new_s: tuple[float, float] | None
    """From, to in the next one; None of what was cut."""
    number: int | None = None
    """Of the piece in the list of pieces; None of what is cut or added."""
    speed: float = 1.0
    """Seconds of the next master to a second of the old one."""

    @property
    def moved_s(self) -> float:
        """How much later it begins in the next master (s)."""
        return 0.0 if self.old_s is None or self.new_s is None else self.new_s[0] - self.old_s[0]


def told_pieces(pieces: Sequence[MasterPiece], old_end_s: float, new_end_s: float) -> tuple[Told, ...]:
    """All stretches of both masters, in the order of the next one; what was cut, before what came after it.

    >>> cut_out = [MasterPiece(0.0, 20.0, 0.0), MasterPiece(30.0, 60.0, 20.0)]
    >>> [(one.fate.value, one.old_s, one.new_s) for one in told_pieces(cut_out, 60.0, 50.0)]
    [('kept', (0.0, 20.0), (0.0, 20.0)), ('cut', (20.0, 30.0), None), ('moved', (30.0, 60.0), (20.0, 50.0))]
    """
    through = Through.of(pieces, new_end_s)
    there = [_told(number, piece) for number, piece in enumerate(pieces)]
    there += [Told(Fate.ADDED, None, (low, high)) for low, high in through.new() if high - low >= LEAST_S]
    there.sort(key=lambda one: one.new_s or (0.0, 0.0))
    for low, high in through.gone(0.0, old_end_s):
        if high - low < LEAST_S:
            continue
        behind = (
            n
            for n, one in enumerate(there)
            if one.old_s is not None and one.fate is not Fate.REPEATED and one.old_s[0] >= high - LEAST_S
        )
        there.insert(next(behind, len(there)), Told(Fate.CUT, (low, high), None))
    return tuple(there)


def _told(number: int, piece: MasterPiece) -> Told:
    new_s = piece.new_start_s, piece.line.song_time(piece.old_end_s)
    old_s = piece.old_start_s, piece.old_end_s
    stays = max(abs(new - old) for new, old in zip(new_s, old_s, strict=True)) < SAME_S
    fate = Fate.REPEATED if piece.again else Fate.KEPT if stays else Fate.MOVED
    return Told(fate, old_s, new_s, number, piece.speed)
