"""Which take is seen where when several angles are watched: each angle keeps its seat through the song."""

from collections.abc import Sequence
from dataclasses import dataclass

from app.model.coverage.staves import stave_order
from app.model.document.angle import Angle
from app.model.on_song import Clip, SongView, Take

Seen = tuple[Clip, Take]


@dataclass(frozen=True, slots=True)
class Seat:
    """A place for one angle; one whose takes overlap in the song has several."""

    angle: Angle
    number: int
    """Which of the angle's seats, from 0."""
    takes: tuple[Seen, ...]
    """What is seen here in the course of the song, one after the other."""

    @property
    def key(self) -> tuple[str, int]:
        """What stays of it when takes change."""
        return self.angle.id, self.number

    def at(self, song_s: float) -> Seen | None:
        """What is seen at a moment of the song; None where this angle has nothing."""
        return next((one for one in self.takes if _covers(one[1], song_s)), None)


def seats(shoot: SongView) -> tuple[Seat, ...]:
    """The seats of all angles that are seen and have pictures of the song, in the order of the staves."""
    takes = _with_pictures(shoot)
    made = []
    for angle in stave_order(shoot.angles):
        rows: list[list[Seen]] = []
        mine = (one for one in takes if one[0].angle_id == angle.id)
        for one in sorted(mine, key=lambda seen: seen[1].song_start_s):
            row = next((row for row in rows if row[-1][1].song_end_s <= one[1].song_start_s), None)
            if row is None:
                rows.append([one])
            else:
                row.append(one)
        made += [Seat(angle, number, tuple(row)) for number, row in enumerate(rows)]
    return tuple(made)


def seats_shown(
    every: Sequence[Seat],
    song_s: float,
    before: Sequence[tuple[str, int]],
    most: int,
    chosen_id: str | None = None,
) -> tuple[Seat, ...]:
    """The seats on screen at a moment, no more than ``most``.

    Where there is room for all of them they are all there, empty or not. Else those that were there
    (``before``: their keys) and have a picture stay where they were, and others come in for those that have
    none; that of the chosen take is always among them.
    """
    if len(every) <= most:
        return tuple(every)
    now = {seat.key: seat for seat in every if seat.at(song_s) is not None}
    count = min(most, len(now))
    shown: list[Seat | None] = [now.pop(key, None) for key in before[:count]]
    shown += [None] * (count - len(shown))
    come = list(now.values())
    for place, seat in enumerate(shown):
        if seat is None:
            shown[place] = come.pop(0)
    chosen = next((seat for seat in come if _shows(seat, song_s, chosen_id)), None)
    if chosen is not None:
        shown[-1] = chosen
    return tuple(seat for seat in shown if seat is not None)


def covering_takes(shoot: SongView, song_s: float) -> Sequence[Seen]:
    """The takes with a picture of a moment of the song, in the order of the staves."""
    order = {angle.id: number for number, angle in enumerate(stave_order(shoot.angles))}
    found = [one for one in _with_pictures(shoot) if _covers(one[1], song_s)]
    return sorted(found, key=lambda one: order[one[0].angle_id])


def _with_pictures(shoot: SongView) -> list[Seen]:
    hidden = {angle.id for angle in shoot.angles if angle.hidden}
    return [
        (clip, take)
        for clip in shoot.clips
        if clip.frame_rate is not None and clip.angle_id not in hidden
        for take in clip.takes
    ]


def _covers(take: Take, song_s: float) -> bool:
    return take.song_start_s <= song_s < take.song_end_s


def _shows(seat: Seat, song_s: float, take_id: str | None) -> bool:
    seen = seat.at(song_s)
    return seen is not None and seen[1].id == take_id
