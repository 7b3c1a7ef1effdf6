"""What can be played on set for a song: the song itself, and each playback file in which it runs."""

from dataclasses import dataclass
from fractions import Fraction
from pathlib import PurePath

from app.model.document.playback_file import PlaybackFile, PlaybackPiece
from app.model.document.song import Song
from app.model.on_song import SongView

SIMPLEST = 5000
"""A speed is told as a fraction with a denominator of at most this: 1001/400 is one, a clock's drift none."""


@dataclass(frozen=True, slots=True)
class Played:
    """One file, and how the song runs through it."""

    name: str
    path: str
    duration_s: float
    speed: Fraction
    """Seconds of song to a second of playback, where the song begins in it."""
    pieces: tuple[PlaybackPiece, ...]
    """Those of the song, in the file's order; at least one."""
    is_song: bool
    called: str = ""
    """What it is for, such as ``from B, 4 bars lead-in``, or the name of its file; empty for the song."""

    def song_s(self, file_s: float) -> float | None:
        """The song time that sounds at a time of the file (s), told before the song begins as if it ran; None
        where it does not run any more, or not yet again."""
        if file_s < self.pieces[0].end_s:
            return self.pieces[0].line.song_time(file_s)
        inside = (one for one in self.pieces if one.start_s <= file_s < one.end_s)
        piece = next(inside, None)
        return None if piece is None else piece.line.song_time(file_s)

    @property
    def first_song_s(self) -> float:
        """Song time at which the song begins to be heard in the file."""
        return self.pieces[0].song_start_s


def played_for(shoot: SongView) -> tuple[Played, ...]:
    """The song first, then the playback files in the shoot's order; none without a song."""
    song = shoot.song
    if song is None:
        return ()
    files = (_of_file(one, song) for one in shoot.playbacks)
    return (_the_song(song), *(one for one in files if one is not None))


def _the_song(song: Song) -> Played:
    whole = PlaybackPiece(song.id, 0.0, song.duration_s, 0.0)
    name = PurePath(song.media.path).name
    return Played(name, song.media.path, song.duration_s, Fraction(1), (whole,), is_song=True)


def _of_file(file: PlaybackFile, song: Song) -> Played | None:
    pieces = tuple(one for one in file.pieces if one.song_id == song.id)
    if not pieces:
        return None
    speed = Fraction(pieces[0].speed).limit_denominator(SIMPLEST)
    name = PurePath(file.media.path).name
    called = file.note or PurePath(name).stem
    return Played(name, file.media.path, file.duration_s, speed, pieces, is_song=False, called=called)
