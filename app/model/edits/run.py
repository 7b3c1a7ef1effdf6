"""What a run found out, put onto a shoot as it is by then: others may have worked on it meanwhile."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import PurePath

from app.model.answers import Answer
from app.model.document.media_ref import MediaRef
from app.model.document.playback_file import PlaybackFile
from app.model.document.shoot import Shoot
from app.model.document.song import Song
from app.model.document.store import StoreError
from app.model.edits.shoot_edits import add_clips, answer_clip, relink, set_map, set_song
from app.model.edits.song_edits import add_song
from app.model.song_map.labels import labelled


@dataclass(frozen=True, slots=True)
class Run:
    """One run of placing clips on songs."""

    name: str
    """Of the shoot."""
    songs: tuple[Song, ...]
    """The first one first."""
    song_before: MediaRef | None
    """The first song's file when the shoot was opened; None where it had none."""
    drawn: tuple[str, str] | None
    """Name and text of the labels that the first song is to be counted by; None where none were given."""
    new: frozenset[str]
    """Paths of the clips that the run was to take in."""
    dropped: tuple[PurePath, ...]
    """The files and folders that were named as clips: names of folders below them may name angles."""
    answers: tuple[Answer, ...]
    """What was found out about them, and about those known before."""
    playbacks: tuple[PlaybackFile, ...] = ()
    """Files that were heard beside the songs."""

    def onto(self, shoot: Shoot) -> Shoot:
        """The shoot with all that was found; what a person decided in it stays, as with every answer.

        Raises StoreError where it has another song by now than when it was opened, for the answers hold for
        these songs only; LabelError where the labels do not fit.
        """
        there = shoot.song()
        first = self.songs[0]
        now = None if there is None else there.media.digest
        known = {first.media.digest, None if self.song_before is None else self.song_before.digest}
        if now is not None and now not in known:
            raise StoreError(
                "This shoot now has another song, so the results were not saved in it. "
                "Save them in another shoot (--shoot); nothing has to be read again."
            )
        shoot, _ = set_song(shoot, first)
        for song in self.songs[1:]:
            same = next((one for one in shoot.songs if one.media.same_content(song.media)), None)
            if same is None:
                shoot, _ = add_song(shoot, song)
            else:
                shoot, _ = relink(shoot, {same.media.path: song.media})
        song_of = _same_songs(self.songs, shoot)
        if self.drawn is not None:
            counted = shoot.song()
            assert counted is not None
            shoot, _ = set_map(shoot, labelled(*self.drawn, counted))
        shoot = _with_playbacks(shoot, self.playbacks, song_of)
        media = {one.media.path: one.media for one in self.answers if one.media.path in self.new}
        shoot, _ = add_clips(shoot, list(media.values()), self.dropped)
        for one in self.answers:
            song = song_of[one.song_id or first.id]
            shoot, _ = answer_clip(shoot, one, song_id=song.id, heard_on=song.media.digest)
        return replace(shoot, name=self.name)


def _same_songs(songs: Sequence[Song], shoot: Shoot) -> dict[str, Song]:
    """Songs of the shoot by the ids that they had in the run."""
    return {
        song.id: there for song in songs for there in shoot.songs if there.media.digest == song.media.digest
    }


def _with_playbacks(shoot: Shoot, playbacks: Sequence[PlaybackFile], song_of: dict[str, Song]) -> Shoot:
    """The shoot with playback files that it does not have yet; those it has stay as they are in it."""
    known = {one.id for one in shoot.playbacks}
    new = [
        replace(
            one,
            pieces=tuple(
                replace(piece, song_id=song_of[piece.song_id].id)
                for piece in one.pieces
                if piece.song_id in song_of
            ),
        )
        for one in playbacks
        if one.id not in known
    ]
    return replace(shoot, playbacks=(*shoot.playbacks, *new)) if new else shoot
