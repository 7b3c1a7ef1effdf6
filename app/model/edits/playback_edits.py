"""Edits of playback files: what was played on set, and how songs run through it.

See `app.model.document.change` for what all edits share.
"""

from collections.abc import Collection, Sequence
from dataclasses import replace

from app.model.document.change import NOTHING, Change
from app.model.document.ids import fresh_id
from app.model.document.playback_file import PlaybackFile, PlaybackPiece
from app.model.document.shoot import Shoot

SLOWEST, FASTEST = 0.1, 10.0
"""Speeds that a person can set."""
SHORTEST_S = 0.1
"""A shorter piece is nothing that anybody played (s)."""


def add_playbacks(shoot: Shoot, playbacks: Sequence[PlaybackFile]) -> tuple[Shoot, Change]:
    """Add playback files as they were found or made; they get ids.

    A file of the same content that is there already takes over where it lies now and, unless a person
    corrected it, its pieces; its note stays. A file that lies where one of other content lay has been written
    over that one, and takes its place with all that is told of it. Raises KeyError for a piece of a song that
    is not in the shoot; ValueError where pieces are out of order.
    """
    change = NOTHING
    for one in playbacks:
        shoot, own = _add(shoot, one)
        change |= own
    return shoot, change


def _add(shoot: Shoot, playback: PlaybackFile) -> tuple[Shoot, Change]:
    pieces = _checked(shoot, playback.duration_s, playback.pieces)
    old = next((one for one in shoot.playbacks if one.media.same_content(playback.media)), None)
    if old is None:
        over = next((one for one in shoot.playbacks if one.media.path == playback.media.path), None)
        if over is not None:
            return _with(shoot, replace(playback, id=over.id, pieces=pieces, note=playback.note.strip()))
        name = fresh_id("playback", [one.id for one in shoot.playbacks])
        new = replace(playback, id=name, pieces=pieces, note=playback.note.strip())
        return replace(shoot, playbacks=(*shoot.playbacks, new)), Change.PLAYBACK
    again = replace(playback, id=old.id, pieces=pieces, note=old.note or playback.note.strip())
    if old.by_hand or (old.made and not playback.made):
        again = replace(old, media=playback.media)
    return _with(shoot, again)


def remove_playback(shoot: Shoot, ids: Collection[str]) -> tuple[Shoot, Change]:
    """Remove playback files; what was found on them stays until clips are placed again. Raises KeyError."""
    for name in ids:
        _of(shoot, name)
    if not ids:
        return shoot, NOTHING
    kept = tuple(one for one in shoot.playbacks if one.id not in ids)
    return replace(shoot, playbacks=kept), Change.PLAYBACK


def correct_piece(
    shoot: Shoot, playback_id: str, number: int, song_start_s: float, speed: float
) -> tuple[Shoot, Change]:
    """A person tells where in the song a piece begins, and its speed (seconds of song to one of playback).

    The file is by hand from then on and not searched anew. Raises KeyError for an unknown file or piece;
    ValueError for a speed nobody plays at, or where nothing of the piece would lie in its song.
    """
    playback = _of(shoot, playback_id)
    old = _piece(playback, number)
    if not SLOWEST <= speed <= FASTEST:
        raise ValueError(f"A speed of {speed:g} cannot be. Set one between {SLOWEST:g} and {FASTEST:g}.")
    length_s = _song_length_s(shoot, old.song_id)
    if not song_start_s < length_s or song_start_s + speed * (old.end_s - old.start_s) <= 0:
        raise ValueError("That is outside the song. Set a start that lies in the song.")
    if (old.song_start_s, old.speed) == (song_start_s, speed):
        return shoot, NOTHING
    new = replace(old, song_start_s=song_start_s, speed=speed, uncertainty_s=0.0)
    pieces = (*playback.pieces[:number], new, *playback.pieces[number + 1 :])
    return _with(shoot, replace(playback, pieces=pieces, by_hand=True))


def set_pieces(shoot: Shoot, playback_id: str, pieces: Sequence[PlaybackPiece]) -> tuple[Shoot, Change]:
    """A person tells which songs run through a playback file, and where: pieces added, removed, cut.

    Raises KeyError for an unknown file or song; ValueError where pieces are out of order.
    """
    playback = _of(shoot, playback_id)
    checked = _checked(shoot, playback.duration_s, pieces)
    if checked == playback.pieces:
        return shoot, NOTHING
    return _with(shoot, replace(playback, pieces=checked, by_hand=True))


def find_pieces(shoot: Shoot, found: PlaybackFile) -> tuple[Shoot, Change]:
    """Take over what was found in a file that was searched again, unless a person corrected it meanwhile.

    Nothing happens where the file is not in the shoot or is another one by now.
    """
    old = next((one for one in shoot.playbacks if one.media.same_content(found.media)), None)
    if old is None or old.by_hand or old.made:
        return shoot, NOTHING
    pieces = _checked(shoot, found.duration_s, found.pieces)
    return _with(shoot, replace(old, pieces=pieces, pitch_kept=found.pitch_kept, duration_s=found.duration_s))


def set_note(shoot: Shoot, playback_id: str, note: str) -> tuple[Shoot, Change]:
    """Say what a playback file is for. Raises KeyError."""
    return _with(shoot, replace(_of(shoot, playback_id), note=note.strip()))


def forget_hand(shoot: Shoot, playback_id: str) -> tuple[Shoot, Change]:
    """Take a person's corrections for undone: the file may be searched again. Raises KeyError."""
    return _with(shoot, replace(_of(shoot, playback_id), by_hand=False))


def _with(shoot: Shoot, new: PlaybackFile) -> tuple[Shoot, Change]:
    if _of(shoot, new.id) == new:
        return shoot, NOTHING
    playbacks = tuple(new if one.id == new.id else one for one in shoot.playbacks)
    return replace(shoot, playbacks=playbacks), Change.PLAYBACK


def _of(shoot: Shoot, playback_id: str) -> PlaybackFile:
    for one in shoot.playbacks:
        if one.id == playback_id:
            return one
    raise KeyError(playback_id)


def _piece(playback: PlaybackFile, number: int) -> PlaybackPiece:
    if not 0 <= number < len(playback.pieces):
        raise KeyError(number)
    return playback.pieces[number]


def _song_length_s(shoot: Shoot, song_id: str) -> float:
    for song in shoot.songs:
        if song.id == song_id:
            return song.duration_s
    raise KeyError(song_id)


def _checked(shoot: Shoot, duration_s: float, pieces: Sequence[PlaybackPiece]) -> tuple[PlaybackPiece, ...]:
    """Pieces in the file's order. Raises KeyError for an unknown song, ValueError for what cannot be."""
    out = tuple(sorted(pieces, key=lambda piece: piece.start_s))
    end_s = 0.0
    for piece in out:
        _song_length_s(shoot, piece.song_id)
        if piece.end_s - piece.start_s < SHORTEST_S or piece.start_s < -SHORTEST_S:
            raise ValueError("A piece must be longer than 0.1 s and lie in the file.")
        if piece.start_s < end_s - SHORTEST_S or piece.end_s > duration_s + SHORTEST_S:
            raise ValueError("Pieces may not overlap or run past the end of the file.")
        if not SLOWEST <= piece.speed <= FASTEST:
            raise ValueError(f"A speed of {piece.speed:g} cannot be.")
        end_s = piece.end_s
    return out
