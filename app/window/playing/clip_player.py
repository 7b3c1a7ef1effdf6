"""Plays one clip by itself, whatever became of it: also one in which the song does not run."""

from app.model.document.change import Change
from app.model.document.verdict import Verdict
from app.model.on_song import Clip, Take
from app.model.reasons import sentence
from app.window.jobs import Jobs, Tasks
from app.window.parts import words
from app.window.playing.player import Heard, Player
from app.window.playing.player_sounds import PlayerSounds
from app.window.playing.sound_out import Out
from app.window.session import Session

CLIP_SLOT = "clip to listen to"
WHOLE = "whole clip"
END_S = 0.05
"""So near its end a clip begins again from its start."""


class ClipPlayer(Player):
    """A player whose song is the clip: its times are the clip's own, in seconds from its first picture.

    It has the volume of the player of the song, and the two are never heard at once.
    """

    def __init__(
        self, session: Session, tasks: Tasks, jobs: Jobs, song_player: Player, *, out: Out | None = None
    ) -> None:
        self._clip: Clip | None = None
        self._song_player = song_player
        sounds = PlayerSounds(None, jobs, slot=CLIP_SLOT)
        super().__init__(session, tasks, jobs, song_player, out=out, sounds=sounds)
        sounds.setParent(self)
        self.heard = Heard.TAKE
        self.volume_db = song_player.volume_db
        sounds.set_volume(self.volume_db)
        song_player.changed.connect(self._on_song_player_changed)

    @property
    def clip(self) -> Clip | None:
        """The clip that is played."""
        return self._clip

    @property
    def song_end_s(self) -> float:
        """Where the clip ends."""
        return 0.0 if self._clip is None else self._clip.duration_s

    def show_clip(self, clip: Clip | None) -> None:
        """Play this clip from now on, from its start; where it is the one before, go on with it."""
        before, self._clip = self._clip, clip
        if before is not None and clip is not None and before.media == clip.media:
            return
        self.pause()
        self.song_s = 0.0
        self.trouble = ""
        self.changed.emit()
        self.moved.emit(0.0)

    def found(self, take_id: str | None = None) -> tuple[Clip, Take] | None:
        """The whole clip as one take."""
        clip = self._clip
        return None if clip is None else (clip, Take(WHOLE, 0.0, clip.duration_s, 0.0))

    def why_not(self) -> str:
        clip = self._clip
        if clip is None:
            return "Select a clip to play it."
        if clip.duration_s > 0:
            return ""
        name = words.file_name(clip)
        if clip.verdict is Verdict.WAITING:
            return f"{name} has not been read yet: it is read when it is placed."
        return f"{name} cannot be played. {sentence(clip.reason)}"

    def play(self, song_s: float | None = None, take_id: str | None = None) -> None:
        """Play from a moment of the clip, or from where it was paused; at its end, from its start."""
        self._song_player.pause()
        if song_s is None and self.song_s >= self.song_end_s - END_S:
            song_s = 0.0
        super().play(song_s)

    def set_volume(self, decibels: float) -> None:
        """One volume for all that is heard."""
        self._song_player.set_volume(decibels)

    def _on_song_player_changed(self) -> None:
        if self._song_player.playing:
            self.pause()
        if self._song_player.volume_db != self.volume_db:
            self.volume_db = self._song_player.volume_db
            self._sounds.set_volume(self.volume_db)
            self.changed.emit()

    def _on_session_changed(self, change: Change, origin: str) -> None:
        if origin == "open":
            self.show_clip(None)
