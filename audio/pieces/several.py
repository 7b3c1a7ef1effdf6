"""A recording in which several songs run: what two of them claim goes to the one that is heard better."""

from collections.abc import Sequence
from dataclasses import replace

from audio.pieces.piece import SHORTEST_S, Piece
from audio.placement.reason_codes import Reason, ReasonCode

CLEARLY = 1.15
"""The better one must be stronger by this factor, or it cannot be told whose the stretch is. Chosen by hand:
two mixes of one song, each heard in a file of the other, differ by more."""


def shared_out(found: Sequence[Sequence[Piece]]) -> tuple[tuple[Piece, ...], ...]:
    """Pieces of several songs in one recording, without overlap between songs.

    Parameters
    ----------
    found : for each song its pieces, in the recording's order, without overlap

    Returns
    -------
    For each song what is left to it, in the recording's order. Where two songs fit about as well, the one
    that keeps the stretch is not sure of it.
    """
    owned = [(number, piece) for number, pieces in enumerate(found) for piece in pieces]
    owned.sort(key=lambda pair: _strength(pair[1]), reverse=True)
    out: list[tuple[int, Piece]] = []
    for number, piece in owned:
        better = [other for owner, other in out if owner != number]
        mine = [other for owner, other in out if owner == number]
        left = [one for one in kept_apart([*better, *mine, piece]) if one not in better and one not in mine]
        for at, (owner, other) in enumerate(out):
            if owner != number and _overlap_s(other, piece) > SHORTEST_S and not _clearly(other, piece):
                places = Reason(ReasonCode.FITS_ELSEWHERE)
                out[at] = owner, replace(other, doubt=other.doubt or places)
        out += [(number, one) for one in left]
    return tuple(
        tuple(sorted((one for owner, one in out if owner == number), key=lambda one: one.start_s))
        for number in range(len(found))
    )


def _strength(piece: Piece) -> tuple[bool, bool, float]:
    """What a waveform agrees with comes before what only onsets do; what is sure before what is not."""
    return piece.sure, not piece.pitch_kept, piece.strength


def _clearly(better: Piece, other: Piece) -> bool:
    if better.pitch_kept is not other.pitch_kept or better.sure is not other.sure:
        return True
    return better.strength > CLEARLY * other.strength


def _overlap_s(one: Piece, other: Piece) -> float:
    return min(one.end_s, other.end_s) - max(one.start_s, other.start_s)


def kept_apart(best_first: Sequence[Piece]) -> list[Piece]:
    """Pieces, each without what an earlier one covers, back in the recording's order; scraps are dropped."""
    kept: list[Piece] = []
    for piece in best_first:
        left = [piece]
        for other in kept:
            left = [
                part
                for one in left
                for part in (one.between(one.start_s, other.start_s), one.between(other.end_s, one.end_s))
                if part.length_s > 0
            ]
        whole = sum(part.length_s for part in left)
        # A piece that a better one covers for the most part was the same sound on a worse line.
        if whole >= piece.length_s / 2:
            kept += [part for part in left if part.length_s >= SHORTEST_S]
    return sorted(kept, key=lambda piece: piece.start_s)
