"""Times of an earlier master in the time of the next one, through the pieces that live on."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from app.model.document.masters import MasterPiece

JOINT_S = 0.003
"""Pieces whose edges are no further apart than this, in both masters, go on from one to the next."""
SAME_SPEED = 1e-5
SLACK_S = 0.001
"""A moment this far beyond a piece still counts as in it: edges are known to about a millisecond."""


@dataclass(frozen=True, slots=True)
class Part:
    """A part of a stretch that lives on."""

    old_start_s: float
    old_end_s: float
    piece: MasterPiece

    @property
    def new_start_s(self) -> float:
        return self.piece.line.song_time(self.old_start_s)

    @property
    def new_end_s(self) -> float:
        return self.piece.line.song_time(self.old_end_s)


@dataclass(frozen=True, slots=True)
class Through:
    """The pieces that live on, as a way from old time to new."""

    pieces: tuple[MasterPiece, ...]
    new_end_s: float
    """How long the next master is."""

    @classmethod
    def of(cls, pieces: Sequence[MasterPiece], new_end_s: float) -> "Through":
        """In the order of old time."""
        return cls(tuple(sorted(pieces, key=lambda one: (one.old_start_s, one.again))), new_end_s)

    def moment(self, old_s: float) -> float | None:
        """When a moment of the old master comes; None where it does not live on."""
        for piece in self.pieces:
            if not piece.again and piece.old_start_s - SLACK_S <= old_s < piece.old_end_s + SLACK_S:
                return piece.line.song_time(old_s)
        return None

    def moments(self, olds_s: Sequence[float]) -> tuple[float, ...]:
        """When moments come that live on, also again, rising."""
        return tuple(
            sorted(
                piece.line.song_time(old_s)
                for piece in self.pieces
                for old_s in olds_s
                if piece.old_start_s - SLACK_S <= old_s < piece.old_end_s
            )
        )

    def parts(self, old_start_s: float, old_end_s: float, *, again: bool = False) -> tuple[Part, ...]:
        """What lives on of a stretch, in old order; with what is there ``again`` where that is wanted."""
        found = []
        for piece in self.pieces:
            low, high = max(old_start_s, piece.old_start_s), min(old_end_s, piece.old_end_s)
            if high > low and (again or not piece.again):
                found.append(Part(low, high, piece))
        return tuple(found)

    @property
    def runs(self) -> tuple[MasterPiece, ...]:
        """The pieces in the order of the next master, with those as one that go on in both masters."""
        out: list[MasterPiece] = []
        for piece in sorted(self.pieces, key=lambda one: one.new_start_s):
            if out and _goes_on(out[-1], piece):
                unsure_s = max(out[-1].uncertainty_s, piece.uncertainty_s)
                out[-1] = replace(out[-1], old_end_s=piece.old_end_s, uncertainty_s=unsure_s)
            else:
                out.append(piece)
        return tuple(out)

    def places(self, old_start_s: float, old_end_s: float, least_s: float = SLACK_S) -> tuple[Part, ...]:
        """All places in the next master that a stretch has there as a whole, in the order of that; as far as
        it lies there, where no more than ``least_s`` are missing on either side."""
        return tuple(
            Part(max(old_start_s, run.old_start_s), min(old_end_s, run.old_end_s), run)
            for run in self.runs
            if run.old_start_s - least_s <= old_start_s and old_end_s <= run.old_end_s + least_s
        )

    def gone(self, old_start_s: float, old_end_s: float) -> tuple[tuple[float, float], ...]:
        """What does not live on of a stretch, longer than `SLACK_S`, in old order."""
        out, at = [], old_start_s
        for part in sorted(self.parts(old_start_s, old_end_s), key=lambda one: one.old_start_s):
            if part.old_start_s > at + SLACK_S:
                out.append((at, part.old_start_s))
            at = max(at, part.old_end_s)
        if old_end_s > at + SLACK_S:
            out.append((at, old_end_s))
        return tuple(out)

    def new(self) -> tuple[tuple[float, float], ...]:
        """The stretches of the next master that the old one does not have, longer than `SLACK_S`."""
        out, at = [], 0.0
        for start_s, end_s in sorted(
            (one.new_start_s, one.line.song_time(one.old_end_s)) for one in self.pieces
        ):
            if start_s > at + SLACK_S:
                out.append((at, start_s))
            at = max(at, end_s)
        if self.new_end_s > at + SLACK_S:
            out.append((at, self.new_end_s))
        return tuple(out)


def _goes_on(before: MasterPiece, after: MasterPiece) -> bool:
    apart_s = after.new_start_s - before.line.song_time(before.old_end_s)
    return (
        abs(after.old_start_s - before.old_end_s) <= JOINT_S
        and abs(apart_s) <= JOINT_S
        and abs(after.speed - before.speed) <= SAME_SPEED
    )
