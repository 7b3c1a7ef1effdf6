"""What a run found out, put onto a shoot as it is by then: others may have worked on it meanwhile."""

from dataclasses import dataclass, replace
from pathlib import PurePath

from app.model.answers import Answer
from app.model.document.media_ref import MediaRef
from app.model.document.shoot import Shoot
from app.model.document.song import Song
from app.model.document.store import StoreError
from app.model.edits.shoot_edits import add_clips, answer_clip, set_map, set_song
from app.model.song_map.labels import labelled


@dataclass(frozen=True, slots=True)
class Run:
    """One run of placing clips on a song."""

    name: str
    """Of the shoot."""
    song: Song
    song_before: MediaRef | None
    """The song's file when the shoot was opened; None where it had none."""
    drawn: tuple[str, str] | None
    """Name and text of the labels that the song is to be counted by; None where none were given."""
    new: frozenset[str]
    """Paths of the clips that the run was to take in."""
    dropped: tuple[PurePath, ...]
    """The files and folders that were named as clips: names of folders below them may name angles."""
    answers: tuple[Answer, ...]
    """What was found out about them, and about those known before."""

    def onto(self, shoot: Shoot) -> Shoot:
        """The shoot with all that was found; what a person decided in it stays, as with every answer.

        Raises StoreError where it has another song by now than when it was opened, for the answers hold for
        one song only; LabelError where the labels do not fit.
        """
        there = shoot.song()
        now = None if there is None else there.media.digest
        known = {self.song.media.digest, None if self.song_before is None else self.song_before.digest}
        if now is not None and now not in known:
            raise StoreError(
                "This shoot now has another song, so the results were not saved in it. "
                "Save them in another shoot (--shoot); nothing has to be read again."
            )
        shoot, _ = set_song(shoot, self.song)
        song = shoot.song()
        assert song is not None
        if self.drawn is not None:
            shoot, _ = set_map(shoot, labelled(*self.drawn, song))
        shoot, _ = add_clips(
            shoot, [one.media for one in self.answers if one.media.path in self.new], self.dropped
        )
        for one in self.answers:
            shoot, _ = answer_clip(shoot, one, heard_on=self.song.media.digest)
        return replace(shoot, name=self.name)
