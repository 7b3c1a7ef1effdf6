"""What clips are held against: the songs of a shoot, and the files that were played on set."""

from collections import OrderedDict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path, PurePath

import numpy as np
from numpy.typing import NDArray

from app.model.document.playback_file import PlaybackFile
from app.model.document.song import Song
from app.model.kit.timecode_number import timecode_number
from app.model.song_names import song_names
from app.model.timebase import frame_number
from audio.errors import AudioError, BadSignal, Stopped, Unreadable
from audio.files.media import read_played, read_song
from audio.line import Line
from audio.placement.search import SongIndex
from audio.rate import ENGINE_RATE
from audio.references.composite import Composite
from audio.references.reference import Piece, Reference, TimeBase

MOST_INDEXES = 8
"""Indexes that a process keeps. Chosen by hand: one of a song of four minutes takes 60 MB."""
MOST_COMPOSITES = 2

SamplesOf = Mapping[str, NDArray[np.float32]]
"""The sound of each reference by its key, at ENGINE_RATE, shape (n,)."""


def song_references(songs: Sequence[Song]) -> list[Reference]:
    """Songs as references."""
    return [Reference(key, name) for key, name in song_names(songs).items()]


def playback_reference(playback: PlaybackFile) -> Reference:
    """A playback file as a reference."""
    pieces = tuple(
        Piece(
            one.song_id,
            one.start_s,
            one.end_s,
            Line(one.start_s, one.song_start_s, one.speed),
            one.uncertainty_s,
        )
        for one in playback.pieces
    )
    return Reference(playback.id, PurePath(playback.media.path).name, pieces, _time_base(playback))


def _time_base(playback: PlaybackFile) -> TimeBase | None:
    """The timecode that a file carries, where it was made here: other timecode has no number of its own."""
    code = playback.timecode
    if code is None or not playback.made:
        return None
    user = timecode_number(code, playback.duration_s)
    frame = frame_number(code.label, code.frame_rate)
    return TimeBase(frame, code.at_s, code.frame_rate, user, playback.duration_s)


def read_references(
    songs: Sequence[Song], playbacks: Sequence[PlaybackFile], stop: Callable[[], bool]
) -> dict[str, NDArray[np.float32]]:
    """The sound of all, by key. Raises AudioError: a sentence on the one that cannot be read, or Stopped."""
    out = {}
    for song in songs:
        out[song.id] = _read(Path(song.media.path), stop)
        if not out[song.id].any():
            raise BadSignal("The song is silent: choose another file.")
    for playback in playbacks:
        path = Path(playback.media.path)
        try:
            out[playback.id] = read_played(path, ENGINE_RATE, stop=stop)
        except Stopped:
            raise
        except AudioError as error:
            raise Unreadable(
                f"The playback file {path.name} cannot be read. {error} Find it again, or take it out."
            ) from error
    return out


def _read(path: Path, stop: Callable[[], bool]) -> NDArray[np.float32]:
    return read_song(path, ENGINE_RATE, stop=stop)


@dataclass(slots=True)
class Shelf:
    """Indexes of references, each made when first asked for; the ones used last are kept."""

    samples: SamplesOf
    rate: int = ENGINE_RATE
    _indexes: OrderedDict[str, SongIndex] = field(default_factory=OrderedDict)
    _composites: OrderedDict[tuple[str, ...], Composite] = field(default_factory=OrderedDict)

    def index(self, key: str) -> SongIndex:
        """The index of a reference."""
        if key not in self._indexes:
            self._indexes[key] = SongIndex.build(self.samples[key], self.rate)
            while len(self._indexes) > MOST_INDEXES:
                self._indexes.popitem(last=False)
        self._indexes.move_to_end(key)
        return self._indexes[key]

    def length_s(self, key: str) -> float:
        """How long a reference is (s)."""
        return len(self.samples[key]) / self.rate

    def composite(self, keys: tuple[str, ...]) -> Composite:
        """Several references as one song."""
        if keys not in self._composites:
            self._composites[keys] = Composite.of(keys, [self.index(key) for key in keys])
            while len(self._composites) > MOST_COMPOSITES:
                self._composites.popitem(last=False)
        self._composites.move_to_end(keys)
        return self._composites[keys]
