"""A reference: a recording that clips are held against, and where songs run in it."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

import numpy as np

from audio.line import Line
from audio.placement.answer import PlaceRival, PlaceVerdict, TakeFit
from audio.placement.reason_codes import Reason, ReasonCode
from audio.placement.verdicts import LOOSE_S, STRENGTH_NEEDED

SCRAP_S = 0.5
"""What is left of a take in a piece, and is shorter than this, is dropped. Chosen by hand."""
SAME_MOMENT_S = 0.005
"""Two places of a playback file this close in song time are the same moment of the song. Chosen by hand."""


@dataclass(frozen=True, slots=True)
class Piece:
    """A stretch of a reference through which a song runs."""

    song: str
    """Key of the song."""
    start_s: float
    """In the reference, as `end_s`."""
    end_s: float
    line: Line
    """Song time over time in the reference."""
    uncertainty_s: float = 0.0
    """Half-width of song time that holds the true place 95 times in 100."""


@dataclass(frozen=True, slots=True)
class TimeBase:
    """The linear timecode that a playback file carries."""

    frame: int
    """A label's frames from midnight, without the labels that drop-frame counting leaves out …"""
    at_s: float
    """… and when in the file it begins."""
    rate: Fraction
    """Frames a second."""
    user: int
    """The number in its user bits: no other timecode has it."""
    length_s: float
    """How long the file is."""


@dataclass(frozen=True, slots=True)
class Reference:
    """A song, or a playback file."""

    key: str
    name: str
    """What people call it."""
    pieces: tuple[Piece, ...] | None = None
    """Of a playback file, in its order; None for a song."""
    timecode: TimeBase | None = None

    @property
    def is_song(self) -> bool:
        """Whether it is a song itself."""
        return self.pieces is None


@dataclass(frozen=True, slots=True)
class Told:
    """A take as it was found on a reference, told in song time."""

    song: str
    """Key of the song."""
    reference: str
    """Key of the reference that was heard."""
    fit: TakeFit
    """In song time."""
    found: TakeFit
    """The same stretch in the reference's own time."""

    @property
    def stands_out(self) -> float:
        """Strength per root second (no unit)."""
        return self.fit.strength / float(np.sqrt(max(self.fit.clip_length_s, SCRAP_S)))

    def reaching(self, start_s: float, end_s: float) -> "Told":
        """The same take with other ends (clip s)."""
        parts = [one.reaching(start_s, end_s, one.uncertainty_s) for one in (self.fit, self.found)]
        return replace(self, fit=parts[0], found=parts[1])

    def within(self, start_s: float, end_s: float) -> "Told":
        """The part of it between two clip times (s)."""
        start, end = max(start_s, self.fit.clip_start_s), min(end_s, self.fit.clip_end_s)
        return self.reaching(start, end)


def told(take: TakeFit, reference: Reference, names: Mapping[str, str]) -> list[Told]:
    """A take found on a reference, in song time: one for each piece that it runs through.

    ``names`` are those of all songs, by their keys.
    """
    if reference.pieces is None:
        return [Told(reference.key, reference.key, take, take)]
    out = []
    for piece in reference.pieces:
        start = max(take.clip_start_s, take.line.clip_time(piece.start_s))
        end = min(take.clip_end_s, take.line.clip_time(piece.end_s))
        if end - start >= SCRAP_S:
            found = take.reaching(start, end, take.uncertainty_s)
            out.append(Told(piece.song, reference.key, _through(found, piece, reference, names), found))
    return out


def piece_at(reference: Reference, start_s: float, take: TakeFit) -> Piece | None:
    """The piece in which a take's middle would lie if it began at ``start_s`` of the reference."""
    middle_s = start_s + take.clip_length_s / 2 * take.speed
    pieces = reference.pieces or ()
    return next((one for one in pieces if one.start_s <= middle_s <= one.end_s), None)


def _through(take: TakeFit, piece: Piece, reference: Reference, names: Mapping[str, str]) -> TakeFit:
    """A take that lies in a piece, on the song's clock."""
    speed = piece.line.speed
    line = Line(take.clip_start_s, piece.line.song_time(take.song_start_s), take.speed * speed)
    told = replace(
        take,
        line=line,
        uncertainty_s=float(np.hypot(take.uncertainty_s * speed, piece.uncertainty_s)),
        speed_sd=take.speed_sd * speed,
        rivals=(),
        lags=tuple((at, lag * speed, strength) for at, lag, strength in take.lags),
        heard_on=reference.key,
    )
    rivals: list[PlaceRival] = []
    nowhere, others = False, []
    for rival in take.rivals:
        there = piece_at(reference, rival.song_start_s, take)
        if there is None:
            nowhere |= rival.open
        elif there.song != piece.song:
            others += [names.get(there.song, there.song)] if rival.open else []
        else:
            song_s = there.line.song_time(rival.song_start_s)
            same_s = float(np.hypot(told.uncertainty_s, there.uncertainty_s)) + SAME_MOMENT_S
            if abs(song_s - line.song_s) > same_s:
                rivals.append(rival._replace(song_start_s=song_s))
    told = replace(told, rivals=tuple(rivals))
    if take.reason is None or take.reason.code is not ReasonCode.FITS_ELSEWHERE or nowhere:
        return told
    if others:
        return replace(told, reason=Reason(ReasonCode.OTHER_SONG_AS_WELL, (("song", others[0]),)))
    count = sum(rival.open for rival in rivals)
    if count:
        return replace(told, reason=Reason(ReasonCode.FITS_ELSEWHERE, (("places", count),)))
    # The file holds the same moment of the song twice: it does not matter which of them was heard.
    if take.uncertainty_s > LOOSE_S:
        return replace(told, reason=Reason(ReasonCode.CLOCK_UNCLEAR))
    if take.strength < STRENGTH_NEEDED:
        return replace(told, reason=Reason(ReasonCode.FAINT))
    return replace(told, verdict=PlaceVerdict.PLACED, reason=None)
