"""The sounds the player needs: read in the background, the song once, takes in pieces."""

from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from app.engine import listening
from app.model.on_song import Clip, Take
from app.window.jobs import Jobs, Ticket, sentence
from app.window.session import Session

if TYPE_CHECKING:
    from app.engine.listening import AnyFloats, ClickPlayback, Line, Pieces, SourceChannel

Span = tuple[float, float]
Key = tuple[str, str]

SONG_SLOT, TAKE_SLOT = "song to listen to", "take to listen to"
SONG_ALONE = "SONG"
MOST_AT_ONCE = 3
"""Pieces read in one go."""
SOON_S = 0.5
"""As much of a take has to be there before playing starts."""


class PlayerSounds(QObject):
    """Holds what is played, and fetches what is missing."""

    arrived = Signal()
    """Sound was read, or turned out not to be had."""

    def __init__(
        self, session: Session | None, jobs: Jobs, parent: QObject | None = None, *, slot: str = TAKE_SLOT
    ) -> None:
        """``session`` has the song; without one only takes are heard, read in the ``slot``."""
        super().__init__(parent)
        self._session, self._jobs, self._slot = session, jobs, slot
        self._playback: ClickPlayback | None = None
        self._pieces: Pieces | None = None
        self._volume_db = listening.START_DB
        self._loop: Span | None = None
        self._clicks: tuple[Sequence[float], Sequence[bool]] = (), ()
        self._song: tuple[str, str] | None = None
        self._song_dbfs: float | None = None
        self._voices: dict[Key, SourceChannel | str] = {}
        """Of each take the channel that is heard, or the sentence why none is."""
        self._line: Line | None = None
        self._mix: str | None = None
        self._found: tuple[Clip, Take] | None = None
        self._spans: Sequence[Span] = ()
        self._song_trouble = ""

    @property
    def playback(self) -> "ClickPlayback":
        """What mixes; made when it is first asked for, for it loads the signal libraries."""
        if self._playback is None:
            self._pieces = listening.pieces()
            self._playback = listening.playback(self._pieces)
            self._playback.set_volume(self._volume_db)
            self._playback.set_loop(self._loop)
            self._playback.set_clicks(*self._clicks)
        return self._playback

    @property
    def ready(self) -> bool:
        """Whether the next moment can be heard, or nothing more will come for it."""
        if self._session is not None and (self._song is None or self._jobs.busy(SONG_SLOT)):
            return False
        if self._found is None or self._mix == SONG_ALONE:
            return True
        if isinstance(self._voices.get(_key(*self._found)), str):
            return True
        if self._line is None or self._pieces is None:
            return False
        return not self._pieces.missing(self._line, [(start, start + SOON_S) for start, _ in self._spans[:1]])

    @property
    def trouble(self) -> str:
        """A sentence about what cannot be heard, or nothing."""
        known = None if self._found is None else self._voices.get(_key(*self._found))
        return self._song_trouble or (known if isinstance(known, str) else "")

    def rest(self) -> None:
        """Fade out."""
        if self._playback is not None:
            self._playback.rest()

    def set_volume(self, decibels: float) -> None:
        """How loud, in dB."""
        self._volume_db = decibels
        if self._playback is not None:
            self._playback.set_volume(decibels)

    def set_loop(self, span: Span | None) -> None:
        """What comes again and again."""
        self._loop = span
        if self._playback is not None:
            self._playback.set_loop(span)

    def set_clicks(self, moments_s: Sequence[float], accents: Sequence[bool]) -> None:
        """On which moments of the song it clicks, and which of them are accented."""
        self._clicks = moments_s, accents
        if self._playback is not None:
            self._playback.set_clicks(moments_s, accents)

    def want(
        self, found: tuple[Clip, Take] | None, mix: str, spans: Sequence[Span], *, playing: bool
    ) -> None:
        """Hear a take in a mix, and have it read where the song's spans need it; nothing is read before
        something is played."""
        if self._playback is None and not playing:
            return
        playback = self.playback
        self._want_song()
        self._found, self._spans = found, spans
        line = self._line_of(found)
        if (line, mix) != (self._line, self._mix):
            self._line, self._mix = line, mix
            playback.select(line, listening.mix(mix))
        if mix != SONG_ALONE:
            self._want_pieces()

    def _want_song(self) -> None:
        song = None if self._session is None else self._session.view.song
        if song is None or self._song == (song.media.path, song.media.digest):
            return
        self._song = song.media.path, song.media.digest
        self._song_trouble = ""
        path = Path(song.media.path)

        def work(ticket: Ticket) -> "tuple[AnyFloats, float]":
            return listening.song_sound(path, stop=ticket.stop, progress=ticket.progress)

        def done(answer: "tuple[AnyFloats, float]") -> None:
            samples, self._song_dbfs = answer
            self.playback.set_song(samples)
            self.arrived.emit()

        def failed(error: Exception) -> None:
            self._song_dbfs = None
            self._song_trouble = f"The song cannot be heard: {sentence(error)}"
            self.arrived.emit()

        self._jobs.start(SONG_SLOT, work, done, failed)

    def _line_of(self, found: tuple[Clip, Take] | None) -> "Line | None":
        if found is None:
            return None
        voice = self._voices.get(_key(*found))
        if voice is None or isinstance(voice, str):
            return None
        return listening.line(*found, voice, self._song_dbfs)

    def _want_pieces(self) -> None:
        if self._found is None or self._jobs.busy(self._slot):
            return
        clip, take = self._found
        key, path = _key(clip, take), Path(clip.media.path)
        known, line, pieces = self._voices.get(key), self._line, self._pieces
        if known is None:
            self._read(clip, key, lambda ticket: ticket.report(listening.voice(path, take)))
        elif not isinstance(known, str) and line is not None and pieces is not None:
            missing = pieces.missing(line, self._spans)[:MOST_AT_ONCE]
            if missing:
                self._read(clip, key, partial(_put_pieces, pieces, line, path, known, missing))

    def _read(self, clip: Clip, key: Key, work: Callable[[Ticket], None]) -> None:
        """Read of a take what is missing, away from the window's thread."""

        def found(voice: "SourceChannel") -> None:
            self._voices[key] = voice

        def done(_: object) -> None:
            self.arrived.emit()

        def failed(error: Exception) -> None:
            self._voices[key] = f"{Path(clip.media.path).name} cannot be heard: {sentence(error)}"
            self.arrived.emit()

        self._jobs.start(self._slot, work, done, failed, report=found)


def _put_pieces(
    pieces: "Pieces", line: "Line", path: Path, voice: "SourceChannel", numbers: Sequence[int], ticket: Ticket
) -> None:
    for number in numbers:
        if not ticket.stop():
            pieces.put(line.key, number, listening.piece(path, voice, number))


def _key(clip: Clip, take: Take) -> Key:
    """A file's content and the take by which its microphone is chosen."""
    return f"{clip.media.path}|{clip.media.size_bytes}-{clip.media.digest}", take.id
