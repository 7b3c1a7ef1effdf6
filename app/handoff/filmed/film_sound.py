"""The sound of a proof film: the song, or the song on the left channel and a take on the right.

It is the mix that the player makes, sample by sample from the start of the film.
"""

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from app.engine import listening
from app.handoff.filmed.film_takes import Seen
from app.handoff.outcome import why
from app.model.document.song import Song

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from audio.play.playback import Line
    from audio.play.sound_piece import Piece, SourceChannel

_AHEAD_S = 0.5
"""The mixer works ahead of what it gives out, by less than this; seconds."""
_STEP = 4800
"""Frames after which another take may be heard: a tenth of a second."""
_CHECKED_S = 8.0
"""Length of the sound by which a written film is checked, seconds."""


class FilmSounds:
    """The film's sound in order, block by block."""

    def __init__(self, song: Song, heard: Sequence[Seen], from_s: float, *, stop: Callable[[], bool]) -> None:
        """Read the song. Raises AudioError, Stopped among them."""
        self.troubles: dict[str, str] = {}
        """Takes whose sound could not be read, each with the reason."""
        self._heard = heard
        self._from_s = from_s
        self._pieces = listening.pieces()
        self._playback = listening.playback(self._pieces)
        self._rate = self._playback.rate
        self._song, self._level_dbfs = listening.song_sound(
            Path(song.media.path), stop=stop, progress=lambda _: None
        )
        self._lines: dict[str, Line | None] = {}
        self._voices: dict[str, SourceChannel] = {}
        self._running: Seen | None = None
        self._playback.set_song(self._song)
        self._playback.set_volume(listening.MOST_DB)
        self._playback.select(None, listening.mix("EARS" if heard else "SONG"))
        # One block of silence, in which the volume goes up.
        self._playback.read(_STEP)
        self._tune_to(from_s)
        self._playback.read(self._playback.start(from_s) - _STEP)

    def __call__(self, first: int, count: int) -> "NDArray[np.float32]":
        """Frames of the film's sound, shape (count, 2); each call goes on where the last one ended."""
        import numpy as np

        blocks = []
        for at in range(first, first + count, _STEP):
            length = min(_STEP, first + count - at)
            self._tune_to(self._from_s + (at + length) / self._rate)
            blocks.append(self._playback.read(length))
        return np.concatenate(blocks)

    def loudest(self, film_s: float) -> "tuple[float, NDArray[np.float32]]":
        """The loudest part of the song in a film of that length, to check by.

        Gives the time in the film at which it starts, and what is heard of it on the left, shape (n,).
        """
        first = round(self._from_s * self._rate)
        part = self._song[:, first : first + round(film_s * self._rate)]
        left = part.mean(axis=0) if self._heard else part[0]
        length = min(len(left), round(_CHECKED_S * self._rate))
        levels = [float((left[at : at + length] ** 2).sum()) for at in range(0, len(left), length)]
        at = max(range(len(levels)), key=levels.__getitem__) * length
        return at / self._rate, left[at : at + length]

    def _tune_to(self, song_s: float) -> None:
        """Hear the take that runs at a moment, and have its sound at hand up to a little later."""
        seen = next((one for one in self._heard if one.start_s <= song_s + _AHEAD_S < one.end_s), None)
        seen = next((one for one in self._heard if one.start_s <= song_s < one.end_s), seen)
        if seen is None:
            return
        if seen.take.id not in self._lines:
            self._lines[seen.take.id] = self._line(seen)
        line = self._lines[seen.take.id]
        if seen is not self._running:
            self._running = seen
            self._playback.select(line, listening.mix("EARS"))
        if line is None:
            return
        for number in self._pieces.missing(line, [(song_s - _AHEAD_S, song_s + _AHEAD_S)]):
            self._pieces.put(line.key, number, self._piece(seen, number))

    def _line(self, seen: Seen) -> "Line | None":
        from audio.errors import AudioError

        try:
            voice = listening.voice(Path(seen.clip.media.path), seen.take)
        except (AudioError, OSError) as error:
            self.troubles[seen.name] = why(error)
            return None
        self._voices[seen.take.id] = voice
        return listening.line(seen.clip, seen.take, voice, self._level_dbfs)

    def _piece(self, seen: Seen, number: int) -> "Piece":
        """A piece of the take's sound; silence where it cannot be read."""
        import numpy as np

        from audio.errors import AudioError
        from audio.play.sound_piece import Piece

        try:
            return listening.piece(Path(seen.clip.media.path), self._voices[seen.take.id], number)
        except (AudioError, OSError) as error:
            self.troubles.setdefault(seen.name, why(error))
            return Piece(0.0, np.zeros(0, np.float32))
